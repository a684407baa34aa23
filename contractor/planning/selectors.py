"""Everything that the plan of a room is made from, read in a fixed number of queries."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from functools import partial

from contractor.accounts.models import Firm
from contractor.accounts.selectors import the_firm
from contractor.catalogue.models import BuildUp
from contractor.jobs.models import Job
from contractor.planning.costs import Unpriced, priced
from contractor.quotes.models import ExtraLine
from contractor.quotes.options import extras_of, rates_of
from contractor.quotes.prices import Rates, add_up
from contractor.quotes.pricing import extra_line
from contractor.quotes.selectors import vat_basis_of
from contractor.rooms.inputs import Inputs, build_ups_with_layers, inputs_of
from contractor.rooms.models import Room, Scheme
from contractor.rooms.planning.bridge import Asked, Plan, Priced, gains_of, plan_of
from contractor.rooms.planning.candidates import Bounds, Candidate, Limit, Offered, Refused, candidate_of, offered

SECONDS = 2.0


@dataclass(frozen=True, kw_only=True)
class Basis:
    """The survey with the catalogue, and the firm's rates. `spent` is what lines by hand add to every option."""

    inputs: Inputs
    build_ups: dict[int, BuildUp]
    firm: Firm
    rates: Rates
    spent: Decimal


@dataclass(frozen=True, kw_only=True)
class RoomPlan:
    room: Room
    offered: Offered
    priced: list[Priced]
    unpriced: list[Unpriced]
    plan: Plan
    gains: dict[tuple[str, str], float] = field(default_factory=dict)


def basis_of(job: Job) -> Basis:
    firm = the_firm()
    by_hand = extras_of(ExtraLine.objects.filter(job=job, scheme=None, is_optional=False), Scheme())
    return Basis(
        inputs=inputs_of(job),
        build_ups={build_up.pk: build_up for build_up in build_ups_with_layers()},
        firm=firm,
        rates=rates_of(firm, vat_basis_of(job)),
        spent=add_up(extra_line(extra) for extra in by_hand).total,
    )


def room_plan(basis: Basis, room: Room, asked: Asked, bounds: Bounds) -> RoomPlan:
    """The plan of one room. Raises CannotPredict."""
    found = offered(basis.inputs, room, basis.build_ups, bounds)
    costed, without = priced(found.candidates, basis.rates)
    return RoomPlan(
        room=room,
        offered=found,
        priced=costed,
        unpriced=without,
        plan=plan_of(basis.inputs, room, costed, asked, seconds=SECONDS, barred=partial(_barred, basis, found.refused)),
        gains=gains_of(basis.inputs, room, asked, [p.candidate for p in costed]),
    )


def _barred(basis: Basis, refused: Iterable[Refused]) -> list[tuple[frozenset[Limit], Priced]]:
    """What would be candidates, priced, if limits did not bar them, with those limits."""
    found = []
    for row in refused:
        if row.limits:
            tried = candidate_of(basis.inputs, row.place, row.build_up, despite_depth=True)
            costed, _ = priced([tried] if isinstance(tried, Candidate) else [], basis.rates)
            found += [(row.limits, one) for one in costed]
    return found
