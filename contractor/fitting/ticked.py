"""The piece of a page that a tick changes: its row, and the count above."""

from django.http import HttpRequest
from django.template.loader import render_to_string

from contractor.fitting import selectors
from contractor.fitting.models import WorkPack
from contractor.fitting.showing import cut_counts, row_of
from contractor.jobs.models import Job


def ticked_html(request: HttpRequest, job: Job, found: WorkPack, key: str) -> str:
    ticks = selectors.ticks_of(found)
    face_key, is_step = key.split(":")[1], key.startswith("step:")
    context = {
        "job": job,
        "row": row_of(found, key, ticks),
        "progress": step_progress(found, ticks) if is_step else face_progress(found, ticks, face_key),
        "here": "steps" if is_step else "cuts",
        "face_key": face_key,
        "holds": selectors.holds_of(found, ticks),
        "is_swap": True,
    }
    return render_to_string("fitting/_ticked.html", context, request)


def step_progress(found: WorkPack, ticks: dict) -> selectors.Progress:
    done = sum(tick.is_done for key, tick in ticks.items() if key.startswith("step:"))
    return selectors.Progress(done=done, total=found.step_count)


def face_progress(found: WorkPack, ticks: dict, face_key: str) -> selectors.Progress:
    done, total = next((done, total) for face, done, total in cut_counts(found, ticks) if face["key"] == face_key)
    return selectors.Progress(done=done, total=total)
