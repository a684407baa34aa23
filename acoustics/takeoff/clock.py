"""The deadline of a solve: work is counted, and the wall clock only guards it.

Steps report what they do in seconds that a usual machine takes for it, so that the same seed and
deadline stop at the same step, and give the same answer, wherever the machine is no slower than that.
"""

from __future__ import annotations

import time

now = time.monotonic
PACE = 0.9  # share of the deadline that counted work may take; the rest is room for a busy machine


class Deadline:
    """Counted work and wall time left, both in seconds. A part's work is taken from its whole."""

    def __init__(self, seconds: float, *, work: float | None = None, whole: Deadline | None = None) -> None:
        self.end = now() + seconds
        self.work = seconds * PACE if work is None else work
        self.whole = whole

    def spend(self, work: float) -> None:
        self.work -= work
        if self.whole is not None:
            self.whole.spend(work)

    def left(self) -> float:
        """Counted work left; nought once the wall time is over."""
        return max(0.0, self.work) if now() < self.end else 0.0

    def over(self) -> bool:
        return self.left() <= 0

    def wall(self) -> float:
        """Wall time left, to guard a call that cannot count."""
        return max(0.0, self.end - now())

    def part(self, share: float, most: float = float("inf")) -> Deadline:
        """A share of the work left, at most `most`; the wall time guards it in full."""
        return Deadline(self.wall(), work=min(self.left() * share, most), whole=self)
