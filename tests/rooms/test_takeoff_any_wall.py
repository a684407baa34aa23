"""Walls of any size with a breast and an opening anywhere: the take-off adds up, or says what is wrong."""

import random
from decimal import Decimal

import pytest
from shapely import Polygon, unary_union

from contractor.catalogue.models import BuildUp
from contractor.rooms.inputs import gather
from contractor.rooms.takeoff.document import take_off
from tests.rooms.scenes import bedroom

pytestmark = pytest.mark.django_db


def within(rng: random.Random, whole: int, least: int) -> tuple[int, int]:
    """A place and a size that lie within `whole`."""
    start = rng.choice([0, rng.randint(0, whole - least)])
    return start, rng.randint(least, whole - start)


def any_wall(seed: int):
    rng = random.Random(seed)
    scene = bedroom()
    wall, breast, opening = scene.alcoves.surface, scene.breast, scene.alcoves.surface.openings.get()
    wall.length_mm, wall.height_mm = rng.randint(600, 7000), rng.randint(500, 3400)
    for thing in (breast, opening):
        thing.x_mm, thing.width_mm = within(rng, wall.length_mm, 60)
        thing.y_mm, thing.height_mm = within(rng, wall.height_mm, 60)
    breast.projection_mm = rng.choice([0, rng.randint(60, 600)])
    breast.depth_limit_mm = scene.alcoves.depth_limit_mm = 400
    for row in (wall, breast, opening, scene.alcoves):
        row.save()
    linings = list(BuildUp.objects.filter(surface="wall", unit="m2"))
    for patch in (scene.alcoves, breast):
        scene.build(rng.choice(linings).key, patch=patch, boards_run=rng.choice(["vertical", "horizontal"]))
    return scene


@pytest.mark.parametrize("seed", range(8))
def test_it_adds_up_or_says_what_is_wrong(seed):
    scene = any_wall(seed)

    told = take_off(gather(scene.scheme))

    total = Decimal(told["totals"]["materials_cost"])
    assert total == sum(Decimal(f["materials_cost"]) for f in told["faces"])
    assert total == sum(Decimal(line["cost"]) for line in told["buy"])
    named = {problem["face"] for problem in told["problems"]}
    for face in told["faces"]:
        assert bool(face["problem"]) == (face["label"] in named)
        if not face["problem"]:
            _covers(face)


def _covers(face: dict) -> None:
    """Boards leave no more than the gaps open, and never overlap."""
    whole = Polygon(face["outline_mm"]).difference(unary_union([Polygon(o) for o in face["openings_mm"]]))
    for layer in (x for x in face["layers"] if x["pieces"]):
        pieces = [Polygon(p["outline_mm"], p["cutouts_mm"]) for p in layer["pieces"]]
        laid = unary_union(pieces)
        assert laid.area == pytest.approx(sum(piece.area for piece in pieces), rel=1e-6)
        assert whole.area - laid.area < whole.length * 12 + 1
