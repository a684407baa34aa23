"""What is built, drawn to scale on the plan of the customer's own room, and frozen with the proposal."""

from dataclasses import dataclass
from decimal import Decimal

import pytest
from django.urls import reverse

from contractor.quotes import services
from contractor.rooms.built_plan import Built, built_plan
from contractor.rooms.models import Patch, Room, SidePath
from contractor.rooms.selectors import job_rooms
from contractor.rooms.services import surface_save
from tests.factories import ConstructionFactory, PatchFactory, SidePathFactory, UserFactory
from tests.rooms.scenes import BREAST_LINING, CEILING_LINING, EDGE, FRAME_LINING, bedroom
from tests.rooms.walks import walked_room

pytestmark = pytest.mark.django_db


@dataclass
class Scene:
    """A rectangle of 4,200 by 3,600 mm; the first wall, 4,200 mm long, has a breast of 1,400 mm in its middle."""

    room: Room
    alcoves: Patch
    breast: Patch
    window_wall: Patch
    ceiling: Patch
    void: SidePath


@pytest.fixture
def scene():
    room = walked_room()
    rests = {}
    for letter in "ABE":
        surface = room.surfaces.get(letter=letter)
        surface_save(surface=surface, construction=ConstructionFactory(), condition="sound", depth_limit_mm=None)
        rests[letter] = surface.patches.get(is_rest=True)
    breast = PatchFactory(
        surface=rests["A"].surface,
        name="Chimney breast",
        is_rest=False,
        x_mm=1400,
        y_mm=0,
        width_mm=1400,
        height_mm=2400,
        projection_mm=350,
    )
    return Scene(
        room=room,
        alcoves=rests["A"],
        breast=breast,
        window_wall=rests["B"],
        ceiling=rests["E"],
        void=SidePathFactory(room=room),
    )


def corners(points: str) -> list[tuple[int, int]]:
    return [tuple(int(n) for n in pair.split(",")) for pair in points.split()]


def size(points: str) -> tuple[int, int]:
    xs, ys = zip(*corners(points), strict=True)
    return max(xs) - min(xs), max(ys) - min(ys)


def drawn(scene, **built):
    on_patch = {getattr(scene, name).pk: value for name, value in built.items() if name != "void"}
    on_side_path = {scene.void.pk: built["void"]} if "void" in built else {}
    [room] = job_rooms(scene.room.job)
    return built_plan(room, on_patch, on_side_path)


def test_a_lining_is_drawn_to_scale_on_each_side_of_the_chimney_breast(scene):
    # 4,200 mm less the breast of 1,400 mm: two alcoves of 1,400 mm. One unit of the drawing is 1 mm.
    plan = drawn(scene, alcoves=Built(number=1, depth_mm=Decimal("97.5")))
    sizes = sorted(tuple(sorted(size(lining))) for lining in plan.linings)
    assert [long for _, long in sizes] == [pytest.approx(1400, abs=2)] * 2
    assert [deep for deep, _ in sizes] == [pytest.approx(97.5, abs=1)] * 2
    assert [number.words for number in plan.numbers] == ["1", "1"]


def test_a_lining_goes_round_the_chimney_breast(scene):
    plan = drawn(scene, breast=Built(number=2, depth_mm=Decimal("50")))
    sizes = sorted(tuple(sorted(size(lining))) for lining in plan.linings)
    cheek, other, front = sizes
    assert cheek == other == (pytest.approx(50, abs=1), pytest.approx(350, abs=1))
    assert front[0] == pytest.approx(50, abs=1)
    assert front[1] == pytest.approx(1400 + 2 * 50, abs=2)


def test_linings_stay_inside_the_room(scene):
    plan = drawn(
        scene, alcoves=Built(number=1, depth_mm=Decimal(95)), window_wall=Built(number=2, depth_mm=Decimal(50))
    )
    xs, ys = zip(*corners(plan.plan.ground), strict=True)
    for lining in plan.linings:
        for x, y in corners(lining):
            assert min(xs) - 1 <= x <= max(xs) + 1
            assert min(ys) - 1 <= y <= max(ys) + 1


def test_what_a_plan_cannot_draw_is_told_in_words(scene):
    plan = drawn(scene, ceiling=Built(number=3, depth_mm=Decimal("204")), void=Built(number=4, depth_mm=Decimal(0)))
    told = " ".join(lettering.words for lettering in plan.plan.overhead)
    assert "3: ceiling, 204 mm" in told
    assert f"4: {scene.void.name}" in told
    assert plan.linings == []
    assert "204 mm" in plan.plan.text, "the text equivalent says it too"


def test_nothing_built_is_nothing_drawn(scene):
    assert drawn(scene) is None


def test_the_proposal_freezes_it_and_numbers_what_is_built(stranger, firm):
    scene = bedroom()
    scene.build(FRAME_LINING, patch=scene.alcoves)
    scene.build(BREAST_LINING, patch=scene.breast)
    scene.build(CEILING_LINING, patch=scene.ceiling)
    scene.build(EDGE, side_path=scene.void)
    sent = services.send(job=scene.room.job, user=UserFactory(), valid_days=30, leave_out_unpriced=True)
    option = sent.revision.document["options"][0]
    [shown] = option["plans"]
    assert shown["room"] == scene.room.name
    numbers = {n["words"] for n in shown["plan"]["numbers"]}
    named = {str(n) for n, _ in enumerate(option["treatments"], start=1)}
    assert numbers and numbers <= named
    assert len(shown["plan"]["linings"]) == 2 + 3
    text = stranger.get(reverse("quotes:proposal", args=[sent.token])).content.decode()
    assert shown["plan"]["linings"][0] in text
    assert "What we build, to scale on your plan" in text
    assert text.count('class="treatment-number"') == len(option["treatments"])


@pytest.fixture
def firm(db):
    from contractor.accounts.selectors import the_firm

    the_firm().save()
