"""Adds an owner, who can add everyone else, and prints the password for the first sign-in."""

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError

from contractor.accounts.models import Role
from contractor.accounts.services import person_add


class Command(BaseCommand):
    help = __doc__

    def add_arguments(self, parser):
        parser.add_argument("username", help="the name to sign in with")

    def handle(self, *args, username: str, **options):
        try:
            person, password = person_add(by=None, username=username, role=Role.OWNER)
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from None
        self.stdout.write(f"{person.username} may sign in as owner, the first time with {password}")
