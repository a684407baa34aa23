"""PDFs are drawn in a process of their own."""

import io
import os
import signal
import threading
import time

import pytest
from pypdf import PdfReader

from contractor.common import pdf, pdf_process
from contractor.common.pdf import render_pdf
from contractor.common.pdf_process import Drawer, DrawingFailed

PAGE = "<!doctype html><html lang='en'><title>{0}</title><p>{0}</p></html>"


@pytest.fixture
def drawer():
    made = Drawer()
    yield made
    made._stop()


def words(body: bytes) -> str:
    return PdfReader(io.BytesIO(body)).pages[0].extract_text()


def test_draws_in_another_process_and_keeps_it(drawer):
    assert "First" in words(drawer.draw(PAGE.format("First"), {}))
    process = drawer._process.pid
    assert process != os.getpid()
    assert "Second" in words(drawer.draw(PAGE.format("Second"), {}))
    assert drawer._process.pid == process


def test_a_process_that_was_killed_is_replaced(drawer):
    drawer.draw(PAGE.format("First"), {})
    os.kill(drawer._process.pid, signal.SIGKILL)
    assert "Second" in words(drawer.draw(PAGE.format("Second"), {}))


def test_an_error_comes_back_with_its_words_and_the_next_document_is_drawn(drawer):
    with pytest.raises(DrawingFailed, match="TypeError"):
        drawer.draw(7, {})
    assert "Next" in words(drawer.draw(PAGE.format("Next"), {}))


def test_documents_asked_for_at_once_each_come_to_whom_asked(drawer):
    found = {}

    def ask(name):
        found[name] = words(drawer.draw(PAGE.format(name), {}))

    askers = [threading.Thread(target=ask, args=(f"Page {n}",)) for n in range(4)]
    for asker in askers:
        asker.start()
    for asker in askers:
        asker.join()
    assert all(name in text for name, text in found.items()) and len(found) == 4


def test_the_process_ends_with_the_line_to_it(drawer):
    drawer.draw(PAGE.format("Only"), {})
    drawer._line.close()
    assert drawer._process.wait(timeout=10) == 0


def test_a_file_that_was_not_given_is_refused(drawer):
    """Neither a file of the machine nor the network: the picture stays away, the words are there."""
    html = PAGE.format("<img src='file:///etc/hostname'><img src='http://127.0.0.1:9/x.png'>Words")
    body = drawer.draw(html, {})
    assert "Words" in words(body)
    assert not PdfReader(io.BytesIO(body)).pages[0].images


def test_this_process_goes_on_while_a_document_is_drawn(drawer):
    """Its own processor time stays small: the work is done elsewhere."""
    drawer.draw(PAGE.format("Warm"), {})
    html = PAGE.format("<table>" + "<tr><td>Line</td><td>1.00</td></tr>" * 400 + "</table>")
    clock, spent = time.perf_counter(), time.process_time()
    drawer.draw(html, {})
    clock, spent = time.perf_counter() - clock, time.process_time() - spent
    assert spent < clock / 5


@pytest.mark.django_db
def test_a_template_gets_its_style_sheet_and_fonts():
    body = render_pdf("print/base.html", {"firm": {"name": "Larkfold"}})
    fonts = {font["/BaseFont"] for font in PdfReader(io.BytesIO(body)).pages[0]["/Resources"]["/Font"].values()}
    assert fonts and all("Drawing-Office" in str(name) or "Drawing Office" in str(name) for name in fonts)


def test_one_who_would_wait_too_long_is_told(monkeypatch):
    monkeypatch.setattr(pdf_process, "PATIENCE_S", 0.01)
    monkeypatch.setattr(pdf, "_drawer", busy := pdf_process.Drawer())
    with busy._lock:
        response = pdf.pdf_response("print/base.html", {}, "letter.pdf")
    assert response.status_code == 503 and "try again in a minute" in response.content.decode()
