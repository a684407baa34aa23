"""Loads the invented firm once, with sign-ins made afresh for this installation, and prints how to get in."""

import json
import secrets
from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.urls import reverse

from contractor.accounts.models import User
from contractor.demo import scenario
from contractor.demo.build import build


class Command(BaseCommand):
    help = __doc__

    def handle(self, *args, **options):
        if not settings.DEMO:
            raise CommandError("This fills the database with invented people: only where DEMO=1 is set.")
        keys = Path(settings.LOCAL_DIR, "demo-sign-ins.json")
        if User.objects.exists():
            if keys.exists():
                self.show(json.loads(keys.read_text()))
            else:
                self.stdout.write("There are people here already; nothing was loaded.")
            return
        token = build()
        made = {"proposal": token, "people": {}}
        for username, *_ in scenario.PEOPLE:
            made["people"][username] = secrets.token_urlsafe(9)
            person = User.objects.get(username=username)
            person.set_password(made["people"][username])
            person.save()
        keys.touch(mode=0o600)
        keys.write_text(json.dumps(made))
        self.show(made)

    def show(self, made: dict) -> None:
        site = settings.SITE_URL
        self.stdout.write(
            f"\nDemonstration: {scenario.FIRM['name']}, an invented firm\n  Sign in at {site}{reverse('accounts:sign-in')}"
        )
        for username, first, last, role, _phone in scenario.PEOPLE:
            self.stdout.write(f"    {role:7} {username:8} {made['people'][username]}   ({first} {last})")
        self.stdout.write(f"  A homeowner's proposal: {site}{reverse('quotes:proposal', args=[made['proposal']])}\n")
