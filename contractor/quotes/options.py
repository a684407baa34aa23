"""The options of a job as they stand today: each scheme's calculation, priced at today's rates."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.utils import timezone

from contractor.accounts.models import Firm
from contractor.accounts.selectors import the_firm
from contractor.catalogue.models import LabourAllowance, LabourRate
from contractor.common.templatetags.wording import day
from contractor.jobs.models import Job
from contractor.quotes.models import Discount, ExtraLine, LineOverride, VatBasis
from contractor.quotes.prices import Extra, Finish, LabourPrice, Override, Priced, Rates, Reduction
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
    rates = rates_of(the_firm(), VatBasis.objects.filter(job=job).first())
    extras = list(ExtraLine.objects.filter(job=job))
    overrides = list(LineOverride.objects.filter(scheme__job=job).select_related("made_by"))
    discounts = list(Discount.objects.filter(job=job))
    return [
        Option(
            scheme=scheme,
            calculation=calculation,
            priced=price_option(
                calculation.takeoff,
                rates,
                extras_of(extras, scheme),
                [_override(row) for row in overrides if row.scheme_id == scheme.pk],
                [_reduction(row) for row in discounts if row.scheme_id in (None, scheme.pk)],
            ),
            work=work_of(calculation.takeoff, rates),
        )
        for scheme, calculation in rooms.calculate_all(job=job)
    ]


def rates_of(firm: Firm, vat: VatBasis | None = None) -> Rates:
    """The firm's rates; `vat` is what the job's worked-out lines are charged where that is not the firm's own rate."""
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
        vat_percent=vat.vat_percent if vat else firm.vat_percent,
        vat_note=vat.vat_note if vat else "",
        vat_why=vat.vat_why if vat else "",
        labour=labour,
        finish=finish,
        box_point=labour.get(BOX_RATE),
    )


def extras_of(extras: Iterable[ExtraLine], scheme: Scheme) -> list[Extra]:
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
            vat_note=line.vat_note,
            vat_why=line.vat_why,
            is_optional=line.is_optional,
            about=line.about,
        )
        for line in extras
        if line.scheme_id in (None, scheme.pk)
    ]


def _override(row: LineOverride) -> Override:
    return Override(
        pk=row.pk,
        line_key=row.line_key,
        line_name=row.line_name,
        quantity=row.quantity,
        unit_price=row.unit_price,
        was_quantity=row.was_quantity,
        was_unit_price=row.was_unit_price,
        reason=row.reason,
        by=f"{row.made_by.display_name}, {day(timezone.localdate(row.made_at))}",
    )


def _reduction(row: Discount) -> Reduction:
    return Reduction(pk=row.pk, percent=row.percent, amount=row.amount, reason=row.reason)


def rooms_side_by_side(options: Sequence[Option]) -> list[dict]:
    """A row for each room with its prediction in each option (None where an option has none), for a table."""
    names: dict[str, str] = {}
    for option in options:
        names |= {key: room["room"] for key, room in option.calculation.predictions.items()}
    return [
        {"name": name, "cells": [option.calculation.predictions.get(key) for option in options]}
        for key, name in names.items()
    ]
