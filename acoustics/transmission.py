"""Transmission factors of build-ups of one topology at once: (N build-ups, F sampled frequencies)."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from .angles import Angles, Space, angle_ranges
from .bands import AIR_DENSITY_KG_M3, AIR_IMPEDANCE_PA_S_M, SOUND_SPEED_M_S
from .bridges import Tie, bridge_factor, tie_of
from .constants import Constants
from .fluid import Fluid, gap_fluids
from .grid import Grid
from .inputs import Element
from .leaf import critical_frequency_hz, leaf_plates, radiation_of_free_waves


@dataclass(frozen=True)
class Plates:
    """One leaf position over the batch: mass (N, 1) and complex stiffness (N, F)."""

    mass: np.ndarray
    stiffness: np.ndarray
    masonry: bool


@dataclass(frozen=True)
class Cavity:
    """One gap position over the batch: fluids as (density, wavenumber squared (N, F), depth (N, 1))."""

    depth: np.ndarray
    filled: np.ndarray
    space: Space
    tie: Tie | None


def _column(values: Sequence[float]) -> np.ndarray:
    return np.array(values, float)[:, None]


def _distinct(parts: Sequence) -> tuple[list, np.ndarray]:
    """The distinct parts and where each part stands among them: sweeps share their leaves and gaps.

    Identity decides, which is faster than values; equal parts that are not the same object are only worked out twice.
    """
    place: dict[int, int] = {}
    found = []
    for part in parts:
        if id(part) not in place:
            place[id(part)] = len(found)
            found.append(part)
    return found, np.array([place[id(part)] for part in parts])


def _at(fluid: Fluid, index: np.ndarray) -> Fluid:
    """A fluid of distinct gaps over the batch; a row that serves all stays one."""
    density, wave2, depth = (rows if len(rows) == 1 else rows[index] for rows in fluid)
    return density, wave2, depth


def _plates(elements: Sequence[Element], i: int, grid: Grid, constants: Constants) -> Plates:
    leaves, index = _distinct([e.leaves[i] for e in elements])
    mass, stiffness = leaf_plates(leaves, grid, constants)
    if len(leaves) < len(index):
        mass, stiffness = mass[index], stiffness[index]
    return Plates(mass, stiffness, leaves[0].is_masonry)


def _cavity(elements: Sequence[Element], i: int, grid: Grid, constants: Constants) -> Cavity:
    found: dict[tuple, Element] = {}
    keys = [(id(e.gaps[i]), e.size_m, e.porous_parts[i]) for e in elements]
    for key, element in zip(keys, elements, strict=True):
        found.setdefault(key, element)
    places = {key: n for n, key in enumerate(found)}
    index = np.array([places[key] for key in keys])
    gaps = [e.gaps[i] for e in found.values()]
    if len(gaps) == 1:
        index = index[:1]  # one row serves all
    _, sizes, porous = zip(*found, strict=True)
    fluids = [_at(fluid, index) for fluid in gap_fluids(gaps, sizes, porous, grid, constants)]
    depth = _column([g.depth_mm / 1000.0 for g in gaps])[index]
    filled = _column([min(g.fill.thickness_mm / g.depth_mm, 1.0) if g.fill else 0.0 for g in gaps])[index]
    heavy = elements[0].leaves[i].is_masonry and elements[0].leaves[i + 1].is_masonry
    tie = tie_of(gaps[0].connection, constants, masonry=heavy)
    lateral = constants.lateral_hz if gaps[0].fill else 0.0
    return Cavity(depth, filled, Space(fluids, lateral, tie.spring_pa_m if tie else 0.0), tie)


class Batch:
    """The arrays of a batch and the factors that several terms of the model share."""

    def __init__(self, elements: Sequence[Element], grid: Grid, constants: Constants) -> None:
        self.grid, self.constants = grid, constants
        self.frequency = grid.frequency_hz[None, :]
        self.omega = 2.0 * np.pi * self.frequency
        self.wavenumber = self.omega / SOUND_SPEED_M_S
        self.leaves = [_plates(elements, i, grid, constants) for i in range(len(elements[0].leaves))]
        self.cavities = [_cavity(elements, i, grid, constants) for i in range(len(elements[0].gaps))]
        # Sizes are mostly alike; then one row serves all.
        sizes = [e.size_m for e in elements]
        sizes = sizes[:1] if all(x == sizes[0] for x in sizes) else sizes
        self.length, self.height = _column([x[0] for x in sizes]), _column([x[1] for x in sizes])
        self.strips = self._strips()
        springs: np.ndarray | float = 0.0
        if self.cavities:
            springs = AIR_DENSITY_KG_M3 * SOUND_SPEED_M_S**2 / self.cavities[0].depth
        plates = [(p.mass, p.stiffness) for p in self.leaves[:2]]
        ringing = [self._ringing(j) for j, part in enumerate(elements[0].porous_parts) if part < 1.0]
        plain = 0 if ringing else elements[0].plain_octaves
        for j, cavity in enumerate(self.cavities):
            if cavity.space.spring_pa_m:
                ringing += [self._apart(j, i) for i in (j, j + 1)]
                grid = self.grid.sharper
        self.ranges = angle_ranges(grid, plain, plates, springs, ringing, (self.length, self.height))

    def _ringing(self, j: int) -> tuple[np.ndarray, np.ndarray]:
        """Peak in sin2 (N, F) and its width where leaves ring on the air between hard faces (London 1950)."""
        first, second, cavity = self.leaves[j], self.leaves[j + 1], self.cavities[j]
        masses = 1.0 / first.mass + 1.0 / second.mass
        square = AIR_DENSITY_KG_M3 * SOUND_SPEED_M_S**2 / cavity.depth * masses / self.omega**2
        _, wave2, _ = cavity.space.fluids[0]
        width = -wave2.imag / wave2.real + AIR_IMPEDANCE_PA_S_M / self.omega * masses + np.maximum(square - 1.0, 0.0)
        return np.maximum(1.0 - square, 0.0) + 0.0 * width, width

    def _apart(self, j: int, i: int) -> tuple[np.ndarray, np.ndarray]:
        """Peak in sin2 (N, F) and its width where leaf i swings against its neighbour on the ties of cavity j.

        Together they swing at coincidence; against each other the ties take a part of the mass.
        """
        plates, masses = self.leaves[i], 1.0 / self.leaves[j].mass + 1.0 / self.leaves[j + 1].mass
        left = np.maximum(1.0 - self.cavities[j].space.spring_pa_m * masses / self.omega**2, 0.0)
        centre = critical_frequency_hz(plates.mass, plates.stiffness.real) / self.frequency * np.sqrt(left)
        loss = plates.stiffness.imag / plates.stiffness.real + AIR_IMPEDANCE_PA_S_M / (self.omega * plates.mass)
        return np.minimum(centre, 1.0), centre * loss / 2.0 + np.maximum(centre - 1.0, 0.0)

    def _strips(self) -> list[np.ndarray | None]:
        """Angular resonance (N, F) of the board strips between rigid supports, per leaf."""
        strips: list[np.ndarray | None] = [None] * len(self.leaves)
        for j, cavity in enumerate(self.cavities):
            if cavity.tie is None:
                continue
            for i, factor, spacing in zip((j, j + 1), cavity.tie.strip, cavity.tie.strip_spacing_m, strict=True):
                plates = self.leaves[i]
                if factor and not plates.masonry:
                    own = factor * np.pi**2 / spacing**2 * np.sqrt(np.abs(plates.stiffness) / plates.mass)
                    strips[i] = own if strips[i] is None else np.maximum(strips[i], own)
        return strips

    def over_ranges(self, integral: Callable[[Angles], np.ndarray]) -> np.ndarray:
        """An integral over the angle, range by range of the frequencies: (N, F)."""
        return np.concatenate([integral(angles) for angles in self.ranges], axis=-1)

    def impedance(self, angles: Angles, i: int) -> np.ndarray:
        return angles.impedance(
            self.leaves[i].mass, self.leaves[i].stiffness, self.strips[i], self.constants.strip_loss
        )


def _free_waves(batch: Batch, i: int) -> np.ndarray:
    """Factor (N, F) of free bending waves of leaf i alone below its critical frequency (ISO 12354-1, annex B)."""
    plates, f = batch.leaves[i], batch.frequency
    fc = critical_frequency_hz(plates.mass, plates.stiffness.real)
    loss = plates.stiffness.imag / plates.stiffness.real
    sigma = radiation_of_free_waves(f, fc, batch.length, batch.height)
    shape = (batch.length + batch.height) ** 2 / (batch.length**2 + batch.height**2)
    factor = (2.0 * AIR_IMPEDANCE_PA_S_M / (batch.omega * plates.mass)) ** 2 * shape * np.sqrt(fc / f) * sigma**2 / loss
    return factor / (1.0 + (f / (0.7 * fc)) ** 12)  # nearer to coincidence the forced waves already hold them


def _double(batch: Batch) -> np.ndarray:
    """Airborne factor (N, F) of leaves and cavities."""
    return batch.over_ranges(lambda angles: _airborne(batch, angles))


def _airborne(batch: Batch, angles: Angles) -> np.ndarray:
    impedances = [batch.impedance(angles, i) for i in range(len(batch.leaves))]
    factor = angles.through(impedances, [cavity.space for cavity in batch.cavities])
    held = [strip[:, angles.span] for strip in batch.strips if strip is not None]
    if held:
        # Below the resonance of strips and cavity the wall moves as one, and no stiffer than its mass.
        strip2 = sum(strip**2 for strip in held) / len(held)
        first, second, cavity = batch.leaves[0], batch.leaves[1], batch.cavities[0]
        spring2 = AIR_DENSITY_KG_M3 * SOUND_SPEED_M_S**2 / cavity.depth * (1.0 / first.mass + 1.0 / second.mass)
        below = 1.0 / (1.0 + (angles.omega**2 / (strip2 + spring2)) ** 6)
        if below.max() > 1e-6:
            limp = angles.limp(sum(plates.mass for plates in batch.leaves))
            factor = factor + below * np.maximum(limp - factor, 0.0)
    for i, plates in enumerate(batch.leaves):
        if plates.masonry:
            # What free waves add to a wall by itself they add to the lined wall too.
            factor = factor * (1.0 + _free_waves(batch, i)[:, angles.span] / angles.single(impedances[i]))
    if len(batch.leaves) == 2:
        factor = factor + _reverberant(batch, angles, impedances)
    return factor


def _reverberant(batch: Batch, angles: Angles, impedances: list[np.ndarray]) -> np.ndarray:
    """Factor (N, F) of a reverberant field in the cavity, which carries sound at coincidence."""
    constants, cavity = batch.constants, batch.cavities[0]
    absorption = constants.empty_absorption + (1.0 - constants.empty_absorption) * np.sqrt(cavity.filled)
    knee = SOUND_SPEED_M_S / (2.0 * np.pi * cavity.depth)
    weight = 10.0 ** (-constants.reverberant_db / 10.0) / (1.0 + (knee / batch.frequency[:, angles.span]) ** 4)
    return angles.single(impedances[0]) * angles.single(impedances[1]) / absorption * weight


def _bridged(batch: Batch, factor: np.ndarray) -> np.ndarray:
    """Add what the connections carry to the airborne factor (N, F)."""
    tied = [j for j, cavity in enumerate(batch.cavities) if cavity.tie is not None and not cavity.tie.spring_pa_m]
    if not tied:
        return factor
    if len(batch.leaves) == 2:
        return factor + _bridge(batch, 0)
    if len(batch.leaves) == 3:
        return _lined_frame(batch, factor, base=tied[0])
    for j in tied:
        # Where two leaves move as one, by their spring or as a limp sheet of both, a tie between them adds nothing.
        mass = batch.leaves[j].mass + batch.leaves[j + 1].mass
        limp = batch.over_ranges(lambda a, m=mass: a.limp(m))
        factor = factor * (1.0 + _bridge(batch, j) / np.maximum(_pair(batch, j), limp))
    return factor


def _bridge(batch: Batch, j: int) -> np.ndarray:
    first, second = ((p.mass, p.stiffness) for p in batch.leaves[j : j + 2])
    cavity, size = batch.cavities[j], (batch.length, batch.height)
    return bridge_factor(cavity.tie, first, second, cavity.depth, batch.frequency, batch.constants, size)


def _lined_frame(batch: Batch, airborne: np.ndarray, *, base: int) -> np.ndarray:
    """Factor (N, F) of a framed pair of leaves with a third before or behind it.

    The frame makes the pair act on the second cavity as one body, so the third leaf is reckoned as a lining on a limp
    base of the pair's whole mass: the pair's own factor, times what the lining makes of that base, and never less than
    the airborne factor of all three. The rule is ours, by analogy with linings on a heavy base (ISO 12354-1), and on
    the cautious side; no published triple construction was found to try it on.
    """
    other = 1 - base
    third, near = (2, 1) if base == 0 else (0, 1)
    mass = batch.leaves[base].mass + batch.leaves[base + 1].mass
    cavity = batch.cavities[other]

    def body(angles: Angles) -> np.ndarray:
        return angles.impedance(mass, 0.0 * batch.leaves[near].stiffness)

    bare = batch.over_ranges(lambda a: a.through([body(a)], []))
    lined = batch.over_ranges(lambda a: a.through([body(a), batch.impedance(a, third)], [cavity.space]))
    if cavity.tie is not None and not cavity.tie.spring_pa_m:
        lined = lined + _bridge(batch, other) * bare / batch.over_ranges(
            lambda a: a.through([batch.impedance(a, near)], [])
        )
    framed = _pair(batch, base) + _bridge(batch, base)
    return np.maximum(airborne, framed * lined / bare)


def _pair(batch: Batch, j: int) -> np.ndarray:
    """Airborne factor (N, F) of two neighbouring leaves by themselves."""
    spaces = [batch.cavities[j].space]
    return batch.over_ranges(lambda a: a.through([batch.impedance(a, j), batch.impedance(a, j + 1)], spaces))


def _surround(batch: Batch) -> np.ndarray:
    """Factor (1, F) of what no laboratory or building keeps out: surrounds, edges and leaks."""
    c = batch.constants
    ceiling = np.minimum(c.ceiling_db + c.ceiling_slope_db * np.log10(batch.frequency / 100.0), c.ceiling_cap_db)
    return 10.0 ** (-ceiling / 10.0)


def batch_reduction_db(elements: Sequence[Element], grid: Grid, constants: Constants) -> np.ndarray:
    """Sound reduction index (N, 21) in dB of elements of one topology, before any anchoring of masonry."""
    batch = Batch(elements, grid, constants)
    if len(batch.leaves) == 1:
        factor = batch.over_ranges(lambda a: a.through([batch.impedance(a, 0)], [])) + _free_waves(batch, 0)
        if batch.leaves[0].masonry:
            factor = factor + 10.0 ** (-constants.masonry_leak_db / 10.0)
    else:
        factor = _bridged(batch, _double(batch))
    whole = np.minimum(factor + _surround(batch), 1.0)  # a wall never gives more than an open window
    return -10.0 * np.log10(grid.band_mean(whole))


def mass_law_weighted_db(mass_kg_m2: float, constants: Constants) -> float:
    """Weighted reduction of a heavy wall by mass alone in dB (form of the UK mass law, ISO 12354-1 annex B)."""
    return constants.mass_law_db + constants.mass_law_slope * float(np.log10(max(mass_kg_m2, 50.0) / 200.0))
