"""The fitter's phone: what the day takes to carry, how soon it opens without signal, how fast a full queue goes out.

    .venv/bin/python -m tests.bench.bench_phone

Fills a throwaway installation with the demo (a minute), gives the job of the day twelve surfaces, serves it as a firm
does, and drives Chromium: the day is opened once with signal and kept; then opened from what is kept, without signal, in
a new page; then 500 acts are written down without signal and sent when it is back.
"""

import tempfile
import time
import urllib.request
from pathlib import Path
from statistics import median

from tests.bench.bench_letter import installation, serve

SURFACES, ACTS = 12, 500
LIMIT_KB, LIMIT_OPEN_MS, LIMIT_REPLAY_S = 1000, 300, 10
ROUNDS = 5
KEPT = """async () => {
  const kept = await Promise.all((await caches.keys()).map((name) => caches.open(name)));
  return (await Promise.all(kept.map((cache) => cache.keys()))).flat().map((request) => request.url);
}"""
ACT = """async ([job, count]) => {
  for (let n = 0; n < count; n++) window.siteQueue.act(job, "note", { kind: "note", text: `Note ${n}` }, "A note");
}"""


def twelve_surfaces() -> tuple[int, str]:
    """Copies surfaces of the day's job until there are twelve; its number, and a session of a fitter sent there."""
    from django.utils import timezone

    from contractor.accounts.models import User
    from contractor.fitting.models import WorkPack
    from contractor.jobs.models import Visit
    from tests.conftest import signed_in

    person = User.objects.get(username="beatriz")
    visit = Visit.objects.filter(people=person, on_date=timezone.localdate()).first()
    pack = WorkPack.objects.get(job=visit.job)
    faces = [face for face in pack.document["faces"] if face["layers"]]
    whole = [faces[n % len(faces)] | {"key": f"{faces[n % len(faces)]['key']}-{n}"} for n in range(SURFACES)]
    pack.document["faces"] = whole
    pack.save()
    return pack.job.number, signed_in(person).cookies["sessionid"].value


def carried_kb(page, address: str, session: str) -> float:
    """Opens the day until its pages are kept; kilobytes over the line of all that is kept then, asked for once more as a
    browser asks (what a service worker fetches does not count as the page's own)."""
    page.goto(f"{address}/today/")
    page.locator("html[data-pages-kept]").wait_for(timeout=120_000, state="attached")
    asking = {"Accept-Encoding": "gzip", "Cookie": f"sessionid={session}"}
    answers = (urllib.request.urlopen(urllib.request.Request(url, headers=asking)) for url in page.evaluate(KEPT))
    return sum(len(answer.read()) for answer in answers) / 1000


def opened_ms(context, url: str) -> float:
    page = context.new_page()
    page.goto(url)
    spent = page.evaluate("performance.getEntriesByType('navigation')[0].domContentLoadedEventEnd")
    page.close()
    return spent


def main() -> None:
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as folder:
        installation(Path(folder))
        number, session = twelve_surfaces()
        server, address = serve()
        try:
            with sync_playwright() as driver:
                browser = driver.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox"])
                context = browser.new_context(viewport={"width": 390, "height": 844})
                context.add_cookies([{"name": "sessionid", "value": session, "url": address}])
                page = context.new_page()
                kept_kb = carried_kb(page, address, session)
                pages = page.locator("html").get_attribute("data-pages-kept")
                context.set_offline(True)
                today_ms, steps_ms = (
                    median(opened_ms(context, f"{address}{path}") for _ in range(ROUNDS))
                    for path in ("/today/", f"/jobs/{number}/site/")
                )
                page.goto(f"{address}/jobs/{number}/site/notes/")
                page.evaluate(ACT, [number, ACTS])
                page.locator(f"html[data-unsent='{ACTS}']").wait_for(timeout=60_000, state="attached")
                context.set_offline(False)
                began = time.perf_counter()
                page.evaluate("window.siteQueue.send()")
                page.locator("html[data-unsent='0']").wait_for(timeout=120_000, state="attached")
                replay_s = time.perf_counter() - began
                browser.close()
        finally:
            server.terminate()
    print(f"{'measured':44} {'reached':>12} {'asked':>12}")
    for what, reached, asked in (
        (f"first download, {pages} pages, {SURFACES} surfaces", f"{kept_kb:.0f} kB", f"{LIMIT_KB} kB"),
        (f"today, kept, without signal (median of {ROUNDS})", f"{today_ms:.0f} ms", f"{LIMIT_OPEN_MS} ms"),
        ("the steps, kept, without signal (the same)", f"{steps_ms:.0f} ms", f"{LIMIT_OPEN_MS} ms"),
        (f"{ACTS} acts sent", f"{replay_s:.1f} s", f"{LIMIT_REPLAY_S} s"),
    ):
        print(f"{what:44} {reached:>12} {asked:>12}")


if __name__ == "__main__":
    main()
