"""Plans of rooms and sections of build-ups as they were drawn when the quote was sent, as JSON.

They are what templates/drawings/plan.svg and section.svg place.
"""

from collections.abc import Iterable
from dataclasses import asdict

from contractor.catalogue.models import BuildUp
from contractor.catalogue.section import section_of_build_up
from contractor.jobs.models import Job
from contractor.rooms.models import Surface
from contractor.rooms.plan_drawing import Plan, plan_of
from contractor.rooms.selectors import job_rooms

PAPER = ("width", "height", "lettering", "thin", "outline")


def frozen_plans(job: Job) -> dict[str, dict]:
    """By the room's key in the predictions; rooms whose walls nobody has drawn yet are left out."""
    plans = {str(room.pk): plan_of(room, list(room.surfaces.all())) for room in job_rooms(job)}
    return {key: _frozen(plan) for key, plan in plans.items() if plan.walls}


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
    sections = {build_up.key: section_of_build_up(build_up) for build_up in build_ups}
    return {
        key: asdict(section) | {"unit": section.unit, "ticks": section.ticks}
        for key, section in sections.items()
        if section is not None
    }
