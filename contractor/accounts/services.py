"""What changes people, the firm and the record."""

from django.db import transaction

from contractor.accounts.models import AuditEntry, Firm, User


def record(*, user: User | None, action: str, subject: object, **detail) -> AuditEntry:
    """Write one line of the record. `detail` must be JSON-ready. Call it inside the change's transaction."""
    return AuditEntry.objects.create(user=user, action=action, subject=str(subject)[:200], detail=detail)


@transaction.atomic
def take_job_number() -> int:
    """The next job number; the row lock makes two offices take different ones."""
    firm = Firm.objects.select_for_update().get_or_create(pk=1)[0]
    number = firm.next_job_number
    firm.next_job_number = number + 1
    firm.save(update_fields=["next_job_number"])
    return number
