"""Where a noise comes in: shares, the drawings' labels, and what each treatment does alone and last."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from django.urls import reverse
from hypothesis import given, settings
from hypothesis import strategies as st

from contractor.rooms import services
from contractor.rooms.calculation import predict_rooms
from contractor.rooms.diagnosis.box import WIDTH, box_drawing, value_of
from contractor.rooms.diagnosis.bridge import gains_of, shares_of, strips_of
from contractor.rooms.diagnosis.labels import GAP, LETTERS, LINE, Wanted, columns, wrapped
from contractor.rooms.diagnosis.on_plan import plan_drawing
from contractor.rooms.diagnosis.ways import Way, limit_of, treated_in, ways_of
from contractor.rooms.inputs import gather
from contractor.rooms.models import Room, SidePath
from contractor.rooms.shape import room_shape, shape_of
from contractor.rooms.walk import Leg, Walk
from tests.factories import UserFactory
from tests.rooms.scenes import CEILING_LINING, EDGE, FRAME_LINING, bedroom, heard

SMALL = {"Gable": 0.35, "Floor": 0.007, "Flue": 0.002}

pytestmark = pytest.mark.django_db


def loaded(scene):
    """Inputs of the option, and the room in them with its survey loaded."""
    inputs = gather(scene.scheme)
    return inputs, next(room for room in inputs.rooms if room.pk == scene.room.pk)


def told(inputs, room: Room) -> dict:
    return predict_rooms(inputs).rooms[str(room.pk)]


def level_db(inputs, room, noise: str) -> float:
    """A-weighted level of a noise in the room, from its prediction's bands: by hand from IEC 61672-1's weighting."""
    from acoustics import SOURCES
    from acoustics.bands import a_weighted_db

    side = told(inputs, room)["after"]["standardized_db"]
    return float(a_weighted_db(np.array(SOURCES[noise].levels_db) - np.array(side)))


@pytest.fixture
def scene():
    found = bedroom()
    found.build(FRAME_LINING, patch=found.alcoves)
    found.build(EDGE, side_path=found.void)
    heard(found, "television")
    return found


@pytest.mark.parametrize("noise", ["speech_normal", "television", "music_bass"])
def test_shares_of_a_noise_add_up_and_differ_from_noise_to_noise(scene, noise):
    inputs, room = loaded(scene)
    shares = shares_of(told(inputs, room)["paths"], noise)
    assert sum(before for before, _ in shares) == pytest.approx(1.0)
    assert sum(after for _, after in shares) == pytest.approx(1.0)
    others = shares_of(told(inputs, room)["paths"], "music_bass" if noise != "music_bass" else "speech_normal")
    assert shares != others


@pytest.mark.parametrize("noise", ["speech_normal", "music_bass"])
def test_alone_and_last_are_differences_of_predictions(scene, noise):
    inputs, room = loaded(scene)
    scene.scheme.treatments.all()
    gains = gains_of(inputs, room, noise)
    nothing = replace(inputs, on_patch={}, on_side_path={})
    only_wall, only_edge = replace(inputs, on_side_path={}), replace(inputs, on_patch={})
    levels = {
        name: level_db(some, room, noise)
        for name, some in (("nothing", nothing), ("wall", only_wall), ("edge", only_edge), ("both", inputs))
    }
    rows = {row.where: row for row in gains.rows}
    assert rows["B Party wall"].alone_db == pytest.approx(levels["nothing"] - levels["wall"], abs=0.1)
    assert rows["B Party wall"].last_db == pytest.approx(levels["edge"] - levels["both"], abs=0.1)
    assert rows["Joined floor void"].alone_db == pytest.approx(levels["nothing"] - levels["edge"], abs=0.1)
    assert rows["Joined floor void"].last_db == pytest.approx(levels["wall"] - levels["both"], abs=0.1)
    assert gains.together_db == pytest.approx(levels["nothing"] - levels["both"], abs=0.1)


def test_a_strip_left_clear_costs_what_going_all_the_way_would_gain(scene):
    (strip,) = services.strip_save(patch=scene.alcoves, place="left", clear_mm=200, reason="nib", user=UserFactory())
    inputs, room = loaded(scene)
    (cost,) = strips_of(inputs, room, "television")
    whole = replace(inputs, on_patch=inputs.on_patch | {strip.pk: inputs.on_patch[scene.alcoves.pk]})
    assert cost.cost_db == pytest.approx(
        level_db(inputs, room, "television") - level_db(whole, room, "television"), abs=0.1
    )
    assert cost.cost_db > 0


def test_the_scheme_page_says_what_a_strip_costs(office, scene):
    services.strip_save(patch=scene.alcoves, place="left", clear_mm=200, reason="nib", user=UserFactory())
    html = office.get(reverse("rooms:scheme", args=[scene.scheme.pk])).content.decode()
    assert "Strips left clear" in html
    assert "against going all the way" in html


def test_what_limits_it_is_worked_out_from_the_shares(scene):
    inputs, room = loaded(scene)
    ways = ways_of(told(inputs, room), room, "television", treated_in(inputs, room))
    most = max(ways, key=lambda way: way.after)
    text = limit_of(ways, after=True)
    assert most.name in text
    assert f"{-10 * np.log10(most.after):.1f} dB" in text
    assert {way.name for way in ways if way.is_treated} == {"B Party wall", "Joined floor void"}


def test_the_drawing_and_the_table_say_a_small_share_alike():
    """0.7 % rounds to one, 0.2 % is not nothing, and 35 % of what is heard is not most of it."""
    ways = [Way(name=name, kind="", before=share, after=0.0, is_treated=False) for name, share in SMALL.items()]
    assert [way.before_in_words for way in ways] == ["35 %", "1 %", "under 1 %"]
    assert [value_of(way, after=False) for way in ways] == ["35 %", "1 %", "under 1 %"]
    assert ways[0].after_in_words == "0 %"
    assert limit_of(ways, after=False).startswith("As it is, the largest part of it comes by way of Gable (35 %)")


def pictures(scene, *, after: bool) -> list[dict]:
    inputs, room = loaded(scene)
    ways = ways_of(told(inputs, room), room, "television", treated_in(inputs, room))
    shape = room_shape(room)
    return [make(shape, ways, after=after, uid="x", title="t") for make in (box_drawing, plan_drawing)]


@pytest.mark.parametrize("after", [False, True])
def test_every_way_that_counts_is_named_on_the_drawings(scene, after):
    scene.build(CEILING_LINING, patch=scene.ceiling)
    inputs, room = loaded(scene)
    ways = ways_of(told(inputs, room), room, "television", treated_in(inputs, room))
    box, plan = pictures(scene, after=after)
    for way in ways:
        if way.share(after=after) < 0.005:
            continue
        named = [" ".join(text for _, text in label.lines) for label in box["labels"]]
        assert way.name in named
        assert way.name in box["desc"]
        on_plan = [" ".join(text for _, text in label.lines) for label in plan["labels"]]
        inside = " ".join(line["text"] for line in plan["inside"])
        assert way.name in on_plan or way.name in inside
    assert any("treated" in label.value[1] for label in box["labels"]) == after
    assert any(mark["is_dashed"] for mark in box["marks"]) == after


def test_everything_drawn_lies_on_the_paper(scene):
    for drawing in pictures(scene, after=True):
        for label in drawing["labels"]:
            assert 0 <= label.top < label.bottom <= drawing["height"]
        for mark in drawing["marks"]:
            for pair in mark.get("points", "").split():
                x, y = map(int, pair.split(","))
                assert 0 <= x <= WIDTH
                assert 0 <= y <= drawing["height"]


@settings(max_examples=150, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 440), st.integers(0, 400), st.text("abc de", min_size=1, max_size=60)), max_size=14
    )
)
def test_labels_never_lie_on_one_another(things):
    wanted = [Wanted(x=x, y=y, name=name, value="12 %") for x, y, name in things]
    labels, height = columns(wanted, width=440, margin=120, height=200)
    assert len(labels) == len(wanted)
    for column in {label.x for label in labels}:
        side = sorted((label for label in labels if label.x == column), key=lambda label: label.top)
        for upper, lower in pairwise(side):
            assert upper.bottom + GAP <= lower.top
        for label in side:
            assert label.top >= 0
            assert label.bottom <= height
            assert label.bottom - label.top == LINE * (len(label.lines) + 1)


@given(st.text(min_size=0, max_size=80))
def test_no_line_of_a_label_is_too_long(text):
    assert all(0 < len(line) <= LETTERS for line in wrapped(text))


SIDES = st.lists(st.integers(600, 7000), min_size=4, max_size=4)


@settings(max_examples=60, deadline=None)
@given(sides=SIDES, heights=st.lists(st.integers(1800, 3600), min_size=6, max_size=6))
def test_any_room_of_six_walls_stays_on_the_paper(sides, heights):
    """An L cut out of a rectangle, its corners of different heights."""
    width, depth, notch_x, notch_y = sides[0] + 800, sides[1] + 800, min(sides[2], sides[0]), min(sides[3], sides[1])
    lengths = [width, depth - notch_y, notch_x, notch_y, width - notch_x, depth]
    turns = [90, 90, -90, 90, 90, 90]
    walls = [Leg(length_mm=a, turn_deg=t, height_mm=h) for a, t, h in zip(lengths, turns, heights, strict=True)]
    shape = shape_of(Walk(legs=tuple(walls)))
    ways = [Way(name="Gaps", kind="leak", before=1.0, after=1.0, is_treated=False, side_path=SidePath(kind="leak"))]
    for make in (box_drawing, plan_drawing):
        drawing = make(shape, ways, after=False, uid="x", title="t")
        lists = [drawing["room"]] if "room" in drawing else [w["points"] for w in drawing["walls"]]
        for points in lists:
            for pair in points.split():
                x, y = map(int, pair.split(","))
                assert 0 <= x <= WIDTH
                assert 0 <= y <= drawing["height"]


def test_the_page_shows_the_noise_asked_for(office, scene):
    url = reverse("rooms:diagnosis", args=[scene.room.job.number])
    first = office.get(url)
    assert first.context["noise"] == "Television"  # what they told of
    assert first.context["scheme"] == scene.scheme
    html = office.get(url, {"noise": "music_bass", "scheme": ""}).content.decode()
    assert "loud music with bass" in html
    assert "Built alone" not in html  # nothing is built
    assert office.get(url, {"noise": "nonsense", "scheme": "999"}).context["noise"] == "Television"


def test_footsteps_are_told_as_indicative(office, scene):
    url = reverse("rooms:diagnosis", args=[scene.room.job.number])
    html = office.get(url, {"noise": "footsteps"}).content.decode()
    assert "No footsteps are told of" in html
    heard(scene, "footsteps")
    assert "room through walls or from below" in office.get(url, {"noise": "footsteps"}).content.decode()
    scene.room.surfaces.filter(face="wall").update(role="other")
    scene.ceiling.surface.role = "separating"
    scene.ceiling.surface.junction = ""
    scene.ceiling.surface.save()
    html = office.get(url, {"noise": "footsteps"}).content.decode()
    assert "Indicative." in html
    assert "Only the direct way through the ceiling" in html


def test_the_page_reads_as_much_for_three_options_as_for_one(office, scene, count_queries):
    from tests.factories import SchemeFactory

    url = reverse("rooms:diagnosis", args=[scene.room.job.number])
    one = count_queries(office, url)
    SchemeFactory.create_batch(2, job=scene.room.job)
    assert count_queries(office, url) == one <= 50
