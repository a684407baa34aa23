"""Days in addresses, and days of work."""

from collections.abc import Collection
from datetime import date, timedelta

from django.utils.dateparse import parse_date


def asked_day(text: str) -> date | None:
    """The day in an address such as ?from=2026-11-25; None where it is not one, or far from any diary."""
    try:
        day = parse_date(text)
    except ValueError:
        return None
    return day if day and 2000 <= day.year <= 2100 else None


def is_working_day(day: date, closed: Collection[date] = ()) -> bool:
    """Monday to Friday, unless among `closed`: bank holidays and what else the firm keeps (`selectors.closed_from`)."""
    return day.weekday() < 5 and day not in closed


def next_working_day(day: date, closed: Collection[date] = ()) -> date:
    later = day + timedelta(days=1)
    while not is_working_day(later, closed):
        later += timedelta(days=1)
    return later


def working_day_before(day: date, count: int, closed: Collection[date] = ()) -> date:
    """The working day that lies `count` working days before `day`."""
    while count:
        day -= timedelta(days=1)
        count -= is_working_day(day, closed)
    return day
