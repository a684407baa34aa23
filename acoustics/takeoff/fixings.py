"""Screw lengths: long enough to hold, never so long that they bridge the resilient layer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from acoustics.errors import InputError

SCREW_LENGTHS_MM = (25, 35, 38, 42, 45, 50, 55, 60, 65, 70, 75, 90)
# Least hold behind the boards: 10 mm through metal (published by a UK board maker), 25 mm into timber
# (from memory). A soft layer gives a little when the screw is driven.
HOLD_MM = {"bar": 10.0, "steel": 10.0, "timber": 25.0}
FILM_MM = 1.0
BAR_DEPTH_MM = 16.0
BAR_CLEAR_MM = 2.0


@dataclass(frozen=True, kw_only=True)
class ScrewRange:
    """Lengths that hold and do not bridge, mm; longest None where nothing can be bridged."""

    least_mm: float
    most_mm: float | None


def screw_range(layers_mm: Sequence[float], *, into: str, bar_depth_mm: float = BAR_DEPTH_MM) -> ScrewRange:
    """Range for a screw through `layers_mm` (all layers outside the support) into bar, steel or timber."""
    if into not in HOLD_MM:
        raise InputError("into", f"Screws go into {', '.join(HOLD_MM)}; not {into}.")
    if not layers_mm or min(layers_mm) < 0:
        raise InputError("layers_mm", "Give the thickness of every layer the screw goes through.")
    total = float(sum(layer for layer in layers_mm if layer >= FILM_MM))
    most = total + bar_depth_mm - BAR_CLEAR_MM if into == "bar" else None
    return ScrewRange(least_mm=total + HOLD_MM[into], most_mm=most)


def screw_length(
    layers_mm: Sequence[float],
    *,
    into: str,
    bar_depth_mm: float = BAR_DEPTH_MM,
    lengths_mm: Sequence[int] = SCREW_LENGTHS_MM,
) -> int:
    """Shortest stocked screw that holds without bridging; InputError where none does."""
    allowed = screw_range(layers_mm, into=into, bar_depth_mm=bar_depth_mm)
    for length in sorted(lengths_mm):
        if length >= allowed.least_mm and (allowed.most_mm is None or length <= allowed.most_mm):
            return length
    span = f"{allowed.least_mm:g}" + (f" to {allowed.most_mm:g}" if allowed.most_mm is not None else " or more")
    raise InputError("lengths_mm", f"No stocked screw is right here: {span} mm is needed.")


def check_screw(length_mm: float, layers_mm: Sequence[float], *, into: str, bar_depth_mm: float = BAR_DEPTH_MM) -> None:
    """InputError where a screw is too short to hold, or so long that it bridges."""
    allowed = screw_range(layers_mm, into=into, bar_depth_mm=bar_depth_mm)
    if length_mm < allowed.least_mm:
        raise InputError(
            "length_mm", f"A {length_mm:g} mm screw is too short: {allowed.least_mm:g} mm is the least that holds."
        )
    if allowed.most_mm is not None and length_mm > allowed.most_mm:
        raise InputError(
            "length_mm",
            f"A {length_mm:g} mm screw bridges the bar: {allowed.most_mm:g} mm is the longest that does not "
            "touch what is behind it.",
        )
