"""How long a proposal's PDF takes once the program is warm.

    .venv/bin/python -m tests.bench.bench_quote_pdf

Runs on the database of DATABASE_URL (a throwaway test database there), SQLite by default. A small job has three priced
lines, a usual one two options of about fifteen, a large one sixty lines. Each is made once to warm up and then five
times; the medians by the clock and of processor time are printed (on a busy machine only the latter tells).
"""

import gc
import io
import os
import statistics
import time

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")

import django

django.setup()

from django.conf import settings  # noqa: E402
from django.test.utils import get_runner  # noqa: E402

ROUNDS = 5
LIMIT_S = 2.0


def sent_revision(name: str, faces: int, options: int):
    from contractor.accounts.selectors import the_firm
    from contractor.quotes import services
    from contractor.quotes.models import Revision
    from tests.factories import JobFactory, LabourRateFactory, UserFactory
    from tests.quotes.results import calculated_scheme, face, takeoff

    the_firm().save()
    LabourRateFactory()
    job = JobFactory(title=name)
    for n in range(options):
        faces_json = [face(k) for k in range(1, faces + 1)]
        calculated_scheme(job, f"Option {n + 1}", n, takeoff_json=takeoff(faces_json, preparation=faces > 2))
    sent = services.send(job=job, user=UserFactory(), valid_days=30)
    return Revision.objects.get(pk=sent.revision.pk)


def measure() -> list[tuple[str, int, int, float, float]]:
    """(name, lines, pages, median seconds by the clock and of processor time) of each job."""
    from django.template.loader import render_to_string
    from pypdf import PdfReader

    from contractor.common.pdf import _files_of
    from contractor.common.pdf_process import draw
    from contractor.quotes.paper import PDF_TEMPLATE, shown
    from contractor.rooms import services as rooms
    from tests.quotes.results import stored_calculations

    rooms.calculate_all = stored_calculations  # the PDF is measured, not the take-off
    results = []

    def made(revision) -> bytes:
        html = render_to_string(PDF_TEMPLATE, shown(revision, None))
        return draw(html, _files_of(html))  # in this process, so that its processor time is seen

    for name, faces, options in (("small", 2, 1), ("usual", 12, 2), ("large", 58, 1)):
        revision = sent_revision(name, faces, options)
        body = made(revision)
        clock, processor = [], []
        for _ in range(ROUNDS):
            gc.collect()
            start, start_cpu = time.perf_counter(), time.process_time()
            made(revision)
            clock.append(time.perf_counter() - start)
            processor.append(time.process_time() - start_cpu)
        lines = sum(len(s["lines"]) for option in revision.document["options"] for s in option["sections"])
        pages = len(PdfReader(io.BytesIO(body)).pages)
        results.append((name, lines, pages, statistics.median(clock), statistics.median(processor)))
    return results


def main() -> None:
    gc.disable()  # as the process that draws does
    settings.EMAIL_BACKEND = "django.core.mail.backends.dummy.EmailBackend"
    runner = get_runner(settings)(verbosity=0, interactive=False)
    databases = runner.setup_databases()
    try:
        for name, lines, pages, clock_s, processor_s in measure():
            verdict = "within" if clock_s < LIMIT_S else "OVER"
            print(
                f"{name:<6} {lines:>3} lines {pages:>3} pages  clock {clock_s:.2f} s  processor {processor_s:.2f} s"
                f"  ({verdict} {LIMIT_S:.0f} s)"
            )
    finally:
        runner.teardown_databases(databases)


if __name__ == "__main__":
    main()
