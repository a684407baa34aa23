from django_tasks import task

from contractor.mail import services


@task
def deliver_mail() -> int:
    """Send whatever waits in the outbox and is due."""
    return services.deliver_due()
