"""From a take-off, the firm's rates and lines added by hand to the price of an option. Pure: no database, no clock."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from contractor.quotes.by_hand import overridden, plain, reduction_lines, with_vat_note
from contractor.quotes.prices import (
    NOTHING,
    Extra,
    Line,
    Override,
    Priced,
    Rates,
    Reduction,
    Step,
    Unpriced,
    add_up,
    pence,
)
from contractor.quotes.worked_out import (
    box_lines,
    finishing_lines,
    lining_lines,
    place_of,
    pounds,
    preliminaries_lines,
    preparation_lines,
)


def price_option(
    takeoff: Mapping,
    rates: Rates,
    extras: Sequence[Extra] = (),
    overrides: Sequence[Override] = (),
    reductions: Sequence[Reduction] = (),
) -> Priced:
    """Price one option. `takeoff` is the take-off's JSON: faces, preparation, labour (see rooms' calculation).

    Overrides change worked-out lines before preliminaries are reckoned on them; discounts come last. Optional extras
    are priced beside the option and counted in nothing.
    """
    left_out = [f"{place_of(face)}: {face['build_up']}" for face in takeoff["faces"] if face["problem"]]
    problems = [f"{face['label']}: {face['problem']}" for face in takeoff["faces"] if face["problem"]]
    problems += [f"{p['face']}: {p['text']}" for p in takeoff["problems"]]
    worked_out: list[Line] = []
    for make in (preparation_lines, lining_lines, finishing_lines, box_lines):
        for line in make(takeoff, rates):
            if isinstance(line, Unpriced):
                problems.append(f"{line.what}: no hourly rate called “{line.rate_key}” in the catalogue.")
                left_out.append(line.what)
            else:
                worked_out.append(line)
    worked_out = overridden(worked_out, overrides)
    worked_out = overridden(preliminaries_lines(worked_out, rates), overrides) + worked_out
    lines = [with_vat_note(line, rates.vat_note, rates.vat_why) for line in worked_out]
    lines += [extra_line(extra) for extra in extras if not extra.is_optional]
    keys = {line.key for line in worked_out}
    taken_off = reduction_lines(lines, reductions)
    if reductions and not taken_off:
        problems.append("There is nothing yet that a discount could be taken off.")
    return replace(
        add_up(lines + taken_off),
        problems=tuple(dict.fromkeys(problems)),
        left_out=tuple(left_out),
        astray=tuple(override for override in overrides if override.line_key not in keys),
        optional=tuple(extra_line(extra) for extra in extras if extra.is_optional),
    )


def extra_line(extra: Extra) -> Line:
    """A hand-added line at its own price. Nobody has said what it costs the firm; a credit costs it nothing."""
    unit_price = pence(extra.unit_price)
    net = pence(extra.quantity * unit_price)
    working = f"{plain(extra.quantity)} {extra.unit} × {pounds(unit_price)}"
    steps = [Step(label="Added by hand", working=working, amount=net)]
    if net < 0:
        steps.append(
            Step(label="Cost to the firm", working="none: a credit is given out of the margin", amount=NOTHING)
        )
    line = Line(
        key=f"{'optional' if extra.is_optional else 'extra'}-{extra.pk}",
        section=extra.section,
        description=extra.description,
        quantity=extra.quantity,
        unit=extra.unit,
        unit_price=unit_price,
        net=net,
        vat_percent=extra.vat_percent,
        cost=NOTHING if net < 0 else None,
        trace=tuple(steps),
        extra_pk=extra.pk,
        about=extra.about,
    )
    return with_vat_note(line, extra.vat_note, extra.vat_why)
