"""Acts from site: each once, in order, none dropped; conflicts with both sides; photographs by pieces."""

import io
import json
from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from contractor.billing.models import Variation
from contractor.fitting.models import Tick
from contractor.fitting.services import set_tick
from contractor.site.models import Act, SiteNote, SitePhoto, TimeEntry, Upload
from contractor.site.services import act_take
from tests.at_once import at_once
from tests.conftest import signed_in
from tests.factories import UserFactory, VisitFactory
from tests.fitting.conftest import holds_are_settled, pack, takeoff  # noqa: F401  (fixtures)

pytestmark = pytest.mark.django_db
STEP = "step:s3:layer-1"


def act(pack, what, /, at=None, **payload) -> dict:  # noqa: F811
    at = at or timezone.now()
    return {"key": str(uuid4()), "job": pack.job.number, "kind": what, "at": at.isoformat(), "payload": payload}


def send(client, *acts) -> list[dict]:
    body, person = json.dumps({"acts": acts}), {"X-Person": str(client.user.pk)}
    response = client.post(reverse("site:acts"), body, content_type="application/json", headers=person)
    assert response.status_code == 200, response.content
    return response.json()["results"]


def test_an_act_that_comes_twice_is_done_once(fitter, pack):  # noqa: F811
    note = act(pack, "note", kind="snag", where="Party wall", text="Cracked board")
    first, second = send(fitter, note, note)
    assert first == second and first["outcome"] == "applied"
    send(fitter, note)
    assert SiteNote.objects.count() == Act.objects.count() == 1


def test_acts_are_done_in_the_order_they_came(fitter, pack):  # noqa: F811
    send(fitter, act(pack, "tick", row=STEP, done=True), act(pack, "tick", row=STEP, done=False))
    assert not Tick.objects.get(key=STEP).is_done


def test_a_tick_answers_with_its_row_and_the_count(fitter, pack):  # noqa: F811
    (result,) = send(fitter, act(pack, "tick", row=STEP, done=True))
    assert 'aria-pressed="true"' in result["html"] and "1 of 26" in result["html"]


@pytest.mark.parametrize(
    ("kind", "payload", "told"),
    [
        ("time", {"on_date": "2026-13-01", "task": "board", "hours": "2"}, "Day:"),
        ("time", {"on_date": "", "task": "board", "hours": "0"}, "At least five minutes."),
        ("delivery", {"what": "Boards", "state": "short"}, "Say what, so that the office can ring"),
        ("dance", {}, "does not know this kind of act"),
        ("tick", {"row": "step:none:layer-1", "done": True}, "no row"),
    ],
)
def test_what_is_not_possible_is_kept_and_told(fitter, pack, kind, payload, told):  # noqa: F811
    (result,) = send(fitter, act(pack, kind, **payload))
    assert result["outcome"] == "refused" and told in result["told"]
    assert Act.objects.get().payload == payload


def test_time_notes_and_deliveries_reach_the_page(fitter, office, pack):  # noqa: F811
    today = timezone.localdate().isoformat()
    snag = act(pack, "note", kind="snag", where="Window wall", text="Chipped reveal")
    send(
        fitter,
        act(pack, "time", on_date=today, task="board", hours="2.5"),
        act(pack, "delivery", what="Boards", state="short", note="Two missing"),
        snag,
    )
    url = reverse("site:notes", args=[pack.job.number])
    page = " ".join(office.get(url).content.decode().split())
    assert "2.50" in page and "something is missing, Two missing" in page and "Chipped reveal" in page
    send(fitter, act(pack, "snag-done", snag=snag["key"], done="on"))
    assert SiteNote.objects.get().is_done and TimeEntry.objects.get().minutes == 150


def test_a_later_tick_of_somebody_else_stands_and_both_are_told(fitter, pack):  # noqa: F811
    """Ada ticks at ten without signal; Bea takes it back at eleven; Ada's phone finds signal at noon."""
    now = timezone.now()
    bea = UserFactory(first_name="Bea", last_name="Ives", role="fitter")
    set_tick(pack=pack, key=STEP, is_done=True, user=bea)
    set_tick(pack=pack, key=STEP, is_done=False, user=bea)
    (result,) = send(fitter, act(pack, "tick", at=now - timedelta(hours=2), row=STEP, done=True, seen="older"))
    assert result["outcome"] == "conflict" and "Bea Ives said “not done”" in result["told"]
    assert "and that stands" in result["told"] and not Tick.objects.get(key=STEP).is_done


def test_the_later_press_stands_though_it_came_in_first(fitter, pack):  # noqa: F811
    now = timezone.now()
    bea = signed_in(UserFactory(first_name="Bea", last_name="Ives", role="fitter"))
    pack.job.visits.get().people.add(bea.user)
    send(bea, act(pack, "tick", at=now - timedelta(hours=1), row=STEP, done=False))
    (result,) = send(fitter, act(pack, "tick", at=now, row=STEP, done=True))
    assert result["outcome"] == "conflict" and Tick.objects.get(key=STEP).is_done


def test_a_known_change_is_no_conflict(fitter, pack):  # noqa: F811
    bea = UserFactory(role="fitter")
    seen = set_tick(pack=pack, key=STEP, is_done=True, user=bea).at.isoformat()
    (result,) = send(fitter, act(pack, "tick", row=STEP, done=False, seen=seen))
    assert result["outcome"] == "applied"


def test_the_office_sees_a_conflict_until_it_is_settled(office, fitter, pack):  # noqa: F811
    send(fitter, act(pack, "dance"))
    url = reverse("site:notes", args=[pack.job.number])
    assert "does not know this kind" in office.get(url).content.decode()
    office.post(reverse("site:looked-at", args=[Act.objects.get().pk]))
    assert "does not know this kind" not in office.get(url).content.decode()


def test_a_phone_whose_clock_runs_ahead_is_not_believed(fitter, pack):  # noqa: F811
    send(fitter, act(pack, "note", at=timezone.now() + timedelta(days=2), kind="note", text="x"))
    assert Act.objects.get().done_at < timezone.now() + timedelta(minutes=6)


def test_signed_out_nothing_is_taken(stranger, pack):  # noqa: F811
    response = stranger.post(reverse("site:acts"), "{}", content_type="application/json")
    assert response.status_code == 401 and response.json() == {"person": None}
    assert stranger.get(reverse("site:hello")).status_code == 401


def test_a_job_of_others_is_refused(pack):  # noqa: F811
    elsewhere = signed_in(UserFactory(role="fitter"))
    (result,) = send(elsewhere, act(pack, "note", kind="note", text="x"))
    assert result["outcome"] == "refused" and not Act.objects.exists()


@pytest.mark.parametrize("body", ["", "[]", '{"acts": 3}', '{"acts": [{"key": "x"}]}', '{"acts": ["x"]}'])
def test_what_is_no_act_is_refused_as_a_whole(fitter, body):
    person = {"X-Person": str(fitter.user.pk)}
    response = fitter.post(reverse("site:acts"), body, content_type="application/json", headers=person)
    assert response.status_code == 400


def test_acts_of_somebody_else_are_not_taken_as_ones_own(fitter, pack):  # noqa: F811
    body = json.dumps({"acts": [act(pack, "note", kind="note", text="x")]})
    other = {"X-Person": str(fitter.user.pk + 1)}
    response = fitter.post(reverse("site:acts"), body, content_type="application/json", headers=other)
    assert response.status_code == 412 and not Act.objects.exists()


def test_forms_of_the_page_work_without_script(fitter, pack):  # noqa: F811
    url = reverse("site:note-act", args=[pack.job.number, "note"])
    page = fitter.post(url, {"kind": "snag", "where": "Reveal", "text": ""}).content.decode()
    assert "This field is required." in page and 'value="Reveal"' in page
    picture = io.BytesIO()
    Image.new("RGB", (640, 480), "grey").save(picture, "JPEG")
    picture.seek(0)
    picture.name = "a.jpg"
    assert fitter.post(url, {"kind": "snag", "text": "Chipped", "photo": picture}).status_code == 302
    assert SitePhoto.objects.get().about == str(Act.objects.get().key)


def jpeg(width=1200, height=900) -> bytes:
    out = io.BytesIO()
    Image.effect_noise((width, height), 60).convert("RGB").save(out, "JPEG", quality=90)
    return out.getvalue()


def piece(client, pack, key, body, offset, length=64 * 1024):  # noqa: F811
    url = reverse("site:photo-piece", args=[pack.job.number, key])
    headers = {
        "X-Offset": str(offset), "X-Size": str(len(body)), "X-Taken": timezone.now().isoformat(),
        "X-About": "step%3As3%3Ahold-1", "X-Caption": "", "X-Person": str(client.user.pk),
    }  # fmt: skip
    part = body[offset : offset + length]
    return client.post(url, part, content_type="application/octet-stream", headers=headers)


def test_a_photograph_comes_in_pieces_with_gaps_and_repeats(fitter, pack):  # noqa: F811
    body, key, offset = jpeg(), uuid4(), 0
    assert len(body) > 150_000
    assert piece(fitter, pack, key, body, 70_000).status_code == 409  # one before it is missing
    while True:
        response = piece(fitter, pack, key, body, offset)
        again = piece(fitter, pack, key, body, offset)  # its answer was lost: sent anew
        assert response.status_code == again.status_code == 200
        offset = again.json()["received"]
        if again.json()["done"]:
            break
    photo = SitePhoto.objects.get()
    assert photo.about == "step:s3:hold-1" and not Upload.objects.exists()
    with Image.open(photo.small) as small:
        assert max(small.size) <= 360
    small = fitter.get(reverse("site:photo-small", args=[key]))
    assert small["Content-Type"] == "image/jpeg" and small["X-Content-Type-Options"] == "nosniff"


def test_what_is_no_picture_is_refused_and_let_go(fitter, pack):  # noqa: F811
    response = piece(fitter, pack, uuid4(), b"not a picture", 0)
    assert response.status_code == 422 and "not a picture" in response.json()["problem"]
    assert not Upload.objects.exists() and not SitePhoto.objects.exists()


def test_photographs_of_others_work_are_closed(fitter, pack):  # noqa: F811
    key = uuid4()
    piece(fitter, pack, key, jpeg(64, 48), 0)
    elsewhere = signed_in(UserFactory(role="fitter"))
    VisitFactory().people.add(elsewhere.user)
    assert elsewhere.get(reverse("site:photo", args=[key])).status_code == 404


@pytest.mark.django_db(transaction=True)
def test_the_same_act_from_many_threads_is_done_once(takeoff):  # noqa: F811
    from tests.fitting.conftest import pack_for

    person = UserFactory(role="fitter")
    made = pack_for(takeoff, person)
    key = uuid4()

    def take():
        return act_take(
            key=key, job=made.job, person=person, kind="note", payload={"kind": "note", "text": "x"},
            done_at=timezone.now(),
        ).pk  # fmt: skip

    assert len(set(at_once(*[take] * 6))) == 1
    assert SiteNote.objects.count() == 1


def test_a_variation_is_begun_on_site_and_waits_for_the_office(fitter, office, pack):  # noqa: F811
    pack.revision.document = {"options": [{"name": "Quieter", "vat": [], "sections": [], "total": "0", "deposit": "0"}]}
    pack.revision.save()
    told = {"title": "Soft joist end", "cause": "hidden", "why": "It crumbles under the screwdriver."}
    (result,) = send(fitter, act(pack, "variation", **told))
    assert result["outcome"] == "applied" and "V01 is with the office" in result["told"]
    made = Variation.objects.get()
    assert made.status == "draft" and made.created_by == fitter.user
    assert "Soft joist end" in office.get(reverse("billing:money", args=[pack.job.number])).content.decode()
