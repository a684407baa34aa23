"""What the office changes of a worked-out price: overridden lines, discounts, the reason for a rate of VAT. Pure."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from decimal import Decimal

from contractor.quotes.prices import DISCOUNT, NOTHING, Line, Override, Reduction, Step, pence
from contractor.quotes.worked_out import UNIT_WORDS, pounds


def overridden(lines: Iterable[Line], overrides: Sequence[Override]) -> list[Line]:
    """The lines with what the office set on them; each keeps its cost, so that the margin shows what was given."""
    by_key = {override.line_key: override for override in overrides}
    return [_override(line, by_key[line.key]) if line.key in by_key else line for line in lines]


def _override(line: Line, override: Override) -> Line:
    quantity = line.quantity if override.quantity is None else override.quantity
    unit_price = line.unit_price if override.unit_price is None else pence(override.unit_price)
    net = pence(quantity * unit_price)
    unit = UNIT_WORDS.get(line.unit, line.unit)
    changes = []
    if override.quantity is not None:
        changes.append(f"{plain(line.quantity)} → {plain(quantity)} {unit}")
    if override.unit_price is not None:
        changes.append(f"{pounds(line.unit_price)} → {pounds(unit_price)} each {unit}")
    working = f"{'; '.join(changes)}. {override.reason} ({override.by})"
    steps = (
        Step(
            label="As worked out", working=f"{plain(line.quantity)} {unit} × {pounds(line.unit_price)}", amount=line.net
        ),
        Step(label="Set by hand", working=working, amount=net),
    )
    return replace(
        line,
        quantity=quantity,
        unit_price=unit_price,
        net=net,
        trace=line.trace + steps,
        override=override,
        before=line,
    )


def has_moved(line: Line) -> bool:
    """Whether an overridden line is worked out otherwise today than when the office overrode it."""
    override, before = line.override, line.before
    return bool(
        override and before and (before.quantity, before.unit_price) != (override.was_quantity, override.was_unit_price)
    )


def reduction_lines(lines: Sequence[Line], reductions: Iterable[Reduction]) -> list[Line]:
    """Discounts as lines below nothing, one for each rate of VAT that has a price to take from."""
    nets: dict[Decimal, Decimal] = {}
    for line in lines:
        nets[line.vat_percent] = nets.get(line.vat_percent, NOTHING) + line.net
    nets = {percent: net for percent, net in sorted(nets.items(), reverse=True) if net > 0}
    if not nets:
        return []
    return [line for reduction in reductions for line in _reduction(reduction, nets)]


def _reduction(reduction: Reduction, nets: dict[Decimal, Decimal]) -> list[Line]:
    whole = sum(nets.values(), NOTHING)
    if reduction.percent is not None:
        shares = {vat: pence(net * reduction.percent / 100) for vat, net in nets.items()}
        name = f"Discount of {plain(reduction.percent)} %"
    else:
        shares = {vat: pence(reduction.amount * net / whole) for vat, net in nets.items()}
        greatest = max(nets, key=nets.__getitem__)
        shares[greatest] += reduction.amount - sum(shares.values(), NOTHING)
        name = "Discount"
    return [_reduction_line(reduction, name, vat, nets[vat], whole, share) for vat, share in shares.items() if share]


def _reduction_line(
    reduction: Reduction, name: str, vat: Decimal, net: Decimal, whole: Decimal, share: Decimal
) -> Line:
    if reduction.percent is not None:
        working = f"{plain(reduction.percent)} % of {pounds(net)}, the lines with VAT at {plain(vat)} %"
    elif net == whole:
        working = f"{pounds(reduction.amount)} by hand"
    else:
        working = f"{pounds(reduction.amount)} × {pounds(net)} ÷ {pounds(whole)}, the part with VAT at {plain(vat)} %"
    return Line(
        key=f"discount-{reduction.pk}-{plain(vat)}",
        section=DISCOUNT,
        description=name,
        where=reduction.reason,
        quantity=Decimal(1),
        unit="item",
        unit_price=-share,
        net=-share,
        vat_percent=vat,
        cost=NOTHING,  # given out of the margin
        trace=(Step(label=name, working=working, amount=-share),),
        discount_pk=reduction.pk,
    )


def with_vat_note(line: Line, note: str, why: str) -> Line:
    """The line with the reason for its rate of VAT, and with its evidence as the last step of its trace."""
    if not note:
        return line
    vat = pence(line.net * line.vat_percent / 100)
    step = Step(label=f"VAT at {plain(line.vat_percent)} %", working=note, amount=vat)
    return replace(line, vat_why=why, trace=(*line.trace, step))


def plain(number: Decimal) -> str:
    return f"{number.normalize():f}"
