"""The survey of a room, the treatments proposed for it, and what was worked out from both; import from here."""

from contractor.rooms.models.found import Finding
from contractor.rooms.models.parts import Fixture, Opening, Patch
from contractor.rooms.models.photos import Photo
from contractor.rooms.models.rules import Rule, RuleOverride
from contractor.rooms.models.schemes import Calculation, PlanOption, Scheme, Treatment
from contractor.rooms.models.survey import Room, SidePath, Surface
from contractor.rooms.models.work import Improvement

__all__ = [
    "Calculation",
    "Finding",
    "Fixture",
    "Improvement",
    "Opening",
    "Patch",
    "Photo",
    "PlanOption",
    "Room",
    "Rule",
    "RuleOverride",
    "Scheme",
    "SidePath",
    "Surface",
    "Treatment",
]
