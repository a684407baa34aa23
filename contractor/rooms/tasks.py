from django_tasks import task

from contractor.rooms import improving


@task
def improve_takeoff(scheme_id: int) -> None:
    """Work out a better take-off than the preview that a page was given."""
    improving.improve(scheme_id)
