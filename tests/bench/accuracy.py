"""How far the model is from published measurements, and the fit of its shared constants.

    python -m tests.bench.accuracy               residuals with the constants in use
    python -m tests.bench.accuracy --leave-out   the same, each source predicted from a fit to the others
    python -m tests.bench.accuracy --fit         fit all constants anew and print their table (half a minute)
    python -m tests.bench.accuracy --plot FILE   residuals by class and octave as an SVG picture (with either of the above)
    python -m tests.bench.accuracy --cases       every case by itself

The measured constructions are in tests/reference/measured_constructions.json, each with its source.
"""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from acoustics import parse, rate_airborne
from acoustics.bands import octaves_from_thirds_db
from acoustics.buildup import reductions_db
from acoustics.constants import FITTED, PRIORS, Constants
from acoustics.grid import FINE, Grid
from acoustics.ratings import AIRBORNE_REFERENCE_OCTAVE_DB, largest_shift_tenths, stc_db
from acoustics.uncertainty import construction_class, family
from tests.bench.fitting import Case, fit, rounded, scaled, table

DATA = Path(__file__).parents[1] / "reference" / "measured_constructions.json"
OCTAVES = ("63", "125", "250", "500", "1000", "2000", "4000")


def cases() -> list[Case]:
    """All measured constructions as the front door would read them."""
    found = []
    for entry in json.loads(DATA.read_text()):
        element = parse.build_up(entry["element"])
        measured = entry["measured"]
        octaves = np.array([measured.get("octaves_db", {}).get(f, np.nan) for f in OCTAVES], float)
        found.append(
            Case(
                entry["id"],
                entry["words"],
                entry["source"],
                construction_class(element),
                element,
                octaves,
                measured.get("stc_db"),
            )
        )
    return found


def octave_weighted_db(octaves_db: np.ndarray) -> np.ndarray:
    """Weighted reduction from octaves 125 to 2000 Hz in steps of 0.1 dB (ISO 717-1)."""
    tenths = np.floor(octaves_db * 10.0 + 0.5)
    return 52.0 + np.floor(largest_shift_tenths(tenths - 10 * AIRBORNE_REFERENCE_OCTAVE_DB, 100.0)) / 10.0


@dataclass(frozen=True)
class Residuals:
    """Predicted less measured in dB: single numbers (N,) and octaves (N, 7) with NaN where nothing was printed."""

    single_db: np.ndarray
    octaves_db: np.ndarray


def residuals(chosen: list[Case], constants: Constants, grid: Grid = FINE, *, whole: bool = True) -> Residuals:
    """Residuals of chosen cases; `whole` False compares single numbers in steps of 0.1 dB, for the fit."""
    reductions = reductions_db([c.element for c in chosen], grid=grid, constants=constants)
    octaves = octaves_from_thirds_db(reductions)
    single = np.empty(len(chosen))
    classes = stc_db(reductions, whole=whole)
    for i, case in enumerate(chosen):
        if case.by_octaves:
            predicted = octave_weighted_db(octaves[i, 1:6])
            predicted = np.floor(predicted) if whole else predicted
            single[i] = predicted - rate_airborne(case.octaves_db[1:6].tolist()).weighted_db
        else:
            assert case.stc_db is not None
            single[i] = classes[i] - case.stc_db
    return Residuals(single, octaves - np.stack([c.octaves_db for c in chosen]))


def leave_one_source_out(every: list[Case]) -> Residuals:
    """Each source predicted with constants fitted to all the others; the start is the whole fit's prior, not its result."""
    single, octaves = np.empty(len(every)), np.empty((len(every), 7))
    for source in sorted({c.source for c in every}):  # seven sources, the smallest of four rows
        held = [i for i, c in enumerate(every) if c.source == source]
        constants = rounded(scaled(fit([c for c in every if c.source != source])))
        found = residuals([every[i] for i in held], constants)
        single[held], octaves[held] = found.single_db, found.octaves_db
        print(
            f"  left out {source[:60]:60s} n={len(held):3d} mean {found.single_db.mean():+.1f} rms {_rms(found.single_db):.1f}",
            file=sys.stderr,
        )
    return Residuals(single, octaves)


def _rms(values: np.ndarray) -> float:
    values = values[np.isfinite(values)]
    return float(np.sqrt(np.mean(values**2))) if len(values) else float("nan")


def report(every: list[Case], found: Residuals) -> None:
    """Print mean, standard deviation and largest error overall, by class, and by octave."""
    single = found.single_db
    print(
        f"all {len(every):3d} cases: mean {single.mean():+.2f} dB, standard deviation {single.std():.2f} dB, largest {np.abs(single).max():.0f} dB, octaves rms {_rms(found.octaves_db):.1f} dB"
    )
    print(f"{'class':14s} {'n':>3s} {'mean':>6s} {'rms':>5s} {'worst':>6s}   rms by octave {' '.join(OCTAVES)}")
    for kind in sorted({c.kind for c in every}):
        chosen = [i for i, c in enumerate(every) if c.kind == kind]
        by_octave = " ".join(f"{_rms(found.octaves_db[chosen, k]):5.1f}" for k in range(7))
        part = single[chosen]
        print(
            f"{kind:14s} {len(chosen):3d} {part.mean():+6.2f} {_rms(part):5.2f} {part[np.abs(part).argmax()]:+6.0f}   {by_octave}"
        )
    print(
        "octaves, all: mean",
        " ".join(f"{np.nanmean(found.octaves_db[:, k]):+5.1f}" for k in range(7)),
        " rms",
        " ".join(f"{_rms(found.octaves_db[:, k]):5.1f}" for k in range(7)),
    )

    print("octaves by family, drawn to all by four cases")
    whole = np.array([_rms(found.octaves_db[:, k]) for k in range(7)])
    for name in sorted({family(c.kind) for c in every}):
        part = found.octaves_db[[i for i, c in enumerate(every) if family(c.kind) == name]]
        count = np.isfinite(part).sum(axis=0)
        drawn = np.sqrt((np.nansum(part**2, axis=0) + 4.0 * whole**2) / (count + 4.0))
        print(f"{name:14s} {' '.join(f'{v:5.1f}' for v in drawn)}")


def list_cases(every: list[Case], found: Residuals) -> None:
    for case, error, octaves in sorted(
        zip(every, found.single_db, found.octaves_db, strict=True), key=lambda t: (t[0].kind, t[1])
    ):
        bands = " ".join("   ." if np.isnan(v) else f"{v:+4.0f}" for v in octaves)
        print(f"{case.kind:13s} {error:+5.0f}  {bands}  {case.id:24s} {case.words[:80]}")


def plot(every: list[Case], found: Residuals) -> str:
    """Residuals of the single number by class, and their mean and spread by octave, as SVG."""
    kinds = sorted({c.kind for c in every})
    width, row, left, scale = 760, 26, 150, 18.0
    middle = left + (width - left) // 2
    height = row * (len(kinds) + len(OCTAVES) + 4)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" font-family="sans-serif" font-size="12">',
        f"<title>Predicted less measured, {len(every)} constructions</title>",
    ]
    for db in range(-15, 16, 5):
        x = middle + db * scale
        parts.append(
            f'<line x1="{x}" x2="{x}" y1="{row}" y2="{height - row}" stroke="#999" stroke-width="{1.5 if db == 0 else 0.4}"/>'
        )
        parts.append(f'<text x="{x}" y="{row - 8}" text-anchor="middle">{db:+d} dB</text>')
    for i, kind in enumerate(kinds):
        y = row * (i + 1.6)
        parts.append(f'<text x="8" y="{y + 4}">{kind.replace("_", " ")}</text>')
        errors = [e for c, e in zip(every, found.single_db, strict=True) if c.kind == kind]
        for j, error in enumerate(sorted(errors)):
            parts.append(
                f'<circle cx="{middle + error * scale:.1f}" cy="{y + (j % 3 - 1) * 4:.1f}" r="3" fill="#246" fill-opacity="0.6"/>'
            )
    for i, octave in enumerate(OCTAVES):
        y = row * (len(kinds) + i + 2.6)
        errors = found.octaves_db[:, i][np.isfinite(found.octaves_db[:, i])]
        mean, spread = float(errors.mean()), float(errors.std())
        parts.append(f'<text x="8" y="{y + 4}">octave {octave} Hz</text>')
        parts.append(
            f'<line x1="{middle + (mean - spread) * scale:.1f}" x2="{middle + (mean + spread) * scale:.1f}" y1="{y}" y2="{y}" stroke="#a50" stroke-width="4"/>'
        )
        parts.append(f'<circle cx="{middle + mean * scale:.1f}" cy="{y}" r="4" fill="#a50"/>')
    return "\n".join([*parts, "</svg>", ""])


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--fit", action="store_true")
    options.add_argument("--leave-out", action="store_true")
    options.add_argument("--cases", action="store_true")
    options.add_argument("--plot", type=Path)
    given = options.parse_args()
    every = cases()
    constants = FITTED
    if given.fit:
        constants = rounded(scaled(fit(every)))
        print(table(constants))
        moved = [p.name for p in PRIORS if getattr(constants, p.name) != getattr(FITTED, p.name)]
        print(f"differs from constants.py in {', '.join(moved)}" if moved else "the same as constants.py holds")
    found = leave_one_source_out(every) if given.leave_out else residuals(every, constants)
    report(every, found)
    if given.plot:
        given.plot.write_text(plot(every, found))
    if given.cases:
        list_cases(every, found)


if __name__ == "__main__":
    main()
