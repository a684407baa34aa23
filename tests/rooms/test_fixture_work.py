"""What hangs on a treated face is counted: hours by the catalogue's allowances, boxes where they are placed."""

import pytest

from contractor.rooms.inputs import gather
from contractor.rooms.takeoff.document import take_off
from contractor.rooms.takeoff.faces import faces_of
from contractor.rooms.takeoff.fixtures import HANDLING
from tests.factories import FixtureFactory
from tests.rooms.scenes import FRAME_LINING, bedroom


@pytest.fixture
def scene(db):
    scene = bedroom()
    scene.build(FRAME_LINING, patch=scene.alcoves)
    return scene


def work_of(scene):
    takeoff = take_off(gather(scene.scheme))
    assert takeoff["problems"] == []
    return [(p["description"], p["quantity"], p["unit"], p["hours"], p["reason"]) for p in takeoff["preparation"]]


def test_a_radiator_goes_off_and_on_and_says_who_drains_it(scene):
    """1.5 hours are the allowance of the shipped catalogue, from memory there."""
    FixtureFactory(surface=scene.alcoves.surface, kind="radiator", x_mm=3000, y_mm=150, width_mm=1000, height_mm=600)
    ((what, quantity, unit, hours, why),) = work_of(scene)
    assert (what, quantity, unit, hours) == ("Radiator off and on", "1.00", "each", "1.50")
    assert "someone competent" in why


def test_skirting_and_coving_are_taken_off_by_the_metre_once(scene):
    """4.2 m at 0.08 and 0.1 hours a metre, the shipped allowances, though both alcoves touch them."""
    wall = scene.alcoves.surface
    FixtureFactory(surface=wall, kind="skirting", fate="comes_off", x_mm=0, y_mm=0, width_mm=4200, height_mm=120)
    FixtureFactory(surface=wall, kind="cornice", fate="moves", x_mm=0, y_mm=2300, width_mm=4200, height_mm=100)
    assert [(what, quantity, hours) for what, quantity, _, hours, _ in work_of(scene)] == [
        ("Take off skirting", "4.20", "0.34"),
        ("Take off coving", "4.20", "0.42"),
        ("Fit coving", "4.20", "1.05"),
    ]


def test_what_stays_or_hangs_elsewhere_makes_no_work(scene):
    wall = scene.alcoves.surface
    FixtureFactory(surface=wall, kind="radiator", fate="stays", x_mm=3000, width_mm=900, height_mm=600)
    FixtureFactory(surface=wall, kind="radiator", x_mm=1600, y_mm=950, width_mm=900, height_mm=600)  # on the breast
    FixtureFactory(surface=scene.window_wall.surface, kind="radiator", x_mm=100, width_mm=900, height_mm=600)
    assert work_of(scene) == []


def test_boxes_are_counted_on_the_part_where_they_are(scene):
    left, right = faces_of(gather(scene.scheme))
    assert (left.boxes, right.boxes) == (3, 0)  # three counted, nowhere placed
    FixtureFactory(surface=scene.alcoves.surface, x_mm=3100)
    FixtureFactory(surface=scene.alcoves.surface, kind="switch", x_mm=200)
    FixtureFactory(surface=scene.alcoves.surface, kind="data", x_mm=3500)
    left, right = faces_of(gather(scene.scheme))
    assert (left.boxes, right.boxes) == (1, 2)


def test_every_allowance_is_in_the_shipped_catalogue(scene):
    allowances = gather(scene.scheme).allowances
    assert {work.allowance_key for works in HANDLING.values() for work in works} <= set(allowances)
