"""What the office keeps beside a document that was sent, and shows to nobody: costs, margins, and how lines came about."""

from contractor.quotes.options import Option


def internal_of(option: Option) -> dict:
    """What the office keeps of an option: cost, margin, how each line came about, and all that it was made from."""
    priced = option.priced
    return {
        "name": option.scheme.name,
        "cost": str(priced.cost),
        "costed_net": str(priced.costed_net),
        "uncosted_net": str(priced.uncosted_net),
        "margin": str(priced.margin),
        "margin_percent": str(priced.margin_percent or ""),
        "lines": [
            {
                "description": line.description,
                "where": line.where,
                "cost": None if line.cost is None else str(line.cost),
                "trace": [
                    {"label": s.label, "working": s.working, "amount": s.amount if s.amount is None else str(s.amount)}
                    for s in line.trace
                ],
            }
            for line in [*priced.lines, *priced.optional]
        ],
        "fingerprint": option.calculation.fingerprint,
        "engine_version": option.calculation.engine_version,
        "predictions": option.calculation.predictions,
        "takeoff": option.calculation.takeoff,
    }
