"""Makes the database, loads catalogue and invented firm once, with sign-ins made afresh for this installation, and
prints how to get in."""

import json
import secrets
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.urls import reverse

from contractor.accounts.models import User
from contractor.catalogue.services import load_seed
from contractor.demo import scenario
from contractor.demo.build import build


class Command(BaseCommand):
    help = __doc__

    def handle(self, *args, **options):
        if not settings.DEMO:
            raise CommandError("This fills the database with invented people: only where DEMO=1 is set.")
        call_command("migrate", verbosity=0)
        load_seed()
        keys = Path(settings.LOCAL_DIR, "demo-sign-ins.json")
        if User.objects.exists():
            if keys.exists():
                self.show(json.loads(keys.read_text()))
            else:
                self.stdout.write("There are people here already; nothing was loaded.")
            return
        with transaction.atomic():
            made = {"proposal": build(), "people": {}}
            for person in User.objects.all():
                made["people"][person.username] = secrets.token_urlsafe(9)
                person.set_password(made["people"][person.username])
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
