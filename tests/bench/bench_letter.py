"""How soon a homeowner can read the proposal on a slow telephone line, and how much comes over it.

    .venv/bin/python -m tests.bench.bench_letter

Fills a throwaway installation with the demo (a minute), serves it as a firm does, and opens the proposal in Chromium
with an empty cache and the line throttled to 400 kbit/s with 400 ms to and fro, which is what is usually called slow 3G.
"Readable" is the first paint of content; "usable" is when the page has its layout and its scripts have run. Sound is
loaded only when somebody presses play, and is not counted.
"""

import os
import socket
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

ROUNDS = 5
LIMIT_S, LIMIT_KB = 2.0, 150
LATENCY_MS, BITS_PER_S = 400, 400_000
WAIT_S = 30


def installation(folder: Path) -> str:
    """A firm's settings with the demo's data; the proposal's token."""
    os.environ |= {
        "DJANGO_SETTINGS_MODULE": "contractor.settings",
        "DATABASE_URL": f"sqlite:///{folder}/db.sqlite3",
        "STATIC_ROOT": f"{folder}/static",
        "MEDIA_ROOT": f"{folder}/media",
        "EMAIL_URL": "dummymail://",
        "SECRET_KEY": "only-for-this-measurement-" + "x" * 30,
        "DEBUG": "0",
        "DEMO": "0",
        "TASKS": "database",
    }
    import django

    django.setup()
    from django.core.management import call_command

    from contractor.demo.build import build

    for command in (("migrate",), ("load_catalogue",), ("collectstatic", "--noinput")):
        call_command(*command, verbosity=0)
    return build()


def serve() -> tuple[subprocess.Popen, str]:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        port = found.getsockname()[1]
    address = f"http://127.0.0.1:{port}"
    command = [sys.executable, "-m", "gunicorn", "contractor.wsgi", "--bind", f"127.0.0.1:{port}", "--threads", "4"]
    server = subprocess.Popen([*command, "--log-level", "error"])
    for _ in range(WAIT_S * 10):
        try:
            urllib.request.urlopen(f"{address}/healthz").read()
            return server, address
        except OSError:
            time.sleep(0.1)
    server.kill()
    raise RuntimeError("The server did not come up.")


def opened(browser, url: str) -> tuple[float, float, float]:
    """Seconds until readable and usable, and kilobytes over the line, of one visit with an empty cache."""
    context = browser.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    line = context.new_cdp_session(page)
    sizes: list[int] = []
    line.on("Network.loadingFinished", lambda event: sizes.append(event["encodedDataLength"]))
    line.send("Network.enable")
    bytes_per_s = BITS_PER_S / 8
    line.send(
        "Network.emulateNetworkConditions",
        {
            "offline": False,
            "latency": LATENCY_MS,
            "downloadThroughput": bytes_per_s,
            "uploadThroughput": bytes_per_s,
        },
    )
    page.goto(url, wait_until="load")
    page.wait_for_timeout(500)
    times = page.evaluate(
        "() => ({paint: performance.getEntriesByName('first-contentful-paint')[0].startTime,"
        " ready: performance.getEntriesByType('navigation')[0].domContentLoadedEventEnd})"
    )
    context.close()
    return times["paint"] / 1000, max(times["paint"], times["ready"]) / 1000, sum(sizes) / 1000


def main() -> None:
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as folder:
        token = installation(Path(folder))
        server, address = serve()
        try:
            with sync_playwright() as playwright:
                path = os.environ.get("CHROMIUM", "/usr/bin/chromium")
                browser = playwright.chromium.launch(executable_path=path, args=["--no-sandbox", "--disable-gpu"])
                visits = [opened(browser, f"{address}/p/{token}/") for _ in range(ROUNDS + 1)][1:]  # the first warms up
                browser.close()
        finally:
            server.terminate()
            server.wait()
    readable_s, usable_s, size_kb = (statistics.median(values) for values in zip(*visits, strict=True))
    verdict = "within" if usable_s < LIMIT_S and size_kb < LIMIT_KB else "OVER"
    print(
        f"letter  readable {readable_s:.2f} s  usable {usable_s:.2f} s  {size_kb:.0f} kB"
        f"  ({verdict} {LIMIT_S:.0f} s and {LIMIT_KB} kB)"
    )


if __name__ == "__main__":
    main()
