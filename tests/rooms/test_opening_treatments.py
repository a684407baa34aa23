"""Doors and windows in the separating surface are treated like any other place."""

from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from contractor.catalogue.models import BuildUp, Construction
from contractor.quotes.options import options_of
from contractor.rooms import services
from contractor.rooms.calculation import predict_rooms
from contractor.rooms.diagnosis.bridge import gains_of
from contractor.rooms.inputs import fingerprint, gather
from contractor.rooms.models import Treatment
from tests.factories import LabourRateFactory, OpeningFactory, UserFactory
from tests.rooms.scenes import bedroom

pytestmark = pytest.mark.django_db
GLAZING, DOOR = "secondary-glazing-100", "door-upgrade"


@pytest.fixture
def scene():
    found = bedroom()
    party = found.alcoves.surface
    made = {"surface": party, "y_mm": 900, "width_mm": 900, "height_mm": 1000}
    found.window = OpeningFactory(kind="window", x_mm=100, construction=built("window-single"), **made)
    found.door = OpeningFactory(
        kind="door", x_mm=3100, construction=built("door-panel"), **made | {"y_mm": 0, "height_mm": 2000}
    )
    return found


def built(key: str) -> Construction:
    return Construction.objects.get(key=key)


def treat(scene, opening, key: str) -> Treatment:
    return Treatment.objects.create(scheme=scene.scheme, opening=opening, build_up=BuildUp.objects.get(key=key))


def path(scene, name: str) -> dict:
    told = predict_rooms(gather(scene.scheme)).rooms[str(scene.room.pk)]
    return next(row for row in told["paths"] if row["name"] == name)


def test_secondary_glazing_gains_what_the_trade_finds(scene):
    """Single glass of 4 mm with a pane 100 mm inside: 8 to 20 dB better (common practice)."""
    treat(scene, scene.window, GLAZING)
    row = path(scene, "B window")
    assert 8 <= row["weighted_after_db"] - row["weighted_before_db"] <= 20


def test_a_solid_door_takes_the_place_of_the_old_one(scene):
    """44 mm of core at 560 kg/m3 for 20 mm of softwood: about three times the mass, so some 5 to 10 dB (mass law)."""
    treat(scene, scene.door, DOOR)
    row = path(scene, "B door")
    assert 4 <= row["weighted_after_db"] - row["weighted_before_db"] <= 11
    assert path(scene, "B window")["weighted_after_db"] == path(scene, "B window")["weighted_before_db"]


def test_a_treatment_is_of_one_thing(scene):
    with pytest.raises(IntegrityError), transaction.atomic():
        Treatment.objects.create(
            scheme=scene.scheme,
            opening=scene.window,
            patch=scene.alcoves,
            build_up=BuildUp.objects.get(key=GLAZING),
        )


def test_the_form_offers_saves_and_shows_it(office, scene):
    url = reverse("rooms:scheme", args=[scene.scheme.pk])
    glazing = BuildUp.objects.get(key=GLAZING)
    html = office.get(url).content.decode()
    assert f'name="opening-{scene.window.pk}"' in html
    office.post(url, {"name": scene.scheme.name, "summary": "", f"opening-{scene.window.pk}": glazing.pk})
    assert list(scene.scheme.treatments.values_list("opening_id", "build_up_id")) == [(scene.window.pk, glazing.pk)]
    assert "B window" in office.get(reverse("rooms:schemes", args=[scene.room.job.number])).content.decode()
    bad = {"name": scene.scheme.name, "summary": "", f"opening-{scene.window.pk}": BuildUp.objects.get(key=DOOR).pk}
    assert "Choose a build-up from this list." in office.post(url, bad).content.decode()


def test_it_is_taken_off_by_area_or_by_the_piece_and_priced(scene):
    LabourRateFactory()
    treat(scene, scene.window, GLAZING)
    treat(scene, scene.door, DOOR)
    option = next(o for o in options_of(scene.room.job) if o.scheme == scene.scheme)
    faces = {face["build_up_key"]: face for face in option.calculation.takeoff["faces"]}
    assert Decimal(faces[GLAZING]["quantity"]) == Decimal("0.90")  # 0.9 by 1.0 m
    assert Decimal(faces[DOOR]["quantity"]) == 1
    assert option.priced.problems == ()
    lines = {line.description: line for line in option.priced.lines if line.section == "details"}
    glazing = lines[BuildUp.objects.get(key=GLAZING).name]
    # One square metre of pane at 340, since it comes by the metre; 0.9 x 2.5 h; markups: by hand at least this much.
    assert glazing.net > Decimal("340")


def test_copies_keep_it_and_the_hash_knows_it(scene):
    before = fingerprint(gather(scene.scheme), "1")
    treat(scene, scene.window, GLAZING)
    assert fingerprint(gather(scene.scheme), "1") != before
    copy = services.scheme_create(job=scene.room.job, name="Copy", copy_of=scene.scheme, user=UserFactory())
    assert copy.treatments.get().opening == scene.window


def test_the_plan_and_the_diagnosis_know_it(office, scene):
    url = reverse("planning:plan", args=[scene.room.job.number])
    asked = {"room": scene.room.pk, "goal": "weighted", "target_db": 45, "background": "night", "chance": "0.5"}
    found = office.get(url, asked).context["found"]
    offers = {p.candidate.choice.build_up.key for p in found.priced if p.candidate.place.opening == scene.window}
    assert offers == {GLAZING}
    assert any("opening" in place for chosen in found.plan.front for place in chosen.built)
    office.post(reverse("planning:options", args=[scene.room.job.number]), asked)
    assert Treatment.objects.filter(opening=scene.window, scheme__plan_option="recommended").exists()
    treat(scene, scene.window, GLAZING)
    inputs = gather(scene.scheme)
    (gain,) = gains_of(inputs, inputs.rooms[0], "speech_normal").rows
    assert gain.where == "B window"
    assert gain.alone_db == gain.last_db > 0
