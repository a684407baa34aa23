"""How long the work of an option takes, from the hours that its price counts: working days, and what is done on which."""

from collections.abc import Mapping, Sequence
from decimal import ROUND_CEILING, Decimal

from contractor.accounts.models import Firm
from contractor.quotes.prices import Rates

PREPARING = "Protect the way in, strip out and prepare"
BUILDING = "Build the linings and close the gaps"
FINISHING = "Skim and finish, clear up, go round together"


def work_of(takeoff: Mapping, rates: Rates) -> list[tuple[str, Decimal]]:
    """What is done, in order, with its hours: the same that the lines of the price are made from."""
    finished_m2 = sum(
        (
            Decimal(face["area_m2"])
            for face in takeoff["faces"]
            if not face["problem"] and face["surface_kind"] in ("wall", "ceiling")
        ),
        Decimal(0),
    )
    steps = [
        (PREPARING, _hours(takeoff["preparation"])),
        (BUILDING, _hours(takeoff["labour"])),
        (FINISHING, finished_m2 * rates.finish.hours_per_m2 if rates.finish else Decimal(0)),
    ]
    return [(what, hours) for what, hours in steps if hours]


def _hours(entries: Sequence[Mapping]) -> Decimal:
    return sum((Decimal(entry["hours"]) for entry in entries), Decimal(0))


def programme_of(work: Sequence[tuple[str, Decimal]], firm: Firm, lead_time_days: int) -> dict | None:
    """As JSON: the crew, whole working days (a part of a day counts), and the first and last day of each step.

    `lead_time_days` is what the slowest material takes to come. None where no hours are known.
    """
    a_day = firm.crew_size * firm.day_hours
    steps, done = [], Decimal(0)
    for what, hours in work:
        first = int(done / a_day) + 1
        done += hours
        steps.append({"what": what, "first_day": first, "last_day": max(_up(done / a_day), first)})
    if not steps:
        return None
    return {
        "crew_size": firm.crew_size,
        "days": steps[-1]["last_day"],
        "lead_time_days": lead_time_days,
        "is_skimmed": any(what == FINISHING for what, _ in work),
        "steps": steps,
    }


def slowest_material_days(takeoff: Mapping) -> int:
    return max((bought.get("lead_time_days") or 0 for bought in takeoff["buy"]), default=0)


def _up(days: Decimal) -> int:
    return int(days.to_integral_value(ROUND_CEILING))
