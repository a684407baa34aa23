"""Tables for a spreadsheet, as comma-separated lines."""

import csv
import io
from collections.abc import Iterable, Sequence

BYTE_ORDER_MARK = "\ufeff"  # without it spreadsheets take UTF-8 for something else
# What a spreadsheet takes for the beginning of a formula, the wide forms of East Asian keyboards among it.
FORMULA_STARTS = tuple("=+-@＝＋－＠")
CONTROLS = ("\t", "\r", "\n")
ABOUT = (
    "Comma-separated, UTF-8 with a byte order mark, a point before the pence, no sign between thousands. Text that a"
    " spreadsheet would run as a formula has an apostrophe before it."
)


def sheet(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """The rows under their headings. Numbers are numbers, not text; text is made harmless."""
    out = io.StringIO()
    out.write(BYTE_ORDER_MARK)
    writer = csv.writer(out)
    writer.writerow(headings)
    writer.writerows([harmless(cell) for cell in row] for row in rows)
    return out.getvalue()


def harmless(cell: object) -> object:
    """Text that begins as a formula does, with or without blanks before it, gets an apostrophe; all else stays."""
    if not isinstance(cell, str):
        return cell
    return f"'{cell}" if cell.startswith(CONTROLS) or cell.lstrip().startswith(FORMULA_STARTS) else cell
