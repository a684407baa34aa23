"""Hold points keep what comes after them closed until they are looked at, photographed and ticked, or let pass."""

from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from contractor.fitting import services
from contractor.fitting.locks import PHOTOS_ASKED, Evidence, asked_of, locks_of
from contractor.fitting.models import Tick
from contractor.site.models import SitePhoto
from contractor.site.services import act_take

pytestmark = [pytest.mark.django_db, pytest.mark.holds]


def holds(pack):
    """(surface, a hold point of it that asks for photographs and has work behind it)."""
    for face in pack.document["faces"]:
        for place, step in enumerate(face["steps"]):
            has_more = any(later["kind"] != "hold" for later in face["steps"][place + 1 :])
            if step["kind"] == "hold" and asked_of(face)[step["key"]] and has_more:
                return face, step
    raise AssertionError("no such hold point in the take-off")


def photograph(pack, key, person, count=PHOTOS_ASKED):
    for _ in range(count):
        SitePhoto.objects.create(key=uuid4(), job=pack.job, about=key, by=person, taken_at=timezone.now())


def do(pack, person, what, /, **payload):
    return act_take(key=uuid4(), job=pack.job, person=person, kind=what, payload=payload, done_at=timezone.now())


def up_to(face, step) -> list[str]:
    keys = [one["key"] for one in face["steps"]]
    return keys[: keys.index(step["key"])]


def next_work(face, hold) -> dict:
    return next(step for step in face["steps"][len(up_to(face, hold)) + 1 :] if step["kind"] != "hold")


def test_what_follows_a_hold_point_is_closed_with_its_cut_list(pack):
    face, hold = holds(pack)
    done = set(up_to(face, hold))
    locks = locks_of({"faces": [face]}, done, Evidence())
    after = [s for s in face["steps"] if s["key"] not in (*done, hold["key"])]
    assert after and all(locks[step["key"]] is hold for step in after)
    orders = {step.get("order") for step in after}
    cut = [
        row["key"] for layer in face["layers"] if layer["order"] in orders for row in (*layer["pieces"], *layer["cuts"])
    ]
    assert all(locks[key] is hold for key in cut)
    open_ones = {
        row["key"]
        for layer in face["layers"]
        if layer["order"] not in orders
        for row in (*layer["pieces"], *layer["cuts"])
    }
    assert not open_ones & set(locks)


@pytest.mark.parametrize(("ticked", "photos", "is_open"), [(True, 2, True), (True, 1, False), (False, 2, False)])
def test_photographs_and_tick_open_it(pack, ticked, photos, is_open):
    face, hold = holds(pack)
    done = {*up_to(face, hold), *([hold["key"]] if ticked else [])}
    locks = locks_of({"faces": [face]}, done, Evidence(photos={hold["key"]: photos}))
    assert (hold not in locks.values()) is is_open


def test_letting_pass_opens_it_with_name_and_reason(pack, fitter, office):
    face, hold = holds(pack)
    for key in up_to(face, hold):
        services.set_tick(pack=pack, key=key, is_done=True, user=fitter.user)
    after = next_work(face, hold)
    with pytest.raises(services.Closed, match="Stopped at the hold point"):
        services.set_tick(pack=pack, key=after["key"], is_done=True, user=fitter.user)
    refused = do(pack, fitter.user, "tick", row=after["key"], done=True)
    assert refused.outcome == "refused" and "hold point" in refused.told
    do(pack, fitter.user, "override", row_key=hold["key"], reason="The camera is broken; Bea looked with me.")
    assert do(pack, fitter.user, "tick", row=after["key"], done=True).outcome == "applied"
    page = office.get(reverse("fitting:pack", args=[pack.job.number])).content.decode()
    assert "The camera is broken; Bea looked with me." in page


def test_photographs_that_a_phone_is_still_sending_count(pack, fitter):
    """The tick says how many it took; they follow when the signal is better."""
    face, hold = holds(pack)
    for key in up_to(face, hold):
        services.set_tick(pack=pack, key=key, is_done=True, user=fitter.user)
    after = next_work(face, hold)
    do(pack, fitter.user, "tick", row=hold["key"], done=True, photos=2)
    assert do(pack, fitter.user, "tick", row=after["key"], done=True).outcome == "applied"


def test_without_script_a_closed_row_is_refused_in_words(pack, fitter):
    face = holds(pack)[0]
    last = face["steps"][-1]["key"]
    url = reverse("fitting:tick", args=[pack.job.number])
    response = fitter.post(url, {"key": last, "done": "1"}, follow=True)
    assert "Stopped at the hold point" in response.content.decode() and not Tick.objects.exists()


def test_what_is_done_stays_done_when_a_hold_point_closes_behind_it(pack, fitter):
    """Taking back the tick of a hold point closes what follows; what was ticked there can still be taken back."""
    face, hold = holds(pack)
    for key in up_to(face, hold):
        services.set_tick(pack=pack, key=key, is_done=True, user=fitter.user)
    photograph(pack, hold["key"], fitter.user)
    services.set_tick(pack=pack, key=hold["key"], is_done=True, user=fitter.user)
    after = next_work(face, hold)
    services.set_tick(pack=pack, key=after["key"], is_done=True, user=fitter.user)
    services.set_tick(pack=pack, key=hold["key"], is_done=False, user=fitter.user)
    services.set_tick(pack=pack, key=after["key"], is_done=False, user=fitter.user)
    assert not Tick.objects.get(key=after["key"]).is_done
