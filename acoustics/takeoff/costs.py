"""Costs that any set of whole lengths can have: sums of the stock's prices."""

from __future__ import annotations

import math

import numpy as np

MOST_CELLS = 2_000_000


class Costs:
    """The sums of the prices up to `top`, in steps of their common unit."""

    def __init__(self, prices: np.ndarray, top: int) -> None:
        paid = sorted({int(p) for p in prices if p > 0})
        self.unit = max(1, math.gcd(*paid)) if paid else 1
        cells = top // self.unit + 1
        self.reached = np.ones(1, bool)
        if paid and cells <= MOST_CELLS:
            self.reached = np.zeros(cells, bool)
            self.reached[0] = True
            for price in paid:
                step = price // self.unit
                while step < cells:  # each doubling reaches twice as many of this price
                    self.reached[step:] |= self.reached[:-step].copy()
                    step *= 2

    def up(self, value: float) -> int:
        """The least cost of `value` or more (the next multiple of the unit above `top`)."""
        cell = max(0, math.ceil(value / self.unit - 1e-6))
        if cell < len(self.reached):
            ahead = self.reached[cell:]
            if ahead.any():
                cell += int(ahead.argmax())
        return cell * self.unit

    def below(self, cost: int) -> int:
        """The greatest cost less than `cost`."""
        cell = math.ceil(cost / self.unit) - 1
        if 0 <= cell < len(self.reached):
            behind = self.reached[cell::-1]
            cell -= int(behind.argmax())
        return max(0, cell) * self.unit
