"""The day, the steps, the cut list and the paper: what they show, to whom, and for how many queries."""

from datetime import timedelta
from io import BytesIO

import pytest
from django.http import HttpResponse
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from contractor.fitting.services import set_tick
from contractor.jobs.models import Gate
from tests.factories import JobFactory, VisitFactory
from tests.fitting.conftest import pack_for

COSTS = ("412.57", "121.62", "768.27", "20.27", "48.37")  # of the take-off


def text_of(client, url: str) -> str:
    answer = client.get(url)
    assert answer.status_code == 200
    return answer.content.decode()


def test_today_shows_my_visits_of_today_and_of_the_next_two_days_booked(fitter, office, takeoff):
    today = timezone.localdate()
    pack_for(takeoff, fitter.user, title="Back bedroom party wall")
    for days, title in [(1, "Study ceiling"), (6, "Landing wall"), (7, "Box room floor"), (-1, "Yesterday's hall")]:
        VisitFactory(job=JobFactory(title=title), people=[fitter.user], on_date=today + timedelta(days=days))
    VisitFactory(job=JobFactory(title="Somebody else's wall"), people=[office.user])

    page = text_of(fitter, "/today/")

    for title in ("Back bedroom party wall", "Study ceiling", "Landing wall"):
        assert title in page
    for title in ("Box room floor", "Yesterday&#x27;s hall", "Somebody else&#x27;s wall"):
        assert title not in page


def test_today_says_where_how_to_get_in_and_what_is_not_cleared(fitter, pack):
    Gate.objects.create(job=pack.job, kind=Gate.Kind.ASBESTOS, need=Gate.Need.NEEDED)

    page = text_of(fitter, "/today/")

    assert pack.job.property.address_line_1 in page
    assert "Key safe by the side gate.<br>The dog is friendly." in page
    assert "On the verge." in page
    assert "Not cleared: asbestos" in page
    assert f"/jobs/{pack.job.number}/site/cuts/" in page
    assert "0 of 26" in page


def test_a_day_without_work_says_so(fitter):
    page = text_of(fitter, "/today/")

    assert "You are not sent anywhere today." in page
    assert "no job" in page  # the bar's other places lead nowhere yet, and say so


def test_today_costs_the_same_for_one_visit_and_for_three(fitter, takeoff, count_queries):
    pack_for(takeoff, fitter.user)
    one = count_queries(fitter, "/today/")
    pack_for(takeoff, fitter.user)
    VisitFactory(job=JobFactory(), people=[fitter.user], on_date=timezone.localdate() + timedelta(days=1))

    assert count_queries(fitter, "/today/") == one == 7


@pytest.mark.parametrize("path, queries", [("", 11), ("cuts/", 6), ("cuts/p12-1/", 9)])
def test_pages_cost_the_same_with_one_tick_and_with_many(fitter, pack, count_queries, path, queries):
    url = f"/jobs/{pack.job.number}/site/{path}"
    set_tick(pack=pack, key="step:s3:layer-1", is_done=True, user=fitter.user)
    one = count_queries(fitter, url)
    for number in range(1, 8):
        set_tick(pack=pack, key=f"cut:p12-1:4:S-B-0{number}", is_done=True, user=fitter.user)

    assert count_queries(fitter, url) == one == queries


def test_steps_show_screws_hold_points_and_what_could_not_be_measured_off(fitter, pack):
    page = text_of(fitter, f"/jobs/{pack.job.number}/site/")

    assert "<strong>45 mm</strong> screws at <strong>300 mm</strong> centres" in page
    assert page.count("Hold point: stop and look") == 9
    assert "Not measured off:" in page
    assert "1 pack of 12 slabs" in page


def test_the_cut_list_says_sheet_shape_mass_and_hands(fitter, pack):
    page = text_of(fitter, f"/jobs/{pack.job.number}/site/cuts/p14-1/")

    assert "U: cut 605 wide × 1,210 high out of the right edge, from 885 up." in page
    assert "From sheet 2, cuts " in page and "11.7 kg: one person." in page
    assert "900 mm from the left, 2,400 mm long" in page
    assert "<title" in page  # each drawing carries its name
    assert page.index("<svg") < page.index("B-C-01</span>")  # drawing first


def test_a_surface_for_which_nothing_is_cut_is_not_found(fitter, pack):
    assert fitter.get(f"/jobs/{pack.job.number}/site/cuts/s3/").status_code == 404
    assert fitter.get(f"/jobs/{pack.job.number}/site/cuts/p999-9/").status_code == 404


def test_the_office_sees_it_inside_the_job_and_the_fitter_does_not(office, fitter, pack):
    url = f"/jobs/{pack.job.number}/site/"

    inside, outside = text_of(office, url), text_of(fitter, url)

    assert "Steps of this job" in inside
    assert "0 of 26 steps done" in inside  # in the thread
    assert "Make it again" in inside
    assert "Steps of this job" not in outside
    assert "Make it again" not in outside
    assert '<nav class="reach"' in outside


def test_before_the_pack_each_is_told_what_comes_here(office, fitter):
    job = JobFactory()
    VisitFactory(job=job, people=[fitter.user])

    assert "The office has not made the work pack of this job yet." in text_of(fitter, f"/jobs/{job.number}/site/")
    assert "made when the homeowner accepts" in text_of(office, f"/jobs/{job.number}/site/")
    assert fitter.get(f"/jobs/{job.number}/site/pack.pdf").status_code == 404


def test_no_page_and_no_paper_shows_money(office, fitter, pack):
    base = f"/jobs/{pack.job.number}/site/"
    pages = [text_of(client, base + path) for client in (office, fitter) for path in ("", "cuts/", "cuts/p12-1/")]
    pages.append(text_of(fitter, "/today/"))
    pages.append(pdf_text(fitter, pack))

    for page in pages:
        assert "£" not in page
        assert not any(cost in page for cost in COSTS)


def pdf_text(client, pack) -> str:
    answer = client.get(f"/jobs/{pack.job.number}/site/pack.pdf")
    assert answer["Content-Type"] == "application/pdf"
    assert f"job-{pack.job.number}-work-pack.pdf" in answer["Content-Disposition"]
    return "\n".join(page.extract_text() for page in PdfReader(BytesIO(answer.content)).pages)


def test_the_paper_carries_steps_cut_list_and_who_ticked(fitter, pack):
    set_tick(pack=pack, key="step:s3:layer-1", is_done=True, user=fitter.user)

    text = pdf_text(fitter, pack)

    assert "45 mm screws at 300 mm centres" in text
    assert text.count("Hold point: stop and look") == 9
    assert "Key safe by the side gate." in text
    assert fitter.user.display_name in text
    for piece in ("L1-B-01", "L2-B-04", "L1-C-02", "L1-D-02", "S-B-07", "B-C-02"):
        assert piece in text
    assert "L: cut 250 wide × 300 high out at the top right." in " ".join(text.split())
    assert "Keep O-C-01, 300 × 2,400" in " ".join(text.split())


def test_the_paper_opens_the_same_list_on_the_phone(fitter, pack, settings, monkeypatch):
    settings.SITE_URL = "https://quiet.example"
    shown = {}
    monkeypatch.setattr(
        "contractor.fitting.views.pdf_response", lambda template, context, name: shown.update(context) or HttpResponse()
    )
    fitter.get(reverse("fitting:pack-pdf", args=[pack.job.number]))

    cut = [face.data["key"] for face in shown["cut_faces"]]
    assert list(shown["codes"]) == cut and cut
    for key, code in shown["codes"].items():
        assert code.text == f"https://quiet.example/jobs/{pack.job.number}/site/cuts/{key}/"
        assert fitter.get(code.text.removeprefix(settings.SITE_URL)).status_code == 200
    paper = render_to_string("print/site.html", shown)
    assert all(f"<title>{code.text}</title>" in paper and code.path in paper for code in shown["codes"].values())
