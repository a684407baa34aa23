"""The bank holidays of England and Wales in a year, to begin the firm's own list with. Pure.

Banking and Financial Dealings Act 1971, schedule 1, with the days that have been proclaimed every year since (New
Year's Day, early May); a day that falls on a weekend moves to the next weekday that is not one already (from memory).
Days proclaimed once, and those of other places, the office types in.
"""

from datetime import date, timedelta

MONDAY = 0


def bank_holidays(year: int) -> list[tuple[date, str]]:
    """(day, name) in order."""
    easter = easter_sunday(year)
    moving = [
        (easter - timedelta(days=2), "Good Friday"),
        (easter + timedelta(days=1), "Easter Monday"),
        (_first_monday(year, 5), "Early May bank holiday"),
        (_last_monday(year, 5), "Spring bank holiday"),
        (_last_monday(year, 8), "Summer bank holiday"),
    ]
    taken: set[date] = set()
    fixed = []
    for month, day, name in ((1, 1, "New Year's Day"), (12, 25, "Christmas Day"), (12, 26, "Boxing Day")):
        kept = date(year, month, day)
        if kept.weekday() < 5:
            taken.add(kept)
        fixed.append((kept, name))
    placed = []
    for kept, name in fixed:
        if kept.weekday() >= 5:
            while kept.weekday() >= 5 or kept in taken:
                kept += timedelta(days=1)
            taken.add(kept)
            name = f"{name}, substitute day"
        placed.append((kept, name))
    return sorted(placed + moving)


def easter_sunday(year: int) -> date:
    """By the tables of the Gregorian calendar, in the form given by Meeus, Astronomical Algorithms, chapter 8."""
    a, (b, c) = year % 19, divmod(year, 100)
    d, e = divmod(b, 4)
    g = (8 * b + 13) // 25
    h = (19 * a + b - d - g + 15) % 30
    i, k = divmod(c, 4)
    m = (32 + 2 * e + 2 * i - h - k) % 7
    n = (a + 11 * h + 22 * m) // 451
    month, day = divmod(h + m - 7 * n + 114, 31)
    return date(year, month, day + 1)


def _first_monday(year: int, month: int) -> date:
    first = date(year, month, 1)
    return first + timedelta(days=(MONDAY - first.weekday()) % 7)


def _last_monday(year: int, month: int) -> date:
    last = date(year, month + 1, 1) - timedelta(days=1)
    return last - timedelta(days=last.weekday())
