"""Plans of rooms and sections of build-ups as they were drawn when the quote was sent, as JSON.

They are what templates/drawings/plan.svg and section.svg place.
"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, replace

from contractor.catalogue.models import BuildUp
from contractor.catalogue.section import section_of_build_up
from contractor.quotes.document_rooms import whole_percents
from contractor.rooms.built_plan import Built, built_plan
from contractor.rooms.diagnosis.box import box_drawing
from contractor.rooms.diagnosis.ways import ways_of
from contractor.rooms.models import Room, Scheme, Surface
from contractor.rooms.plan_drawing import Plan, plan_of
from contractor.rooms.shape import room_shape

BUILT_CAPTION = "What we build, to scale on your plan: green, with the numbers below."
BOX_CAPTION = (
    "Your room, opened like a box: the near walls are cut down, the ceiling is dotted. The closer the hatching and the "
    "thicker the line, the more of the noise comes in there."
)
SHAPED_AS = "speech_normal"  # any airborne noise: the shares told of are those of the prediction itself
PAPER = ("width", "height", "lettering", "thin", "outline")


def frozen_plans(rooms: Iterable[Room]) -> dict[str, dict]:
    """By the room's key in the predictions; rooms whose walls nobody has drawn yet are left out."""
    plans = {str(room.pk): plan_of(room, list(room.surfaces.all())) for room in rooms}
    return {key: _frozen(plan) for key, plan in plans.items() if plan.walls}


def frozen_boxes(rooms: Iterable[Room], predictions: Mapping[str, Mapping]) -> dict[str, dict]:
    """By room id as text, the room as an open box with what comes in by each way today; rooms that close and are
    predicted only."""
    found = {}
    for room in rooms:
        told, shape = predictions.get(str(room.pk)), room_shape(room)
        if told is None or not shape.misclosure.closes:
            continue
        percents = whole_percents([path["share_before"] for path in told["paths"]])  # as the bars beside it say
        shares = {path["name"]: percent / 100 for path, percent in zip(told["paths"], percents, strict=True)}
        ways = [replace(way, before=shares[way.name]) for way in ways_of(told, room, SHAPED_AS, treated=())]
        ways.sort(key=lambda way: -way.before)
        title = f"{room.name}: where the noise comes in today"
        box = box_drawing(shape, ways, after=False, uid=f"box-{room.pk}", title=title)
        found[str(room.pk)] = json.loads(json.dumps(box | {"caption": BOX_CAPTION}, default=asdict))
    return found


def frozen_built_plans(rooms: Iterable[Room], scheme: Scheme, numbers: Mapping[str, int]) -> dict[str, dict]:
    """By room id as text, what a scheme builds drawn on each room's plan; `numbers` are those of the build-ups, by key."""
    built = {
        t: Built(number=numbers[t.build_up.key], depth_mm=t.build_up.depth_mm)
        for t in scheme.treatments.select_related("build_up")
        if t.build_up.key in numbers
    }
    on_patch = {t.patch_id: found for t, found in built.items() if t.patch_id}
    on_side_path = {t.side_path_id: found for t, found in built.items() if t.side_path_id}
    plans = {str(room.pk): built_plan(room, on_patch, on_side_path) for room in rooms}
    return {
        key: _frozen(plan.plan)
        | {"linings": plan.linings, "numbers": [asdict(n) for n in plan.numbers], "caption": BUILT_CAPTION}
        for key, plan in plans.items()
        if plan and plan.plan.walls
    }


def _frozen(plan: Plan) -> dict:
    paper = {name: getattr(plan.paper, name) for name in PAPER}
    return asdict(plan) | {"paper": paper, "caption": _caption({wall.role for wall in plan.walls})}


def _caption(roles: set[str]) -> str:
    told = ["Your room from above."]
    if Surface.Role.SEPARATING in roles:
        told.append("The noise comes through the hatched wall.")
    if Surface.Role.FLANKING in roles:
        told.append("What is tinted carries it past.")
    return " ".join(told)


def frozen_sections(build_ups: Iterable[BuildUp]) -> dict[str, dict]:
    """By the build-up's key, its layers and their materials loaded; those that take up no depth are left out."""
    sections = {build_up.key: section_of_build_up(build_up, counted=True) for build_up in build_ups}
    return {
        key: asdict(section) | {"unit": section.unit, "ticks": section.ticks}
        for key, section in sections.items()
        if section is not None
    }
