"""Sound insulation of existing homes: ratings, build-ups, paths, audibility. Pure computation, no Django.

Frozen dataclasses in, frozen dataclasses out; 21 third-octave bands from 50 to 5000 Hz.
"""

from .audibility import BACKGROUND_DBA, SOURCES, Audible, audible
from .bands import BANDS_HZ, SPECTRA_DB
from .buildup import ElementResult, predict_element, reductions_db
from .composite import Composite, Part, predict_composite
from .errors import InputError, Notice
from .field import FieldResult, field_airborne, field_impact
from .inputs import Connection, Damping, Element, Fill, Gap, Hollow, KnownElement, KnownLining, Layer, Leaf, Lining
from .junctions import Junction
from .linings import improvement_db
from .materials import SUBSTANCES, Substance
from .plan import Choice, Option, Plan, Surface, plan_treatments
from .ratings import AirborneRating, ImpactRating, StcRating, rate_airborne, rate_impact, rate_stc
from .room_inputs import Face, FlankingPath, ReceivingRoom, SeparatingPatch
from .rooms import PathResult, Prediction, RoomResult, predict_room
from .sidepaths import CavityRoute, Hole, Leak, SidePath, StatedRoute

ENGINE_VERSION = "1.4.0"

__all__ = [
    "BACKGROUND_DBA",
    "BANDS_HZ",
    "ENGINE_VERSION",
    "SOURCES",
    "SPECTRA_DB",
    "SUBSTANCES",
    "AirborneRating",
    "Audible",
    "CavityRoute",
    "Choice",
    "Composite",
    "Connection",
    "Damping",
    "Element",
    "ElementResult",
    "Face",
    "FieldResult",
    "Fill",
    "FlankingPath",
    "Gap",
    "Hole",
    "Hollow",
    "ImpactRating",
    "InputError",
    "Junction",
    "KnownElement",
    "KnownLining",
    "Layer",
    "Leaf",
    "Leak",
    "Lining",
    "Notice",
    "Option",
    "Part",
    "PathResult",
    "Plan",
    "Prediction",
    "ReceivingRoom",
    "RoomResult",
    "SeparatingPatch",
    "SidePath",
    "StatedRoute",
    "StcRating",
    "Substance",
    "Surface",
    "audible",
    "field_airborne",
    "field_impact",
    "improvement_db",
    "plan_treatments",
    "predict_composite",
    "predict_element",
    "predict_room",
    "rate_airborne",
    "rate_impact",
    "rate_stc",
    "reductions_db",
]
