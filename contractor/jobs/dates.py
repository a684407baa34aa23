"""Days in addresses, and days of work."""

from datetime import date, timedelta

from django.utils.dateparse import parse_date


def asked_day(text: str) -> date | None:
    """The day in an address such as ?from=2026-11-25; None where it is not one, or far from any diary."""
    try:
        day = parse_date(text)
    except ValueError:
        return None
    return day if day and 2000 <= day.year <= 2100 else None


def next_working_day(day: date) -> date:
    """Monday to Friday; holidays are not known here."""
    later = day + timedelta(days=1)
    while later.weekday() > 4:
        later += timedelta(days=1)
    return later
