"""The thread of steps inside a job. Each app adds the steps it owns, so this floor knows nothing of those above."""

from collections.abc import Callable
from dataclasses import dataclass

from django.urls import reverse

from contractor.jobs.models import Job


@dataclass(frozen=True, kw_only=True)
class Step:
    """`look` tells (state, why) for a job: state is "done", "now" or "waiting", why a few words under the name.

    `order` places the step; `url_name` takes the job's number. `look` must use a fixed number of queries.
    """

    key: str
    label: str
    order: int
    url_name: str
    look: Callable[[Job], tuple[str, str]]


@dataclass(frozen=True)
class ShownStep:
    key: str
    label: str
    url: str
    state: str
    why: str
    is_current: bool


_steps: dict[str, Step] = {}


def add_step(step: Step) -> None:
    """Called from an app's ready()."""
    _steps[step.key] = step


def thread_for(job: Job, current: str) -> list[ShownStep]:
    """All steps in order for the strip on a job's pages; `current` is the key of the page's own step."""
    shown = []
    for step in sorted(_steps.values(), key=lambda s: s.order):
        state, why = step.look(job)
        url = reverse(step.url_name, args=[job.number])
        shown.append(ShownStep(step.key, step.label, url, state, why, step.key == current))
    return shown
