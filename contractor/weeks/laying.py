"""From hours of work to days in the diary: what is done on which, with the days on which things dry. Pure.

Drying times are common practice: a parge or filled plaster coat of 3 to 4 mm cures a day before framing; skim on new
board dries about five days, longer in a cold house, before it is decorated or the last fixings are made.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from contractor.jobs.dates import is_working_day, next_working_day
from contractor.quotes.programme import FINISHING, PREPARING

CURING_DAYS = 1
DRYING_DAYS = 5
WET_WORDS = ("parge", "filled flush")
SKIMMING = "Skim"
LAST_ROUND = "Skirtings and sockets back, clear up, go round together"
TRADES = {FINISHING: "Plasterer"}


@dataclass(frozen=True, kw_only=True)
class Planned:
    """A day of work, or with no hours one that waits: `note` says what is done or what dries."""

    on_date: date
    note: str
    hours: Decimal
    trade: str = ""

    @property
    def is_work(self) -> bool:
        return self.hours > 0


def lay_out(
    *,
    work: Sequence[tuple[str, Decimal]],
    is_wet: bool,
    first: date,
    crew_size: int,
    day_hours: Decimal,
    closed: Collection[date] = (),
) -> list[Planned]:
    """The working days from `first` on, without those when the firm is `closed`. A step that ends within a day shares it with the next, unless
    something must dry between them. `crew_size` people work `day_hours` each."""
    a_day = crew_size * day_hours
    days: list[Planned] = []
    day, left = first if is_working_day(first, closed) else next_working_day(first, closed), a_day
    for what, hours in work:
        trade = TRADES.get(what, "")
        if trade and left < a_day:
            day, left = next_working_day(day, closed), a_day
        while hours > 0:
            if left <= 0:
                day, left = next_working_day(day, closed), a_day
            part = min(hours, left)
            days.append(Planned(on_date=day, note=SKIMMING if trade else what, hours=part, trade=trade))
            hours, left = hours - part, left - part
        if what == PREPARING and is_wet:
            day, left = _wait(days, day, CURING_DAYS, "Parge and filling cure", closed), a_day
        if what == FINISHING:
            day, left = _wait(days, day, DRYING_DAYS, "Skim dries", closed), a_day
            days.append(Planned(on_date=day, note=LAST_ROUND, hours=a_day / 2))
            left -= a_day / 2
    return _by_day(days)


def _wait(days: list[Planned], day: date, count: int, what: str, closed: Collection[date]) -> date:
    """It dries on a bank holiday too; the next step waits for a day of work."""
    for _ in range(count):
        day = next_working_day(day)
        days.append(Planned(on_date=day, note=what, hours=Decimal(0)))
    return next_working_day(day, closed)


def _by_day(days: list[Planned]) -> list[Planned]:
    """One entry for each day: two things on one day are named together."""
    joined: dict[date, Planned] = {}
    for planned in days:
        before = joined.get(planned.on_date)
        joined[planned.on_date] = (
            planned
            if before is None
            else Planned(
                on_date=planned.on_date,
                note=f"{before.note}; {planned.note[:1].lower()}{planned.note[1:]}",
                hours=before.hours + planned.hours,
                trade=before.trade or planned.trade,
            )
        )
    return sorted(joined.values(), key=lambda planned: planned.on_date)


def is_wet(takeoff: Mapping) -> bool:
    """Whether a coat is put on in the preparation that must cure before anything stands on it."""
    told = " ".join(f"{entry['description']} {entry['reason']}" for entry in takeoff["preparation"]).lower()
    return any(word in told for word in WET_WORDS)


def working_days(planned: Sequence[Planned]) -> int:
    return sum(day.is_work for day in planned)
