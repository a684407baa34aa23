"""Walks round rooms for tests: as the engine of the survey takes them, as a form sends them, and saved."""

from contractor.rooms import services
from contractor.rooms.models import Room
from contractor.rooms.walk import Diagonal, HeightAt, Leg, Walk
from tests.factories import JobFactory, UserFactory

R, L = 90.0, -90.0
# An L-shaped room whose ceiling slopes down to wall E: 4.2 x 3.6 m with 1.5 x 1.6 m out of its corner.
L_LENGTHS = (4200, 2000, 1500, 1600, 2700, 3600)
L_TURNS = (R, R, L, R, R, R)


def walk(lengths, turns=None, heights=2400, **more) -> Walk:
    """`heights`: one for all corners, or one for each."""
    turns = turns or [R] * len(lengths)
    heights = [heights] * len(lengths) if isinstance(heights, int) else heights
    rows = zip(lengths, turns, heights, strict=True)
    return Walk(legs=tuple(Leg(length_mm=a, turn_deg=t, height_mm=h) for a, t, h in rows), **more)


def loft_walk() -> Walk:
    return Walk(
        legs=walk(L_LENGTHS, L_TURNS, (2400, 2400, 2400, 2400, 1400, 1400)).legs,
        heights=(
            HeightAt(wall=4, at_mm=600, height_mm=2400, fold=1),
            HeightAt(wall=6, at_mm=1000, height_mm=2400, fold=1),
        ),
        diagonals=(Diagonal(from_corner=1, to_corner=3, length_mm=4652),),
        corner="Left of the door",
    )


def walked_room(job=None, walk_: Walk | None = None, **facts) -> Room:
    """A saved room with its surfaces."""
    room = Room(job=job or JobFactory(), **({"name": "Study"} | facts))
    walk_ = walk_ or Walk.rectangle(4200, 3600, 2400)
    return services.room_walk(room=room, walk=walk_, drawn=[None] * len(walk_.legs), user=UserFactory())


def rows(prefix: str, values: list[dict]) -> dict:
    """A formset as a browser sends it."""
    sent = {f"{prefix}-TOTAL_FORMS": len(values), f"{prefix}-INITIAL_FORMS": 0}
    return sent | {f"{prefix}-{i}-{k}": v for i, row in enumerate(values) for k, v in row.items()}


def walk_data(lengths, turns=None, *, drawn=None, heights=(), diagonals=(), **facts) -> dict:
    turns = turns or ["right"] * len(lengths)
    drawn = drawn or [""] * len(lengths)
    walls = [
        {"surface": pk, "length_mm": length, "height_mm": "2400" if i == 0 else "", "turn": turn, "angle_deg": ""}
        for i, (length, turn, pk) in enumerate(zip(lengths, turns, drawn, strict=True))
    ]
    facts = {"name": "Study", "corner": "", "reverberation_s": "0.5", "notes": ""} | facts
    return facts | rows("walls", walls) | rows("heights", list(heights)) | rows("diagonals", list(diagonals))
