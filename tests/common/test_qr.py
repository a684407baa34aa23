"""The QR code: what is drawn is the code, with the clear zone and the corner marks of ISO/IEC 18004."""

import re

import pytest
import segno

from contractor.common.qr import QUIET_ZONE, qr_code

ADDRESS = "https://quiet.example/jobs/1042/site/cuts/p12-1/"
# The mark in three corners: a dark ring of 7 modules, a light one of 5, a dark square of 3 (ISO/IEC 18004, finder).
FINDER = ["1111111", "1000001", "1011101", "1011101", "1011101", "1000001", "1111111"]


def drawn(code) -> list[str]:
    """The modules that the path makes dark."""
    grid = [["0"] * code.size for _ in range(code.size)]
    bars = re.findall(r"M(\d+) (\d+)h(\d+)v1h-(\d+)z", code.path)
    assert "".join(f"M{x} {y}h{a}v1h-{b}z" for x, y, a, b in bars) == code.path
    for x, y, run, back in bars:
        assert run == back
        for i in range(int(run)):
            grid[int(y)][int(x) + i] = "1"
    return ["".join(row) for row in grid]


@pytest.mark.parametrize("text", [ADDRESS, "http://localhost:8000/jobs/1/site/cuts/s4-1/"])
def test_the_path_draws_every_module_of_the_code(text):
    code, q = qr_code(text), QUIET_ZONE
    grid = drawn(code)
    inner = [row[q:-q] for row in grid[q:-q]]
    assert inner == [
        "".join(str(int(bool(m))) for m in row) for row in segno.make_qr(text, error="m", boost_error=False).matrix
    ]
    assert not any("1" in row for row in grid[:q] + grid[-q:])
    assert not any("1" in row[:q] + row[-q:] for row in grid)


def test_three_corners_carry_the_mark():
    grid, q = drawn(qr_code(ADDRESS)), QUIET_ZONE
    far = len(grid) - q - 7
    for x, y in ((q, q), (far, q), (q, far)):
        assert [row[x : x + 7] for row in grid[y : y + 7]] == FINDER
