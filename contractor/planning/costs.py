"""What a candidate would cost in the quote: the quote's own pricing on a quick take-off of it alone."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from contractor.quotes.prices import Rates
from contractor.quotes.pricing import price_option
from contractor.quotes.programme import work_of
from contractor.rooms.planning.bridge import Priced
from contractor.rooms.planning.candidates import Candidate


@dataclass(frozen=True)
class Unpriced:
    candidate: Candidate
    reason: str


def priced(candidates: Iterable[Candidate], rates: Rates) -> tuple[list[Priced], list[Unpriced]]:
    """Candidates with their prices, VAT and all; and those that the catalogue cannot price."""
    found, without = [], []
    for candidate in candidates:
        price = price_option(candidate.takeoff, rates)
        if price.problems:
            without.append(Unpriced(candidate, price.problems[0]))
            continue
        hours = sum((hours for _, hours in work_of(candidate.takeoff, rates)), Decimal(0))
        found.append(Priced(candidate=candidate, cost=price.total, hours=float(hours)))
    return found, without
