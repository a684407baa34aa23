"""Load the shipped catalogue; what the office has edited or deleted stays as it left it."""

from django.core.management.base import BaseCommand

from contractor.catalogue.services import load_seed


class Command(BaseCommand):
    help = "Create the shipped materials, constructions, build-ups and labour that are not there yet."

    def handle(self, *args, **options) -> None:
        made = load_seed()
        new = [f"{count} {name}" for name, count in made.items() if count]
        self.stdout.write("Catalogue: " + (", ".join(new) + " added." if new else "nothing to add."))
