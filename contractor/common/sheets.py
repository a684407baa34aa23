"""Tables for a spreadsheet, as comma-separated lines."""

import csv
import io
from collections.abc import Iterable, Sequence

BYTE_ORDER_MARK = "\ufeff"  # without it spreadsheets take UTF-8 for something else
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def sheet(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """The rows under their headings. Words of people's own pass through `harmless` first."""
    out = io.StringIO()
    out.write(BYTE_ORDER_MARK)
    writer = csv.writer(out)
    writer.writerow(headings)
    writer.writerows(rows)
    return out.getvalue()


def harmless(cell: object) -> object:
    """Text that begins as a formula does, with an apostrophe before it; anything else as it is."""
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(FORMULA_STARTS) else cell
