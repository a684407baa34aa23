"""An address as a QR code, drawn by templates/drawings/qr.svg."""

from dataclasses import dataclass

import segno

QUIET_ZONE = 4  # modules left clear on each side, as ISO/IEC 18004 asks


@dataclass(frozen=True, kw_only=True)
class Code:
    """`size` modules on a side with the clear zone; `path` draws the dark ones, one unit each; `text` is what it says."""

    text: str
    size: int
    path: str


def qr_code(text: str) -> Code:
    """The smallest code of medium error correction that holds the text."""
    rows = segno.make_qr(text, error="m", boost_error=False).matrix
    bars = []
    for y, row in enumerate(rows, start=QUIET_ZONE):
        x = 0
        while x < len(row):
            run = next((i for i in range(x, len(row)) if not row[i]), len(row)) - x
            if run:
                bars.append(f"M{x + QUIET_ZONE} {y}h{run}v1h-{run}z")
            x += max(run, 1)
    return Code(text=text, size=len(rows) + 2 * QUIET_ZONE, path="".join(bars))
