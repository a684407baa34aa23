"""The order list as a table for a spreadsheet."""

from collections.abc import Iterable

from contractor.common.sheets import sheet
from contractor.jobs.models import Job
from contractor.orders.lists import OrderLine, OrderList

HEADINGS = [
    "Supplier", "Material", "Packs", "In a pack", "Counted in", "Price of a pack ex VAT", "Cost ex VAT",
    "Weight kg", "Lead time working days", "Order by", "Job", "Deliver to",
]  # fmt: skip


def order_csv(job: Job, lists: Iterable[OrderList]) -> str:
    """Comma-separated lines of what is to order; text that a spreadsheet would run as a formula is made plain."""
    return sheet(HEADINGS, (_row(job, order, line) for order in lists for line in order.to_order))


def _row(job: Job, order: OrderList, line: OrderLine) -> list[object]:
    return [
        order.supplier.name if order.supplier else "",
        line.name,
        line.packs,
        line.pack_quantity,
        line.pack_unit,
        f"{line.pack_price:.2f}" if line.has_price else "",
        f"{line.cost:.2f}" if line.has_price else "",
        f"{line.mass_kg:.1f}",
        line.lead_time_days,
        line.order_by.isoformat() if line.order_by else "",
        job.number,
        job.property.one_line,
    ]
