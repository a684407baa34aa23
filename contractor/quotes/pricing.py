"""From a take-off, the firm's rates and lines added by hand to the price of an option. Pure: no database, no clock."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from contractor.quotes.by_hand import overridden, reduction_lines, with_vat_note
from contractor.quotes.prices import Extra, Line, Override, Priced, Rates, Reduction, Step, Unpriced, add_up, pence
from contractor.quotes.worked_out import (
    box_lines,
    finishing_lines,
    lining_lines,
    place_of,
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

    Overrides change worked-out lines before preliminaries are reckoned on them; discounts come last.
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
    lines = [with_vat_note(line, rates.vat_note) for line in worked_out] + [extra_line(extra) for extra in extras]
    keys = {line.key for line in worked_out}
    taken_off = reduction_lines(lines, reductions)
    if reductions and not taken_off:
        problems.append("There is nothing yet that a discount could be taken off.")
    return replace(
        add_up(lines + taken_off),
        problems=tuple(dict.fromkeys(problems)),
        left_out=tuple(left_out),
        astray=tuple(override for override in overrides if override.line_key not in keys),
    )


def extra_line(extra: Extra) -> Line:
    """A hand-added line at its own price; nobody has said what it costs the firm."""
    unit_price = pence(extra.unit_price)
    line = Line(
        key=f"extra-{extra.pk}",
        section=extra.section,
        description=extra.description,
        quantity=extra.quantity,
        unit=extra.unit,
        unit_price=unit_price,
        net=pence(extra.quantity * unit_price),
        vat_percent=extra.vat_percent,
        trace=(
            Step(label="Added by hand", working="quantity × unit price", amount=pence(extra.quantity * unit_price)),
        ),
        extra_pk=extra.pk,
    )
    return with_vat_note(line, extra.vat_note)
