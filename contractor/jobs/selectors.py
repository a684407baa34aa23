"""Reads of jobs, with what their pages need loaded along."""

from django.http import Http404

from contractor.jobs.models import Job


def job_for(number: int) -> Job:
    """The job of that number with its property and customer loaded; Http404 where there is none."""
    try:
        return Job.objects.select_related("property__customer").get(number=number)
    except Job.DoesNotExist:
        raise Http404("There is no job of that number.") from None
