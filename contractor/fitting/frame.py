"""What the pages of a job on site share: the frame around them, and the pack that most of them show."""

from django.http import Http404, HttpRequest

from contractor.fitting import selectors
from contractor.fitting.models import WorkPack
from contractor.jobs.models import Job
from contractor.jobs.thread import thread_for


def frame(request: HttpRequest, job: Job, here: str, heading: str, step: str = "site") -> dict:
    """What every page of a job on site carries: the office sees it inside the thread of the job, at `step`."""
    in_office = request.user.works_in_office
    return {
        "job": job,
        "bar_job": job,
        "here": here,
        "heading": heading,
        "base": "jobs/base_job.html" if in_office else "fitting/base_site.html",
        "thread": thread_for(job, current=step) if in_office else None,
    }


def pack_or_404(job: Job) -> WorkPack:
    found = selectors.pack_of(job)
    if found is None:
        raise Http404("No work pack has been made for this job yet.")
    return found
