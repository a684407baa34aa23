"""Figures of the prediction for a page of the catalogue, and the engine's rule for the length of a screw."""

from dataclasses import dataclass

from acoustics import (
    BANDS_HZ,
    Element,
    InputError,
    KnownElement,
    improvement_db,
    predict_element,
    rate_airborne,
)
from acoustics.takeoff import check_screw
from contractor.catalogue.bridge import element_of, lining_of, treated_element
from contractor.catalogue.models import BuildUp, BuildUpLayer, Connection, Construction

LEAF_ROLES = {BuildUpLayer.Role.MEMBRANE, BuildUpLayer.Role.BOARD, BuildUpLayer.Role.DAMPING}
TIMBER_BELOW_KG_M3 = 1000


@dataclass(frozen=True, kw_only=True)
class Performance:
    """What is predicted of one element. `uncertainty_db` is one standard uncertainty; None where Rw is given."""

    weighted_db: int
    c_db: int
    ctr_db: int
    uncertainty_db: float | None
    mass_kg_m2: float
    resonance_hz: tuple[int, ...]
    notices: tuple[str, ...]
    reduction_db: tuple[float, ...]

    @property
    def is_given(self) -> bool:
        return self.uncertainty_db is None


@dataclass(frozen=True, kw_only=True)
class Improvement:
    """A build-up on a construction: before, after, and what the weighted reduction gains."""

    before: Performance
    after: Performance

    @property
    def gain_db(self) -> int:
        return self.after.weighted_db - self.before.weighted_db

    @property
    def gained_db(self) -> tuple[float, ...]:
        """What the build-up alone adds in each third octave; below nothing at its resonance."""
        return tuple(new - old for old, new in zip(self.before.reduction_db, self.after.reduction_db, strict=True))

    @property
    def bands(self) -> list[tuple[int, float, float, float]]:
        """(Hz, before, after, gain) for each third octave."""
        return list(zip(BANDS_HZ, self.before.reduction_db, self.after.reduction_db, self.gained_db, strict=True))


class CannotPredict(ValueError):
    """A material lacks a figure; the message says which and what to do."""


def performance_of(construction: Construction) -> Performance:
    """Needs `layers__material` loaded. Raises CannotPredict."""
    try:
        return _figures(element_of(construction))
    except InputError as error:
        raise CannotPredict(_sentence(error)) from error


def improvement_of(build_up: BuildUp, on: Construction) -> Improvement | None:
    """None where the build-up forms no lining. Needs `layers__material` loaded on both. Raises CannotPredict."""
    from_above = build_up.surface == BuildUp.Surface.FLOOR
    try:
        lining = lining_of(build_up, on=on, seen_from_above=from_above)
        if lining is None:
            return None
        base = element_of(on, seen_from_above=from_above)
        before = _figures(base)
        gained = improvement_db(base, lining)
        whole = treated_element(build_up, on, seen_from_above=from_above)
        bands = tuple(old + float(new) for old, new in zip(before.reduction_db, gained, strict=True))
        return Improvement(before=before, after=_figures(whole, bands))
    except InputError as error:
        raise CannotPredict(_sentence(error)) from error


def bands_of(performance: Performance) -> list[tuple[int, float]]:
    return list(zip(BANDS_HZ, performance.reduction_db, strict=True))


def screw_problem(layers: list[BuildUpLayer], board: BuildUpLayer, length_mm: int) -> str | None:
    """Why a screw through `board` into the last support before it is wrong, or None where it is right.

    At least 10 mm through steel or 25 mm into timber; at a resilient bar 2 mm short of what stands behind it
    (common practice).
    """
    before = [layer for layer in layers if layer.order <= board.order]
    supports = [layer for layer in before if layer.role == BuildUpLayer.Role.SUPPORT]
    if board.role != BuildUpLayer.Role.BOARD or not supports:
        return None
    through_mm = sum(
        float(layer.thickness_mm) for layer in before if layer.role in LEAF_ROLES and layer.order > supports[-1].order
    )
    into, depth = _held_by(supports)
    try:
        check_screw(length_mm, [through_mm], into=into, **depth)
    except InputError as error:
        return error.message
    return None


def _held_by(supports: list[BuildUpLayer]) -> tuple[str, dict]:
    bars = [layer for layer in supports if layer.connection == Connection.RESILIENT_BAR]
    if bars:
        return "bar", {"bar_depth_mm": float(bars[-1].thickness_mm)}
    material = supports[-1].material
    density = material.density_kg_m3 if material else None
    return ("timber" if density and density < TIMBER_BELOW_KG_M3 else "steel"), {}


def _figures(element: Element | KnownElement, bands: tuple[float, ...] | None = None) -> Performance:
    if isinstance(element, KnownElement):
        rating = rate_airborne(element.reduction_db)
        return Performance(
            weighted_db=rating.weighted_db,
            c_db=rating.c_db,
            ctr_db=rating.ctr_db,
            uncertainty_db=None,
            mass_kg_m2=element.surface_mass_kg_m2,
            resonance_hz=(),
            notices=(),
            reduction_db=tuple(element.reduction_db),
        )
    result = predict_element(element)
    rating = rate_airborne(bands or result.reduction_db)
    return Performance(
        weighted_db=rating.weighted_db,
        c_db=rating.c_db,
        ctr_db=rating.ctr_db,
        uncertainty_db=result.uncertainty_db,
        mass_kg_m2=result.surface_mass_kg_m2,
        resonance_hz=tuple(round(hz) for hz in result.resonance_hz),
        notices=tuple(notice.text for notice in result.notices),
        reduction_db=tuple(bands or result.reduction_db),
    )


def _sentence(error: InputError) -> str:
    return error.message[:1].upper() + error.message[1:] + "."
