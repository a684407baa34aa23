"""Days in addresses."""

from datetime import date

from django.utils.dateparse import parse_date


def asked_day(text: str) -> date | None:
    """The day in an address such as ?from=2026-11-25; None where it is not one, or far from any diary."""
    try:
        day = parse_date(text)
    except ValueError:
        return None
    return day if day and 2000 <= day.year <= 2100 else None
