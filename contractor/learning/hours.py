"""Hours and material that an accepted quote counted against what the job took, by build-up. Pure.

Time is kept by job and task, not by build-up: where a job has several, its hours are shared out as the quote shared
them, and the page says so.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from statistics import stdev

from contractor.learning.differences import FEWEST
from contractor.site.models import TimeEntry

# What the hours of a build-up count; finishing, carrying and the rest are quoted by the job.
BUILDING = {TimeEntry.Task.PREPARE, TimeEntry.Task.FRAME, TimeEntry.Task.BOARD}


@dataclass(frozen=True, kw_only=True)
class JobHours:
    """One finished job: hours quoted by build-up, hours used on building, and hours of other tasks."""

    number: int
    title: str
    quoted: Mapping[str, Decimal]
    used: Decimal
    other: Decimal

    @property
    def quoted_sum(self) -> Decimal:
        return sum(self.quoted.values(), Decimal(0))

    @property
    def used_by_build_up(self) -> dict[str, Decimal]:
        whole = self.quoted_sum
        return {name: self.used * hours / whole for name, hours in self.quoted.items()} if whole else {}


@dataclass(kw_only=True)
class BuildUpHours:
    name: str
    job_count: int = 0
    quoted: Decimal = Decimal(0)
    used: Decimal = Decimal(0)
    ratios: list[float] = field(default_factory=list)

    @property
    def ratio(self) -> Decimal | None:
        """Used for each hour quoted; None of too few jobs."""
        return self.used / self.quoted if self.job_count >= FEWEST and self.quoted else None

    @property
    def spread(self) -> float | None:
        """Standard deviation over jobs of used of quoted; None of too few."""
        return stdev(self.ratios) if self.job_count >= FEWEST else None


def quoted_hours(faces: Iterable[Mapping]) -> dict[str, Decimal]:
    """Hours of building and of preparing what is built on, by build-up, of an accepted take-off's faces."""
    hours: dict[str, Decimal] = {}
    for face in faces:
        if not face["problem"]:
            of_face = Decimal(face["labour_hours"] or 0) + Decimal(face.get("preparation_hours") or 0)
            hours[face["build_up"]] = hours.get(face["build_up"], Decimal(0)) + of_face
    return {name: value for name, value in hours.items() if value}


def by_build_up(jobs: Iterable[JobHours]) -> list[BuildUpHours]:
    found: dict[str, BuildUpHours] = {}
    for job in jobs:
        for name, used in job.used_by_build_up.items():
            row = found.setdefault(name, BuildUpHours(name=name))
            row.job_count += 1
            row.quoted += job.quoted[name]
            row.used += used
            row.ratios.append(float(used / job.quoted[name]))
    return sorted(found.values(), key=lambda row: (-row.job_count, row.name))


@dataclass(kw_only=True)
class Pieces:
    """Board pieces of a build-up: planned in the cut list, ticked as cut, and made again."""

    name: str
    jobs: set[int] = field(default_factory=set)
    planned: int = 0
    cut: int = 0
    again: int = 0

    @property
    def job_count(self) -> int:
        return len(self.jobs)

    @property
    def part_again(self) -> float | None:
        """Of those cut; None of too few jobs."""
        return self.again / self.cut if self.job_count >= FEWEST and self.cut else None


def pieces_by_build_up(packs: Iterable[tuple[int, Mapping, set[str]]]) -> list[Pieces]:
    """`packs` are (job, document, keys ticked). A pack that nobody has ticked a piece of says nothing."""
    found: dict[str, Pieces] = {}
    for job_id, document, ticked in packs:
        if not any(key.startswith("cut:") for key in ticked):
            continue
        for face in document["faces"]:
            keys = [piece["key"] for layer in face["layers"] for piece in layer["pieces"]]
            if not keys:
                continue
            row = found.setdefault(face["build_up"], Pieces(name=face["build_up"]))
            row.jobs.add(job_id)
            row.planned += len(keys)
            row.cut += sum(key in ticked for key in keys)
            row.again += sum(f"again:{key.partition(':')[2]}" in ticked for key in keys)
    return sorted(found.values(), key=lambda row: (-row.job_count, row.name))
