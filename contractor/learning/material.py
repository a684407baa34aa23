"""Material that an accepted quote counted against what was ordered and used, by build-up. Pure.

Packs are kept by job and material, not by build-up: where several build-ups of a job share a material, its packs are
shared out as the accepted take-off shared what was needed of it, and the page says so.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from statistics import mean, stdev

from contractor.learning.differences import FEWEST


@dataclass(frozen=True, kw_only=True)
class Packs:
    """Of one material in one job: packs in the accepted quote, ordered (the van's among them), and used."""

    name: str
    unit: str
    price: Decimal
    quoted: Decimal
    ordered: Decimal
    used: Decimal


@dataclass(frozen=True, kw_only=True)
class JobMaterial:
    """A finished job: its materials by key, and the part of each that a build-up was to take."""

    number: int
    title: str
    packs: Mapping[str, Packs]
    parts: Mapping[tuple[str, str], Decimal]
    is_said: bool


def parts_of(faces: Iterable[Mapping]) -> dict[tuple[str, str], Decimal]:
    """By (build-up, material key), its part of all that the faces need of that material; parts of one material make 1."""
    needed: dict[tuple[str, str, str], Decimal] = {}
    for face in faces:
        for row in face.get("materials", []) if not face["problem"] else []:
            key = (face["build_up"], row["material_key"], row["unit"])
            needed[key] = needed.get(key, Decimal(0)) + Decimal(row["needed"])
    whole: dict[tuple[str, str], Decimal] = {}
    units: dict[str, set[str]] = {}
    for (_, material, unit), quantity in needed.items():
        whole[material, unit] = whole.get((material, unit), Decimal(0)) + quantity
        units.setdefault(material, set()).add(unit)
    parts: dict[tuple[str, str], Decimal] = {}
    for (build_up, material, unit), quantity in needed.items():
        if whole[material, unit]:
            part = quantity / whole[material, unit] / len(units[material])
            parts[build_up, material] = parts.get((build_up, material), Decimal(0)) + part
    return parts


@dataclass(kw_only=True)
class Row:
    """One material in one build-up over all jobs; `ratios` are used of quoted, one for each job."""

    build_up: str
    name: str
    unit: str
    quoted: Decimal = Decimal(0)
    ordered: Decimal = Decimal(0)
    used: Decimal = Decimal(0)
    quoted_money: Decimal = Decimal(0)
    used_money: Decimal = Decimal(0)
    ratios: list[float] = field(default_factory=list)

    @property
    def job_count(self) -> int:
        return len(self.ratios)

    @property
    def difference(self) -> Decimal:
        return round(self.used - self.quoted, 1)

    @property
    def ratio(self) -> float | None:
        """Used of quoted, the mean over jobs; None of too few."""
        return mean(self.ratios) if self.job_count >= FEWEST else None

    @property
    def spread(self) -> float | None:
        """Standard deviation over jobs of used of quoted; None of too few."""
        return stdev(self.ratios) if self.job_count >= FEWEST else None


def by_build_up(jobs: Iterable[JobMaterial]) -> list[tuple[str, list[Row]]]:
    """Each build-up with its materials, in order of name."""
    rows: dict[tuple[str, str], Row] = {}
    for job in jobs:
        for (build_up, key), part in job.parts.items():
            packs = job.packs.get(key)
            if packs is None or not packs.quoted:
                continue
            row = rows.setdefault((build_up, key), Row(build_up=build_up, name=packs.name, unit=packs.unit))
            row.quoted += part * packs.quoted
            row.ordered += part * packs.ordered
            row.used += part * packs.used
            row.quoted_money += part * packs.quoted * packs.price
            row.used_money += part * packs.used * packs.price
            row.ratios.append(float(packs.used / packs.quoted))
    groups: dict[str, list[Row]] = {}
    for row in rows.values():
        groups.setdefault(row.build_up, []).append(row)
    return [(name, sorted(found, key=lambda row: row.name)) for name, found in sorted(groups.items())]


def money_of(rows: Sequence[Row]) -> tuple[Decimal, Decimal]:
    """Quoted and used, at the prices of the quotes."""
    return sum((r.quoted_money for r in rows), Decimal(0)), sum((r.used_money for r in rows), Decimal(0))
