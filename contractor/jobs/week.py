"""A week of the household's diary, as a drawing, as hours by day and kind, and in a few words."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from contractor.jobs.models import DiaryEntry, NoiseHeard

LETTERS = {
    NoiseHeard.Kind.SPEECH: "T",
    NoiseHeard.Kind.TELEVISION: "TV",
    NoiseHeard.Kind.MUSIC: "M",
    NoiseHeard.Kind.INSTRUMENT: "I",
    NoiseHeard.Kind.FOOTSTEPS: "F",
    NoiseHeard.Kind.FURNITURE: "D",
    NoiseHeard.Kind.PIPES: "P",
    NoiseHeard.Kind.APPLIANCE: "H",
    NoiseHeard.Kind.DOG: "B",
    NoiseHeard.Kind.TRAFFIC: "R",
    NoiseHeard.Kind.OTHER: "X",
}
DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
# The drawing's own units: a day is 100 wide, an hour 16 high.
DAY, HOUR, LEFT, TOP = 100, 16, 44, 34
NIGHT = [(0, 7), (23, 24)]  # hours of the night, as in the Night Noise Guidelines for Europe: 23:00 to 07:00


@dataclass(frozen=True, kw_only=True)
class Block:
    x: int
    y: int
    width: int
    height: int
    letter: str
    weight: int
    text: str

    @property
    def middle(self) -> tuple[int, int]:
        return self.x + self.width // 2, self.y + self.height // 2


@dataclass(frozen=True, kw_only=True)
class Week:
    first: date
    days: list[tuple[date, int]]
    blocks: list[Block]
    nights: list[tuple[int, int]]
    hours: list[tuple[int, str]]
    width: int
    height: int
    text: str

    @property
    def last(self) -> date:
        return self.first + timedelta(days=6)


def monday_of(day: date) -> date:
    return day - timedelta(days=day.weekday())


def week_of(entries: Sequence[DiaryEntry], first: date) -> Week:
    """The seven days from `first`. What goes on past midnight goes on in the next day's column."""
    pieces: dict[int, list[tuple[float, float, DiaryEntry]]] = defaultdict(list)
    for entry in entries:
        for place, start, end in _by_day(entry, first):
            pieces[place].append((start, end, entry))
    blocks = [block for place, parts in pieces.items() for block in _side_by_side(place, parts)]
    return Week(
        first=first,
        days=[(first + timedelta(days=n), LEFT + DAY * n) for n in range(7)],
        blocks=blocks,
        nights=[(TOP + HOUR * a, HOUR * (b - a)) for a, b in NIGHT],
        hours=[(TOP + HOUR * hour, f"{hour:02}:00") for hour in range(0, 25, 6)],
        width=LEFT + DAY * 7 + 4,
        height=TOP + HOUR * 24 + 10,
        text=f"What was heard from {first.day} {first:%b} on: "
        + ("; ".join(sorted({block.text for block in blocks})) or "nothing written down")
        + ".",
    )


def _by_day(entry: DiaryEntry, first: date) -> list[tuple[int, float, float]]:
    """The entry's parts as (day of the week shown, from, to) in hours; those outside it are left out."""
    begin = datetime.combine(entry.heard_on, entry.starts_at)
    left, parts = entry.minutes / 60, []
    while left > 0:
        start = begin.hour + begin.minute / 60
        here = min(left, 24 - start)
        place = (begin.date() - first).days
        if 0 <= place < 7:
            parts.append((place, start, start + here))
        left -= here
        begin = datetime.combine(begin.date() + timedelta(days=1), datetime.min.time())
    return parts


def _side_by_side(place: int, parts: list[tuple[float, float, DiaryEntry]]) -> list[Block]:
    """Blocks of one day; what sounds at the same time stands side by side."""
    ends: list[float] = []
    lanes = []
    for start, end, entry in sorted(parts, key=lambda part: (part[0], part[1])):
        lane = next((n for n, until in enumerate(ends) if until <= start), len(ends))
        ends[lane : lane + 1] = [max(end, start + 1)]  # a block has the height of an hour at least, for its letter
        lanes.append((lane, start, end, entry))
    width = (DAY - 8) // max(len(ends), 1)
    return [
        Block(
            x=LEFT + DAY * place + 4 + width * lane,
            y=round(TOP + HOUR * min(start, 23)),
            width=width - 2,
            height=max(HOUR, round(HOUR * (end - start))),
            letter=LETTERS[entry.kind],
            weight=entry.loudness,
            text=f"{entry.get_kind_display()} {entry.heard_on:%a} {entry.starts_at:%H:%M}",
        )
        for lane, start, end, entry in lanes
    ]


def hours_by_kind(entries: Sequence[DiaryEntry], first: date) -> list[dict]:
    """For each kind heard in the week: its letter, the hours of each of the seven days, and of all."""
    hours: dict[str, list[float]] = defaultdict(lambda: [0.0] * 7)
    for entry in entries:
        for place, start, end in _by_day(entry, first):
            hours[entry.kind][place] += end - start
    return [
        {
            "kind": kind,
            "label": NoiseHeard.Kind(kind).label,
            "letter": LETTERS[kind],
            "days": [{"name": name, "hours": round(value, 2)} for name, value in zip(DAYS, hours[kind], strict=True)],
            "sum": round(sum(hours[kind]), 2),
        }
        for kind in NoiseHeard.Kind.values
        if kind in hours
    ]


def told_times(entries: Sequence[DiaryEntry]) -> str:
    """Such as "Fri, Sat, between 21:00 and 00:30 (diary: 5 times, 20 Nov to 27 Nov)"."""
    days = sorted({entry.heard_on for entry in entries})
    counted = Counter(day.weekday() for day in (entry.heard_on for entry in entries))
    which = "every day" if len(counted) == 7 else ", ".join(DAYS[n] for n in sorted(counted))
    begin = _evening_start(entries)
    ends = [_minute(entry) + entry.minutes for entry in entries]
    end = begin + max((end - begin) % 1440 or 1440 for end in ends)
    span = f"{days[0].day} {days[0]:%b}" + (f" to {days[-1].day} {days[-1]:%b}" if len(days) > 1 else "")
    times = "once" if len(entries) == 1 else f"{len(entries)} times"
    return f"{which}, between {_clock(begin)} and {_clock(end)} (diary: {times}, {span})"[:120]


def _minute(entry: DiaryEntry) -> int:
    return entry.starts_at.hour * 60 + entry.starts_at.minute


def _evening_start(entries: Sequence[DiaryEntry]) -> int:
    """The minute of the day with which the noisy hours begin: the first start after the longest quiet."""
    starts = sorted({_minute(entry) for entry in entries})
    return max(
        starts, key=lambda start: min((start - other) % 1440 for other in starts if other != start or len(starts) == 1)
    )


def _clock(minute: int) -> str:
    return f"{minute % 1440 // 60:02}:{minute % 60:02}"
