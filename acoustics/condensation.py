"""Damp inside a wall through the year: the monthly balance of EN ISO 13788:2012, clause 6 (method from memory).

Heat and vapour steady in each month, vapour carried by diffusion alone; driving rain, leaks, stored moisture and
capillary flow are not in it. Indicative.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from .errors import InputError, numbers, one_of

DIFFUSION_KG_M_S_PA = 2.0e-10
"""Vapour permeability of still air (EN ISO 13788)."""
THICKEST_M2K_W = 0.25
"""Layers of more thermal resistance are divided (EN ISO 13788, 6.2)."""
MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December")  # fmt: skip
_SECONDS = np.array([31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]) * 86_400.0

INDOOR_EXCESS_PA = {"dry": 270.0, "low": 540.0, "normal": 810.0, "high": 1080.0}
"""Vapour pressure indoors above that outdoors at 0 degrees C and below: upper bounds of humidity classes 1 to 4 of EN ISO
13788, annex A (from memory). It falls to nothing at 20 degrees C. Dwellings of unknown use: class 3, here "normal"."""
LEAST_KG_M2_S = 1e-13
"""Less than a milligram in a month is the rounding of numbers."""
SAFETY = 1.10
"""Margin on the excess (EN ISO 13788, annex A)."""
INSIDE_C = 20.0


class Slab(NamedTuple):
    """A plane layer: thermal resistance in m2 K/W and equivalent air layer in m; and, where studs stand in it, the part
    of the area that they take and their own resistance."""

    resistance_m2k_w: float
    air_m: float
    stud_part: float = 0.0
    stud_m2k_w: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Climate:
    """Monthly means outdoors, January first: temperature in degrees C, relative humidity in per cent, and where they
    come from."""

    name: str
    temperature_c: tuple[float, ...]
    humidity_percent: tuple[float, ...]
    origin: str = ""

    def __post_init__(self) -> None:
        for name, low, high in (("temperature_c", -60.0, 50.0), ("humidity_percent", 1.0, 100.0)):
            values = numbers(name, getattr(self, name), low, high)
            if len(values) != 12:
                raise InputError(name, f"must have 12 monthly values, has {len(values)}")
            object.__setattr__(self, name, values)


@dataclass(frozen=True, kw_only=True)
class Damp:
    """What the year does to a wall. `held_g_m2` (12,) is the water held at the end of each month, `most_g_m2` the most of
    it; `wet_months` those at whose end any is held. `dries` says that none is left when the year comes round."""

    held_g_m2: tuple[float, ...]
    most_g_m2: float
    wet_months: tuple[str, ...]
    dries: bool

    @property
    def verdict(self) -> str:
        """none, dries (within the year) or stays."""
        if not self.wet_months:
            return "none"
        return "dries" if self.dries else "stays"


def saturation_pa(temperature_c: np.ndarray) -> np.ndarray:
    """Saturation vapour pressure in Pa (EN ISO 13788, annex E)."""
    t = np.asarray(temperature_c, float)
    over_water, over_ice = 610.5 * np.exp(17.269 * t / (237.3 + t)), 610.5 * np.exp(21.875 * t / (265.5 + t))
    return np.where(t >= 0.0, over_water, over_ice)


def _divided(slabs: Sequence[Slab]) -> np.ndarray:
    """Resistance and air layer (L, 2) of strips, none of more than 0.25 m2 K/W."""
    strips = []
    for slab in slabs:
        count = max(1, int(np.ceil(slab.resistance_m2k_w / THICKEST_M2K_W - 1e-9)))
        strips += [(slab.resistance_m2k_w / count, max(slab.air_m, 1e-4) / count)] * count
    return np.array(strips)


def _profile(air_m: np.ndarray, limit_pa: np.ndarray, wet: np.ndarray) -> np.ndarray:
    """Vapour pressure (P,) between the ends of `limit_pa`: the tightest string under saturation, and at saturation where
    water lies. Where it bends, vapour condenses or water dries."""
    fixed = [0, *np.flatnonzero(wet).tolist(), len(air_m) - 1]
    corners = [0]
    for start, end in itertools.pairwise(fixed):
        hull = [start]
        for point in range(start + 1, end + 1):
            while len(hull) > 1 and _turns_down(air_m, limit_pa, hull[-2], hull[-1], point):
                hull.pop()
            hull.append(point)
        corners += hull[1:]
    return np.interp(air_m, air_m[corners], limit_pa[corners])


def _turns_down(x: np.ndarray, y: np.ndarray, a: int, b: int, c: int) -> bool:
    return bool((y[b] - y[a]) * (x[c] - x[b]) >= (y[c] - y[b]) * (x[b] - x[a]))


def yearly_damp(
    slabs: Sequence[Slab], climate: Climate, *, inside_m2k_w: float, outside_m2k_w: float, indoors: str = "normal"
) -> Damp:
    """Balance of twelve months for plane layers, given from the outside in."""
    one_of("indoors", indoors, INDOOR_EXCESS_PA)
    strips = _divided(slabs)
    resistance = np.concatenate([[outside_m2k_w], outside_m2k_w + np.cumsum(strips[:, 0])])
    air_m = np.concatenate([[0.0], np.cumsum(strips[:, 1])])
    outdoors = np.array(climate.temperature_c)[:, None]
    part = resistance / (resistance[-1] + inside_m2k_w)
    limit = saturation_pa(outdoors + (INSIDE_C - outdoors) * part)
    outside_pa = np.array(climate.humidity_percent) / 100.0 * saturation_pa(outdoors[:, 0])
    excess = INDOOR_EXCESS_PA[indoors] * SAFETY * np.clip(1.0 - outdoors[:, 0] / 20.0, 0.0, 1.0)
    limit[:, 0], limit[:, -1] = outside_pa, np.minimum(outside_pa + excess, limit[:, -1])
    water = np.zeros(len(air_m))
    held: list[float] = []
    start = _first_wet(air_m, limit)
    if start is None:
        return Damp(held_g_m2=(0.0,) * 12, most_g_m2=0.0, wet_months=(), dries=True)
    order = [(start + i) % 12 for i in range(12)]
    for month in order:
        water = _after_month(air_m, limit[month], water, _SECONDS[month])
        held.append(float(water.sum()) * 1000.0)
    by_month = [0.0] * 12
    for month, grams in zip(order, held, strict=True):
        by_month[month] = grams
    wet = tuple(name for name, grams in zip(MONTHS, by_month, strict=True) if grams > 0.5)
    return Damp(held_g_m2=tuple(by_month), most_g_m2=max(held), wet_months=wet, dries=held[-1] <= 0.5)


def _first_wet(air_m: np.ndarray, limit: np.ndarray) -> int | None:
    """The first month with condensation that follows one without; the year is reckoned from there (6.4)."""
    dry = np.zeros(len(air_m), bool)
    wets = [bool(np.any(_gained(air_m, _profile(air_m, row, dry)) > 0.0)) for row in limit]
    if not any(wets):
        return None
    return next((m for m in range(12) if wets[m] and not wets[m - 1]), 9)


def _gained(air_m: np.ndarray, pressure: np.ndarray) -> np.ndarray:
    """Water that gathers at each interface in kg/(m2 s); negative where it dries."""
    flow = DIFFUSION_KG_M_S_PA * np.diff(pressure) / np.diff(air_m)
    gained = np.zeros(len(air_m))
    gained[1:-1] = flow[1:] - flow[:-1]
    return np.where(np.abs(gained) < LEAST_KG_M2_S, 0.0, gained)


def _after_month(air_m: np.ndarray, limit: np.ndarray, water: np.ndarray, seconds: float) -> np.ndarray:
    """Water (P,) in kg/m2 after a month. Where an interface dries out in it, the rest goes on without it (6.4)."""
    left = seconds
    for _ in range(4 * len(air_m)):
        rate = _gained(air_m, _profile(air_m, limit, water > 0.0))
        drying = (rate < 0.0) & (water > 0.0)
        times = np.where(drying, water / np.maximum(-rate, 1e-30), np.inf)
        step = min(left, float(times.min()))
        water = np.where(times <= step, 0.0, np.maximum(water + rate * step, 0.0))
        left -= step
        if left <= 0.0:
            break
    return water
