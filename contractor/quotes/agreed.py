"""What an acceptance makes a contract: the accepted option of the frozen document with the optional extras chosen. Pure."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from decimal import Decimal

from contractor.quotes.document import fingerprint
from contractor.quotes.models import Decision
from contractor.quotes.prices import NOTHING, pence

CHOSEN = "Optional extras you chose"


def extras_offered(options: Iterable[Mapping]) -> dict[str, Mapping]:
    """Every optional extra of the document's options once, by its key; documents from before extras have none."""
    return {extra["key"]: extra for option in options for extra in option.get("extras", [])}


def chosen_extras(option: Mapping, keys: Collection[str]) -> list[dict]:
    """The option's extras of those keys, in its order. ValueError for a key that the option does not have."""
    offered = {extra["key"]: extra for extra in option.get("extras", [])}
    if unknown := sorted(set(keys) - offered.keys()):
        raise ValueError(f"“{option['name']}” has no optional extra {', '.join(unknown)}.")
    return [dict(extra) for key, extra in offered.items() if key in keys]


def with_extras(option: Mapping, extras: Sequence[Mapping]) -> dict:
    """The option as the document has it with the extras in a section of their own and in every total.

    Each extra brings the VAT that stands beside it (rule 7 of prices.py), so that the total grows by exactly the prices
    ticked. The deposit is the same part of the new total.
    """
    if not extras:
        return dict(option)
    bands = {Decimal(band["percent"]): (Decimal(band["net"]), Decimal(band["vat"])) for band in option["vat"]}
    for extra in extras:
        net, vat = bands.get(Decimal(extra["vat_percent"]), (NOTHING, NOTHING))
        bands[Decimal(extra["vat_percent"])] = (net + Decimal(extra["net"]), vat + Decimal(extra["vat"]))
    net_total = sum((net for net, _ in bands.values()), NOTHING)
    vat_total = sum((vat for _, vat in bands.values()), NOTHING)
    total = net_total + vat_total
    deposit = pence(total * Decimal(option["deposit_percent"]) / 100)
    section = {
        "label": CHOSEN,
        "net": str(sum((Decimal(extra["net"]) for extra in extras), NOTHING)),
        "lines": list(extras),
    }
    return dict(option) | {
        "sections": [*option["sections"], section],
        "vat": [
            {"percent": f"{percent.normalize():f}", "net": str(net), "vat": str(vat)}
            for percent, (net, vat) in sorted(bands.items(), reverse=True)
        ],
        "net": str(net_total),
        "vat_total": str(vat_total),
        "total": str(total),
        "deposit": str(deposit),
        "balance": str(total - deposit),
    }


def agreed_option(decision: Decision) -> dict:
    """The accepted option of the decision's document with what was chosen beside it."""
    option = next(o for o in decision.revision.document["options"] if o["name"] == decision.option)
    return with_extras(option, decision.extras)


def agreed_hash(decision: Decision) -> str:
    """The fingerprint of all that an acceptance agreed to: the document by its own hash, the option and extras chosen,
    the sum, the name and the ticks."""
    return fingerprint(
        {
            "document_hash": decision.document_hash,
            "option": decision.option,
            "extras": decision.extras,
            "contract_sum": str(decision.contract_sum),
            "typed_name": decision.typed_name,
            "agreed_terms": decision.agreed_terms,
            "early_start": decision.early_start,
        }
    )
