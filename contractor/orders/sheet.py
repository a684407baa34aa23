"""The order list as a table for a spreadsheet."""

import csv
import io
from collections.abc import Iterable

from contractor.jobs.models import Job
from contractor.orders.lists import OrderList

HEADINGS = [
    "Supplier", "Material", "Packs", "In a pack", "Counted in", "Price of a pack ex VAT", "Cost ex VAT",
    "Weight kg", "Lead time working days", "Order by", "Job", "Deliver to",
]  # fmt: skip
BYTE_ORDER_MARK = "\ufeff"  # without it spreadsheets take UTF-8 for something else
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def order_csv(job: Job, lists: Iterable[OrderList]) -> str:
    """Comma-separated lines of what is to order; text that a spreadsheet would run as a formula is made plain."""
    out = io.StringIO()
    out.write(BYTE_ORDER_MARK)
    writer = csv.writer(out)
    writer.writerow(HEADINGS)
    for order in lists:
        for line in order.to_order:
            cells = [
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
            writer.writerow([harmless(cell) for cell in cells])
    return out.getvalue()


def harmless(cell: object) -> object:
    """Text that begins as a formula does, with an apostrophe before it; anything else as it is."""
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(FORMULA_STARTS) else cell
