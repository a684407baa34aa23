from django.core.management.base import BaseCommand

from contractor.mail.services import deliver_due


class Command(BaseCommand):
    help = "Sends what waits in the outbox and is due: what a restart left behind. For cron, every few minutes."

    def handle(self, *args, **options):
        self.stdout.write(f"{deliver_due()} sent")
