"""From readings to a result, by the engine: ISO 16283-1 and -2, ISO 717."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from acoustics import InputError
from acoustics.bands import octaves_from_thirds_db
from acoustics.field import energy_mean_db, field_airborne, field_impact
from acoustics.readings import cautions, faults, level_difference_db, named, out_of_range

ENLARGED = (
    ("c_50_3150_db", "C,50–3150"),
    ("ctr_50_3150_db", "Ctr,50–3150"),
    ("c_50_5000_db", "C,50–5000"),
    ("ctr_50_5000_db", "Ctr,50–5000"),
    ("ci_50_2500_db", "CI,50–2500"),
)
MOST_POSITIONS = 24  # kept one by one; more, as a meter logs them, are averaged by energy into one
REPRODUCIBILITY_DB = {"airborne": 0.9, "impact": 1.0}
"""Standard uncertainty of a single number measured in place by another team: ISO 12999-1:2014, tables 3 and 5,
situation B (from memory)."""
COVERAGE = 1.96  # 95 of 100, two-sided


@dataclass(frozen=True, kw_only=True)
class Refusal:
    """What a reading cannot be; `quantity` and `band` (either may be empty) say beside which cell to write it, `position` (from 0) which
    of its readings it is."""

    quantity: str
    band: int | str | None
    message: str
    position: int | None = None


class CannotRate(ValueError):
    """Readings that give no result; `refusals` say which and why."""

    def __init__(self, refusals: Sequence[Refusal]) -> None:
        super().__init__(" ".join(refusal.message for refusal in refusals))
        self.refusals = list(refusals)


def averaged(readings: Mapping[str, list[list[float]]]) -> tuple[dict[str, list[list[float]]], dict[str, int]]:
    """Readings with long logs averaged by energy (times: plainly), and how many went into each such mean."""
    kept, counts = {}, {}
    for quantity, rows in readings.items():
        if quantity == "reverberation" and len(rows) > 1:
            kept[quantity], counts[quantity] = [np.mean(rows, axis=0).round(3).tolist()], len(rows)
        elif len(rows) > MOST_POSITIONS:
            kept[quantity], counts[quantity] = [energy_mean_db(np.array(rows)).round(2).tolist()], len(rows)
        else:
            kept[quantity] = rows
    return kept, counts


def refuse_out_of_range(bands: Sequence[int | str], readings: Mapping[str, list[list[float]]]) -> None:
    """Look at every single reading, before any are averaged. Raises CannotRate."""
    found = out_of_range(list(bands), readings)
    if found:
        raise CannotRate([_refusal(fault) for fault in found])


def result_of(
    *,
    kind: str,
    is_standard: bool,
    bands: Sequence[int | str],
    readings: Mapping[str, list[list[float]]],
    volume_m3: float,
    area_m2: float | None,
    assumed_reverberation_s: float,
) -> dict:
    """The result as JSON. Raises CannotRate with what is missing or cannot be true."""
    source, receiving = readings.get("source", []), readings.get("receiving", [])
    background = readings.get("background", [])
    times = (readings.get("reverberation") or [[]])[0]
    needed = (
        {"receiving": receiving} if kind == "impact" and is_standard else {"source": source, "receiving": receiving}
    )
    missing = [
        Refusal(quantity=name, band=None, message=f"There are no levels of the {name} room.")
        for name in needed
        if not needed[name]
    ]
    if missing:
        raise CannotRate(missing)
    levels = {"source_db": source, "receiving_db": receiving, "background_db": background}
    found = faults(bands_hz=list(bands), reverberation_s=times, **levels)
    if found:
        raise CannotRate([_refusal(fault) for fault in found])
    if not is_standard:
        return _compared(bands, source, receiving, background)
    return _rated(kind, bands, levels, times, volume_m3, area_m2, assumed_reverberation_s)


def _refusal(fault) -> Refusal:
    return Refusal(quantity=fault.quantity, band=fault.band_hz, message=_placed(fault), position=fault.position)


def _placed(fault) -> str:
    where = "" if fault.position is None else f" in position {fault.position + 1}"
    band = named(fault.band_hz)
    return fault.message if fault.message.startswith(band) else f"{band}{where}: {fault.message}"


def _compared(bands, source, receiving, background) -> dict:
    difference, limited = level_difference_db(source, receiving, background)
    return {
        "bands": list(bands),
        "difference_db": difference.round(1).tolist(),
        "background_limited": limited.tolist(),
        "cautions": [],
    }


def _rated(kind, bands, levels, times, volume_m3, area_m2, assumed_s) -> dict:
    given = {
        "bands_hz": tuple(bands),
        "receiving_db": levels["receiving_db"],
        "background_db": levels["background_db"] or None,
        "reverberation_s": list(times) or assumed_s,
        "volume_m3": volume_m3,
    }
    try:
        if kind == "impact":
            result = field_impact(**given)
        else:
            result = field_airborne(source_db=levels["source_db"], area_m2=area_m2, **given)
    except InputError as error:
        raise CannotRate([Refusal(quantity="", band=None, message=f"{error.message} ({error.field}).")]) from error
    told = cautions(
        bands_hz=list(bands),
        volume_m3=volume_m3,
        reverberation_s=times,
        assumed_reverberation_s=assumed_s,
        background_limited=result.background_limited,
        area_m2=area_m2,
        **levels,
    )
    apparent = result.apparent_reduction_db
    return {
        "bands": list(result.bands_hz),
        "standardized_db": [round(level, 1) for level in result.standardized_db],
        "apparent_reduction_db": None if apparent is None else [round(level, 1) for level in apparent],
        "background_limited": list(result.background_limited),
        "weighted_db": result.weighted_db,
        "c_db": result.c_db,
        "ctr_db": result.ctr_db,
        "ci_db": result.ci_db,
        "enlarged": [
            [name, value] for name, value in ((n, getattr(result, field)) for field, n in ENLARGED) if value is not None
        ],
        "spread_db": round(COVERAGE * REPRODUCIBILITY_DB[kind], 1),
        "cautions": told,
    }


def in_octaves(levels_db: Sequence[float]) -> list[float]:
    """21 third-octave level differences as octaves 63 to 4000 Hz."""
    return [round(float(level), 1) for level in octaves_from_thirds_db(np.array(levels_db, float))]
