"""When a pack is made, made again, or refused."""

import pytest

from contractor.accounts.models import AuditEntry
from contractor.fitting.models import Tick, WorkPack
from contractor.fitting.services import NothingToMake, PackInUse, make_pack, remeasure, set_tick
from contractor.quotes.models import Decision
from contractor.quotes.signals import accepted
from contractor.rooms import services as rooms
from tests.factories import UserFactory


class Calculated:
    def __init__(self, takeoff):
        self.takeoff = takeoff


def pack_of_decision(decision, **options):
    revision = decision.revision
    return make_pack(job=revision.job, revision=revision, scheme=decision.scheme, **options)


def test_acceptance_makes_the_pack_from_what_was_sent(decision, monkeypatch):
    monkeypatch.setattr(rooms, "calculate", lambda **kwargs: pytest.fail("what was sent stays as sent"))

    accepted.send(sender=Decision, decision=decision)

    pack = WorkPack.objects.get(job=decision.revision.job)
    assert pack.option == "Quieter"
    assert pack.step_count == 26
    assert [face["key"] for face in pack.document["faces"]] == ["s3", "p16-1", "p12-1", "p14-1", "p15-2"]
    assert AuditEntry.objects.filter(action="Work pack made").count() == 1


def test_an_acceptance_stands_when_no_pack_can_be_made(decision, caplog):
    decision.revision.internal = {}
    decision.scheme = None

    accepted.send(sender=Decision, decision=decision)

    assert not WorkPack.objects.exists()
    assert "No work pack could be made" in caplog.text


def test_without_a_take_off_in_the_quote_the_scheme_is_calculated(decision, takeoff, monkeypatch):
    decision.revision.internal = {}
    monkeypatch.setattr(rooms, "calculate", lambda *, scheme: Calculated(takeoff))

    assert pack_of_decision(decision).step_count == 26


def test_nothing_to_make_it_from_is_said(decision):
    decision.revision.internal = {}

    with pytest.raises(NothingToMake, match="gone from the treatment page"):
        make_pack(job=decision.revision.job, revision=decision.revision, scheme=None, option="Quieter")


def test_made_twice_before_work_begins_it_is_one_pack(decision):
    first = pack_of_decision(decision)

    assert pack_of_decision(decision).pk == first.pk
    assert WorkPack.objects.count() == 1


def test_it_is_not_made_again_once_something_is_ticked(decision):
    pack = pack_of_decision(decision)
    set_tick(pack=pack, key="step:s3:layer-1", is_done=True, user=UserFactory())

    with pytest.raises(PackInUse, match="1 steps or pieces"):
        pack_of_decision(decision)


def test_made_again_on_request_it_follows_the_survey_and_keeps_ticks_that_still_fit(decision, takeoff, monkeypatch):
    pack, person = pack_of_decision(decision), UserFactory()
    for key in ("step:s3:layer-1", "cut:p12-1:7:L1-B-01", "cut:p12-1:7:L1-B-03"):
        set_tick(pack=pack, key=key, is_done=True, user=person)
    last = takeoff["faces"][0]["layers"][6]["pieces"][2]
    last["width_mm"] = 1180  # measured again: the wall is 15 mm shorter
    last["outline_mm"] = [[2400, 10], [3580, 10], [3580, 2395], [2400, 2395]]
    monkeypatch.setattr(rooms, "calculate", lambda *, scheme: Calculated(takeoff))

    again = pack_of_decision(decision, remake=True)

    assert again.pk == pack.pk
    assert set(Tick.objects.values_list("key", flat=True)) == {"step:s3:layer-1", "cut:p12-1:7:L1-B-01"}
    assert AuditEntry.objects.get(action="Work pack made again").detail["ticks_dropped"] == 1


def test_the_office_makes_it_from_the_site_page(office, decision):
    number = decision.revision.job.number
    page = office.get(f"/jobs/{number}/site/")
    assert "Make the work pack" in page.content.decode()

    answer = office.post(f"/jobs/{number}/site/make/", follow=True)

    assert "The work pack is made." in answer.content.decode()
    assert WorkPack.objects.filter(job=decision.revision.job).exists()


def test_the_office_is_told_why_a_pack_was_left_as_it_is(office, decision):
    set_tick(pack=pack_of_decision(decision), key="step:s3:layer-1", is_done=True, user=office.user)

    answer = office.post(f"/jobs/{decision.revision.job.number}/site/make/", follow=True)

    assert "The pack was left as it is. 1 steps or pieces are ticked already." in answer.content.decode()
    assert Tick.objects.count() == 1


def measured_again(pack, width_mm: int, height_mm: int):
    size = {"width_mm": width_mm, "height_mm": height_mm}
    return remeasure(pack=pack, face_key="p12-1", user=UserFactory(), **size)


def wall_of(pack) -> dict:
    return next(face for face in pack.document["faces"] if face["key"] == "p12-1")


def test_made_again_it_keeps_the_sizes_measured_on_site(decision, takeoff, monkeypatch):
    measured = measured_again(pack_of_decision(decision), 3590, 2380)
    set_tick(pack=measured, key="cut:p12-1:7:L1-B-02", is_done=True, user=UserFactory())
    monkeypatch.setattr(rooms, "calculate", lambda *, scheme: Calculated(takeoff))

    again = pack_of_decision(decision, remake=True)

    assert (wall_of(again)["width_mm"], wall_of(again)["height_mm"]) == (3590, 2380)
    assert wall_of(again)["remeasured"]["by"] == wall_of(measured)["remeasured"]["by"]
    assert wall_of(again)["layers"] == wall_of(measured)["layers"]
    assert Tick.objects.get().key == "cut:p12-1:7:L1-B-02"
    assert wall_of(pack_of_decision(decision, remake=True))["width_mm"] == 3590  # and once more


def test_a_survey_corrected_since_goes_before_the_size_measured_on_site(decision, takeoff, monkeypatch):
    measured_again(pack_of_decision(decision), 3590, 2380)
    takeoff["faces"][0] |= {"width_mm": 3588, "outline_mm": [[0, 0], [3588, 0], [3588, 2400], [0, 2400]]}
    monkeypatch.setattr(rooms, "calculate", lambda *, scheme: Calculated(takeoff))

    again = wall_of(pack_of_decision(decision, remake=True))

    assert (again["width_mm"], again.get("remeasured")) == (3588, None)


def test_it_is_not_made_again_from_a_preview(office, decision, takeoff, monkeypatch):
    pack_of_decision(decision)
    monkeypatch.setattr(rooms, "calculate", lambda *, scheme: Calculated(takeoff | {"is_preview": True}))
    url = f"/jobs/{decision.revision.job.number}/site/make/"
    answer = office.post(url, {"remake": "1"}, follow=True).content.decode()
    assert "A better take-off is being worked out." in answer
