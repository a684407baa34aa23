"""A process that draws PDFs and does nothing else, so that pages are answered while a long document is made.

Drawing holds the interpreter for seconds; in a thread of the web process every page beside it waits for its turn. The
process gets the HTML with every file that the document may use, and opens nothing itself: no settings, no database, no
network. Imports nothing of the project, so that it starts in half a second.
"""

import gc
import mimetypes
import os
import signal
import subprocess
import sys
from collections.abc import Mapping
from contextlib import suppress
from functools import cache
from multiprocessing import Pipe
from multiprocessing.connection import Connection
from threading import Lock

LONGEST_S = 120
PATIENCE_S = 30  # how long one waits for others' documents, so that they do not hold every thread of the server
NICENESS = 5  # pages go first where there is one core for both


class DrawingFailed(RuntimeError):
    """The document could not be drawn; the message is what the drawing process said."""


@cache
def _fonts():
    """Kept, so that the typefaces are unpacked once."""
    from weasyprint.text.fonts import FontConfiguration

    return FontConfiguration()


def draw(html: str, files: Mapping[str, bytes]) -> bytes:
    """PDF/UA bytes of an HTML text. `files` are by the addresses that the text and its style sheets use; every other
    address is refused, and what asked for it stays empty."""
    from weasyprint import HTML
    from weasyprint.urls import URLFetcher, URLFetcherResponse

    class GivenFiles(URLFetcher):
        def fetch(self, url, headers=None):
            if url not in files:
                raise ValueError(f"A document may only use its own files, not {url}")
            kind = mimetypes.guess_type(url)[0] or "application/octet-stream"  # a style sheet of no kind is ignored
            return URLFetcherResponse(url, body=files[url], headers={"Content-Type": kind})

    document = HTML(string=html, base_url="static:", url_fetcher=GivenFiles())
    return document.write_pdf(font_config=_fonts(), pdf_variant="pdf/ua-1")


class Drawer:
    """One such process, started at the first document; documents asked for together are drawn in turn."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._process: subprocess.Popen | None = None
        self._line: Connection | None = None

    def draw(self, html: str, files: Mapping[str, bytes]) -> bytes:
        """As `draw`. A process that was killed is replaced once; raises DrawingFailed otherwise, and where others' documents
        keep it busy too long."""
        if not self._lock.acquire(timeout=PATIENCE_S):
            raise DrawingFailed("Too many documents are being made.")
        try:
            try:
                answer = self._ask(html, files)
            except (EOFError, OSError):
                self._stop()
                try:
                    answer = self._ask(html, files)
                except (EOFError, OSError) as error:
                    self._stop()
                    raise DrawingFailed("The process that draws PDFs ended twice.") from error
        finally:
            self._lock.release()
        if isinstance(answer, str):
            raise DrawingFailed(answer)
        return answer

    def _ask(self, html: str, files: Mapping[str, bytes]) -> bytes | str:
        if self._process is None:
            self._start()
        self._line.send((html, dict(files)))
        if not self._line.poll(LONGEST_S):
            self._stop()
            raise DrawingFailed(f"A document was not done after {LONGEST_S} seconds.")
        return self._line.recv()

    def _start(self) -> None:
        self._line, far_end = Pipe()
        number = far_end.fileno()
        self._process = subprocess.Popen([sys.executable, "-P", __file__, str(number)], pass_fds=[number])
        far_end.close()  # so that either side learns of the other's end

    def _stop(self) -> None:
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            self._line.close()
        self._process = self._line = None


def _serve(line: Connection) -> None:
    """Draw what comes until the other side is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the web process is told to stop, and then closes the line
    os.nice(NICENESS)
    gc.disable()  # a document makes millions of objects: tidying up among them takes a fifth of the time
    while True:
        html, files = line.recv()
        try:
            answer: bytes | str = draw(html, files)
        except Exception as error:  # whatever it is, the page that waits must hear of it
            answer = f"{type(error).__name__}: {error}"
        line.send(answer)
        gc.collect()


if __name__ == "__main__":
    with suppress(EOFError, OSError):  # the web process has ended
        _serve(Connection(int(sys.argv[1])))
