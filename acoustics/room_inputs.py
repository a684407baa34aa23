"""What a room is predicted from: the patches it shares with the source, the flanks, and the ways round."""

from __future__ import annotations

from dataclasses import dataclass

from .bands import a_weighted_shares
from .errors import InputError, between, positive
from .inputs import Element, KnownElement, KnownLining, Lining
from .junctions import Junction
from .sidepaths import SidePath


def _element(field: str, value: object) -> None:
    if not isinstance(value, Element | KnownElement):
        raise InputError(field, "must be an element or a known element")


def _lining(field: str, value: object) -> None:
    if value is not None and not isinstance(value, Lining | KnownLining):
        raise InputError(field, "must be a lining or a known lining")


@dataclass(frozen=True, kw_only=True)
class SeparatingPatch:
    """Part of the separating wall or floor, of one build-up, with what is added on the receiving side."""

    name: str
    area_m2: float
    element: Element | KnownElement
    lining: Lining | KnownLining | None = None

    def __post_init__(self) -> None:
        positive("area_m2", self.area_m2, 1e4)
        _element("element", self.element)
        _lining("lining", self.lining)


@dataclass(frozen=True, kw_only=True)
class Face:
    """A flanking element in one room."""

    element: Element | KnownElement
    area_m2: float
    lining: Lining | KnownLining | None = None

    def __post_init__(self) -> None:
        positive("area_m2", self.area_m2, 1e4)
        _element("element", self.element)
        _lining("lining", self.lining)


@dataclass(frozen=True, kw_only=True)
class FlankingPath:
    """A flanking element on both sides of the junction with the separating element: gives Ff, Df and Fd."""

    name: str
    source: Face
    receiving: Face
    junction: Junction

    def __post_init__(self) -> None:
        if self.source.lining is not None:
            raise InputError("source.lining", "only the receiving side is ours to line")


@dataclass(frozen=True, kw_only=True)
class ReceivingRoom:
    """A room, the patches it shares with the source room, and every other way in.

    `spectrum` is pink, traffic, speech, music or 21 source levels in dB; it weights the shares. `called` is what the
    separating element is called in a sentence: wall, ceiling, floor.
    """

    volume_m3: float
    separating: tuple[SeparatingPatch, ...]
    flanking: tuple[FlankingPath, ...] = ()
    side_paths: tuple[SidePath, ...] = ()
    reverberation_s: float = 0.5
    spectrum: str | tuple[float, ...] = "pink"
    called: str = "separating surface"

    def __post_init__(self) -> None:
        between("volume_m3", self.volume_m3, 1.0, 1e5)
        between("reverberation_s", self.reverberation_s, 0.05, 20.0)
        for name in ("separating", "flanking", "side_paths"):
            object.__setattr__(self, name, tuple(getattr(self, name)))
        if not self.separating:
            raise InputError("separating", "give at least one patch of the separating wall or floor")
        if not isinstance(self.spectrum, str):
            object.__setattr__(self, "spectrum", tuple(self.spectrum))
        a_weighted_shares(self.spectrum)

    @property
    def separating_area_m2(self) -> float:
        return sum(patch.area_m2 for patch in self.separating)
