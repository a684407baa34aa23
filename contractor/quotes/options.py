"""The options of a job as they stand today: each scheme's calculation, priced at today's rates."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from contractor.accounts.models import Firm
from contractor.accounts.selectors import the_firm
from contractor.catalogue.models import LabourAllowance, LabourRate
from contractor.jobs.models import Job
from contractor.quotes.models import ExtraLine
from contractor.quotes.prices import Extra, Finish, LabourPrice, Priced, Rates
from contractor.quotes.pricing import price_option
from contractor.quotes.programme import work_of
from contractor.rooms import services as rooms
from contractor.rooms.models import Calculation, Scheme

FINISH_ALLOWANCE = "skim"
BOX_RATE = "electrician-point"


@dataclass(frozen=True, kw_only=True)
class Option:
    scheme: Scheme
    calculation: Calculation
    priced: Priced
    work: list[tuple[str, Decimal]]  # what is done in order, with its hours

    @property
    def faces(self) -> list[dict]:
        return [face for face in self.calculation.takeoff["faces"] if not face["problem"]]

    @property
    def is_preview(self) -> bool:
        """Whether a better take-off is still being worked out."""
        return bool(self.calculation.takeoff.get("is_preview"))

    @property
    def has_illustrative_prices(self) -> bool:
        return any(bought["price_is_illustrative"] for bought in self.calculation.takeoff["buy"])

    @property
    def greatest_depth_mm(self) -> str | None:
        return max((face["depth_mm"] for face in self.faces), key=float, default=None)


def options_of(job: Job) -> list[Option]:
    """Every scheme of the job in order, calculated and priced. Working one out anew takes a moment; kept ones do not."""
    rates = rates_of(the_firm())
    extras = list(ExtraLine.objects.filter(job=job))
    return [
        Option(
            scheme=scheme,
            calculation=calculation,
            priced=price_option(calculation.takeoff, rates, extras_of(extras, scheme)),
            work=work_of(calculation.takeoff, rates),
        )
        for scheme, calculation in rooms.calculate_all(job=job)
    ]


def rates_of(firm: Firm) -> Rates:
    labour = {rate.key: LabourPrice(name=rate.name, rate=rate.rate) for rate in LabourRate.objects.all()}
    allowance = LabourAllowance.objects.select_related("rate").filter(key=FINISH_ALLOWANCE).first()
    finish = allowance and Finish(
        description="Skim coat to new linings",
        hours_per_m2=allowance.hours_per_unit,
        rate_key=allowance.rate.key,
    )
    return Rates(
        materials_markup_percent=firm.materials_markup_percent,
        overhead_profit_percent=firm.overhead_profit_percent,
        preliminaries_percent=firm.preliminaries_percent,
        vat_percent=firm.vat_percent,
        labour=labour,
        finish=finish,
        box_point=labour.get(BOX_RATE),
    )


def extras_of(extras: Sequence[ExtraLine], scheme: Scheme) -> list[Extra]:
    """The hand-added lines that stand in every option, and those of this one."""
    return [
        Extra(
            pk=line.pk,
            section=line.section,
            description=line.description,
            quantity=line.quantity,
            unit=line.unit,
            unit_price=line.unit_price,
            vat_percent=line.vat_percent,
        )
        for line in extras
        if line.scheme_id in (None, scheme.pk)
    ]


def rooms_side_by_side(options: Sequence[Option]) -> list[dict]:
    """A row for each room with its prediction in each option (None where an option has none), for a table."""
    names: dict[str, str] = {}
    for option in options:
        names |= {key: room["room"] for key, room in option.calculation.predictions.items()}
    return [
        {"name": name, "cells": [option.calculation.predictions.get(key) for option in options]}
        for key, name in names.items()
    ]
