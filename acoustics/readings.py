"""Readings of a sound test as they were taken down: what cannot be true, and what the standard would have otherwise."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from .field import background_corrected_db, energy_mean_db

LEVEL_RANGE_DB = (-20.0, 150.0)
REVERBERATION_RANGE_S = (0.05, 15.0)
RECEIVING_OVER_SOURCE_DB = 3.0
BACKGROUND_OVER_RECEIVING_DB = 3.0
NEIGHBOUR_STEP_DB = 8.0
"""ISO 16283-1, 7.2: neighbouring third octaves of the source room differ by no more (from memory)."""
LEAST_POSITIONS = 5
"""ISO 16283-1, 7.3: microphone positions for each loudspeaker position in each room (from memory)."""
ROOM_RANGE_M3 = (10.0, 250.0)
"""ISO 16283-1 and -2, clause 1: volumes of rooms for which the procedures are meant."""
LEAST_COMMON_AREA_M2 = 10.0
SABINE_RATIO_M = 7.5
"""ISO 140-4, 3.4, carried over (from memory): with less area in common, R' takes the larger of it and V / 7.5."""
SMALL_ROOM_M3 = 25.0
"""ISO 16283-1, clause 8: below this volume the 50, 63 and 80 Hz bands need corner readings too."""


@dataclass(frozen=True, kw_only=True)
class Fault:
    """A reading that cannot be true: which quantity, band (None for all) and position (from 0), and why."""

    quantity: str
    band_hz: int | str | None
    position: int | None
    message: str


def faults(
    *,
    bands_hz: Sequence[int | str],
    source_db: Sequence[Sequence[float]] = (),
    receiving_db: Sequence[Sequence[float]] = (),
    background_db: Sequence[Sequence[float]] = (),
    reverberation_s: Sequence[float] = (),
) -> list[Fault]:
    """What is unphysical in readings of shape (positions, bands) in dB and times of shape (bands,) in s.

    A band may also be the letter of a weighted level, A or C.
    """
    levels = {"source": source_db, "receiving": receiving_db, "background": background_db}
    times = [reverberation_s] if len(reverberation_s) else []
    found = out_of_range(bands_hz, levels | {"reverberation": times})
    if found:
        return found
    means = {quantity: energy_mean_db(np.array(rows)) for quantity, rows in levels.items() if len(rows)}
    if "source" in means and "receiving" in means:
        found += _above(
            means, "receiving", "source", RECEIVING_OVER_SOURCE_DB, bands_hz,
            "is louder in the receiving room than in the source room: were the columns swapped?",
        )  # fmt: skip
    if "receiving" in means and "background" in means:
        found += _above(
            means, "background", "receiving", BACKGROUND_OVER_RECEIVING_DB, bands_hz,
            "is louder without the source than with it: the background was not the same. Measure it again.",
        )  # fmt: skip
    return found


def named(band: int | str) -> str:
    """A band as it is written: 125 Hz; for a weighted level, dB(A)."""
    return f"{band:,} Hz" if isinstance(band, int) else f"dB({band})"


def out_of_range(bands_hz: Sequence[int | str], readings: Mapping[str, Sequence[Sequence[float]]]) -> list[Fault]:
    """Readings that no meter can have shown, by quantity of shape (positions, bands): dB, or s for "reverberation"."""
    found = []
    for quantity, rows in readings.items():
        (low, high), unit = (REVERBERATION_RANGE_S, "s") if quantity == "reverberation" else (LEVEL_RANGE_DB, "dB")
        values = np.array(rows, float).reshape(len(rows), len(bands_hz))
        for position, place in np.argwhere(~((values >= low) & (values <= high))).tolist():
            value = values[position, place]
            message = f"{value:g} {unit} cannot be: expected {low:g} to {high:g} {unit}."
            found.append(Fault(quantity=quantity, band_hz=bands_hz[place], position=position, message=message))
    return found


def _above(means: Mapping[str, np.ndarray], upper, lower, by_db, bands_hz, why) -> list[Fault]:
    excess = means[upper] - means[lower]
    return [
        Fault(quantity=upper, band_hz=band, position=None, message=f"{named(band)} {why}")
        for band, over in zip(bands_hz, excess, strict=True)
        if over > by_db
    ]


def cautions(
    *,
    bands_hz: Sequence[int],
    volume_m3: float,
    source_db: Sequence[Sequence[float]] = (),
    receiving_db: Sequence[Sequence[float]] = (),
    background_db: Sequence[Sequence[float]] = (),
    reverberation_s: Sequence[float] = (),
    assumed_reverberation_s: float = 0.5,
    background_limited: Sequence[bool] = (),
    area_m2: float | None = None,
) -> list[str]:
    """Where the readings fall short of ISO 16283, as sentences; they stand beside the result."""
    told = []
    if not len(reverberation_s):
        told.append(f"Reverberation time was not measured: {assumed_reverberation_s:g} s is assumed in every band.")
    if not len(background_db):
        told.append("Background noise was not measured, so nothing is corrected for it: the result may be too low.")
    limited = [band for band, is_limited in zip(bands_hz, background_limited, strict=False) if is_limited]
    if limited:
        named = ", ".join(f"{band:,}" for band in limited)
        told.append(f"Limited by background noise at {named} Hz: there the true insulation is at least what is shown.")
    for quantity, rows in (("source", source_db), ("receiving", receiving_db)):
        if len(rows) and len(rows) < LEAST_POSITIONS:
            count = f"{len(rows)} position{'' if len(rows) == 1 else 's'}"
            told.append(
                f"{count} in the {quantity} room: ISO 16283 asks for {LEAST_POSITIONS} at each loudspeaker or machine"
                " position. Enter each on its own, or note here that these are means of that many."
            )
    if len(source_db) and _is_thirds(bands_hz):
        mean = energy_mean_db(np.array(source_db))
        steps = np.abs(np.diff(mean))
        if (steps > NEIGHBOUR_STEP_DB).any():
            at = int(np.argmax(steps))
            told.append(
                f"Uneven source: from {bands_hz[at]:,} to {bands_hz[at + 1]:,} Hz its level steps by {steps[at]:.0f} dB,"
                f" more than the {NEIGHBOUR_STEP_DB:.0f} dB allowed between neighbouring bands."
            )
    low_m3, high_m3 = ROOM_RANGE_M3
    if not low_m3 <= volume_m3 <= high_m3:
        told.append(
            f"The room has {volume_m3:,.0f} m³: ISO 16283 is meant for {low_m3:.0f} to {high_m3:.0f} m³, so this result"
            " stands beside the standard."
        )
    if area_m2 is not None and area_m2 < min(LEAST_COMMON_AREA_M2, volume_m3 / SABINE_RATIO_M):
        told.append(
            f"R′ is worked out with {area_m2:g} m². Where the rooms share less than {LEAST_COMMON_AREA_M2:.0f} m², the"
            f" standard takes the larger of that and V / {SABINE_RATIO_M:g}, here {volume_m3 / SABINE_RATIO_M:.1f} m²;"
            " DnT does not depend on it."
        )
    if volume_m3 < SMALL_ROOM_M3 and min(bands_hz) < 100:
        told.append(
            f"The room is under {SMALL_ROOM_M3:.0f} m³: at 50, 63 and 80 Hz the standard wants readings in the corners"
            " too, which this result does not hold."
        )
    return told


def _is_thirds(bands_hz: Sequence[int]) -> bool:
    return len(bands_hz) > 1 and all(b / a < 1.4 for a, b in itertools.pairwise(bands_hz))


def level_difference_db(
    source_db: Sequence[Sequence[float]],
    receiving_db: Sequence[Sequence[float]],
    background_db: Sequence[Sequence[float]] = (),
) -> tuple[np.ndarray, np.ndarray]:
    """Plain level difference D in dB by column (ISO 16283-1, 3.9), and which are limited by background noise.

    For comparative checks: columns may be bands or weighted levels. Background as in `field`.
    """
    received = energy_mean_db(np.array(receiving_db))
    limited = np.zeros(received.shape, bool)
    if len(background_db):
        received, limited = background_corrected_db(received, energy_mean_db(np.array(background_db)))
    return energy_mean_db(np.array(source_db)) - received, limited
