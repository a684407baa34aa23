"""The quote of a whole house of eight rooms and three options: rebuilt beside a take-off that is kept, its page, its
PDF, and what a page answers while PDFs are made.

    .venv/bin/python -m tests.bench.bench_whole_house

Runs on a throwaway test database of DATABASE_URL, SQLite by default. The rooms are the demo's, each the front bedroom
with its walls, ceiling, floor and side paths. Predictions and take-offs are worked out once before (a minute), which is
not counted. Medians of three; on a busy machine only the processor time tells.
"""

import copy
import gc
import io
import os
import statistics
import threading
import time

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")

import django

django.setup()

from django.conf import settings  # noqa: E402
from django.test.utils import get_runner  # noqa: E402

ROUNDS = 3
ROOMS = 8
REBUILD_LIMIT_S, PDF_LIMIT_S = 1.0, 4.0
OPTIONS = (
    ("Slim", {"B": "slim-bar-lining-50"}),
    ("Middle", {"B": "slim-bar-lining-50", "E": "bar-ceiling-50"}),
    ("Whole", {"B": "independent-steel-lining-95", "E": "bar-ceiling-50"}),
)


def whole_house(rooms: int):
    """A surveyed job with its calculations standing."""
    from contractor.accounts.models import User
    from contractor.accounts.selectors import the_firm
    from contractor.catalogue.models import BuildUp
    from contractor.demo import scenario
    from contractor.demo.build import _survey
    from contractor.rooms.models import Patch, Scheme, Treatment
    from contractor.rooms.services import calculate_all

    the_firm().save()
    user = User.objects.filter(username="office").first() or User.objects.create(username="office", role="owner")
    plan = copy.deepcopy(scenario.JOBS[0])
    plan["rooms"] = [plan["rooms"][0] | {"name": f"Room {n + 1}"} for n in range(rooms)]
    plan["schemes"] = []
    job = _survey(plan, user)
    for position, (name, treatments) in enumerate(OPTIONS, start=1):
        scheme = Scheme.objects.create(job=job, position=position, name=name, summary="")
        for letter, key in treatments.items():
            for patch in Patch.objects.filter(surface__room__job=job, surface__letter=letter, is_rest=True):
                Treatment.objects.create(scheme=scheme, patch=patch, build_up=BuildUp.objects.get(key=key))
    calculate_all(job=job)
    return job, user


def medians(work) -> tuple[float, float]:
    """Seconds by the clock and of processor time."""
    work()
    clock, processor = [], []
    for _ in range(ROUNDS):
        gc.collect()
        began, spent = time.perf_counter(), time.process_time()
        work()
        clock.append(time.perf_counter() - began)
        processor.append(time.process_time() - spent)
    return statistics.median(clock), statistics.median(processor)


def beside(page, pdf) -> tuple[float, float]:
    """Median seconds of a page alone, and while another thread has one PDF after another made."""
    stop = threading.Event()

    def make() -> None:
        while not stop.is_set():
            pdf()

    pdf()
    alone = medians(page)[0]
    maker = threading.Thread(target=make)
    maker.start()
    try:
        return alone, medians(page)[0]
    finally:
        stop.set()
        maker.join()


def told(name: str, clock_s: float, processor_s: float, limit_s: float) -> None:
    verdict = "within" if processor_s < limit_s else "OVER"
    print(f"{name:<44} clock {clock_s:5.2f} s  processor {processor_s:5.2f} s  ({verdict} {limit_s:.0f} s)")


def measure() -> None:
    from django.core.management import call_command
    from django.template.loader import render_to_string
    from django.test import Client
    from pypdf import PdfReader

    from contractor.accounts.selectors import the_firm
    from contractor.common.pdf import _drawer, _files_of
    from contractor.common.pdf_process import draw
    from contractor.jobs.models import Job
    from contractor.quotes.document import today_in_short
    from contractor.quotes.options import options_of
    from contractor.quotes.paper import PDF_TEMPLATE, shown
    from contractor.quotes.services import send

    call_command("load_catalogue", verbosity=0, stdout=io.StringIO())
    job, user = whole_house(ROOMS)
    pk = job.pk
    options = options_of(job)
    lines = sum(len(option.priced.lines) for option in options)
    size = f"{ROOMS} rooms, {len(options)} options, {lines} lines"

    def rebuilt() -> None:
        fresh = Job.objects.select_related("property__customer").get(pk=pk)
        today_in_short(fresh, the_firm(), options_of(fresh))

    told(f"quote rebuilt: {size}", *medians(rebuilt), REBUILD_LIMIT_S)
    client = Client()
    client.force_login(user)
    address = f"/jobs/{job.number}/quote/"
    told("the quote's page", *medians(lambda: client.get(address)), REBUILD_LIMIT_S)

    for rooms in (1, 2):  # about twelve pages, and half as many again
        job, user = whole_house(rooms)
        sent = send(job=job, user=user, valid_days=30, accept_preview=True, leave_out_unpriced=True)
        html = render_to_string(PDF_TEMPLATE, shown(sent.revision, None))
        files = _files_of(html)
        pages = len(PdfReader(io.BytesIO(draw(html, files))).pages)
        name = f"PDF, {rooms} rooms: {pages} pages, {html.count('<svg')} drawings"
        told(name, *medians(lambda html=html, files=files: draw(html, files)), PDF_LIMIT_S)
        if rooms == 1:
            alone, with_pdfs = beside(lambda: client.get("/jobs/"), lambda h=html, f=files: _drawer.draw(h, f))
            _, in_a_thread = beside(lambda: client.get("/jobs/"), lambda h=html, f=files: draw(h, f))
            print(
                f"the list of jobs: alone {alone * 1000:.0f} ms, while PDFs are made {with_pdfs * 1000:.0f} ms"
                f" (in a thread of the same process it would be {in_a_thread * 1000:.0f} ms)"
            )


def main() -> None:
    gc.disable()  # as the process that draws does
    settings.ALLOWED_HOSTS = ["testserver"]
    settings.EMAIL_BACKEND = "django.core.mail.backends.dummy.EmailBackend"
    runner = get_runner(settings)(verbosity=0, interactive=False)
    databases = runner.setup_databases()
    try:
        measure()
    finally:
        runner.teardown_databases(databases)


if __name__ == "__main__":
    main()
