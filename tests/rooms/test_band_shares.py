"""Shares by band: that they agree with the engine's, fill the picture, and can be told apart without colour."""

import re
from itertools import pairwise

import pytest
from django.template.loader import render_to_string

from acoustics import BANDS_HZ, Element, Layer, Leaf, Leak, ReceivingRoom, SeparatingPatch, SidePath, predict_room
from contractor.rooms import band_shares


def told(*reductions: tuple[list, list], names: list[str] | None = None) -> dict:
    names = names or [f"Way {n}" for n in range(len(reductions))]
    return {
        "room": "Box room",
        "bands_hz": list(BANDS_HZ),
        "paths": [
            {"name": name, "reduction_before_db": before, "reduction_after_db": after}
            for name, (before, after) in zip(names, reductions, strict=True)
        ],
    }


def flat(before: float, after: float) -> tuple[list, list]:
    return [before] * 21, [after] * 21


def test_two_equal_ways_carry_half_of_every_octave():
    table = band_shares.octave_table(told(flat(40, 60), flat(40, 60)))

    assert table["octaves"] == ["63", "125", "250", "500", "1k", "2k", "4k"]
    assert all(pair == pytest.approx((0.5, 0.5)) for row in table["rows"] for pair in row["pairs"])


def test_ten_decibels_more_is_a_tenth_of_the_energy():
    """1 / (1 + 10) of it: the definition of the decibel."""
    weak = band_shares.octave_table(told(flat(40, 40), flat(50, 40)))["rows"][1]

    assert weak["pairs"][3] == pytest.approx((1 / 11, 1 / 2))


def test_thirds_are_shared_as_the_engine_shares_them():
    brick = Element(leaves=(Leaf(layers=(Layer(material="brick_solid", thickness_mm=215),), masonry=True),))
    leak = SidePath(name="Gaps", before=Leak(area_mm2=400), after=Leak(area_mm2=400, sealed=True))
    wall = SeparatingPatch(name="Wall", area_m2=10, element=brick)
    paths = predict_room(ReceivingRoom(volume_m3=30, separating=(wall,), side_paths=(leak,))).paths
    rows = [(list(p.reduction_before_db), list(p.reduction_after_db)) for p in paths]

    shared = band_shares._by_third(told(*rows)["paths"], "after")

    for path, row in zip(paths, shared, strict=True):
        assert row == pytest.approx(path.band_share_after, abs=1e-6)


def test_layers_fill_the_plot_from_bottom_to_top():
    d = band_shares.pictures(told(flat(40, 50), flat(45, 42), flat(50, 60)), "1")[0]

    heights = [[int(y) for y in re.findall(r"V(\d+)", layer["path"])] for layer in d["layers"]]
    assert max(heights[0]) == d["plot"]["bottom"]
    assert min(heights[-1]) == d["plot"]["top"]
    for lower, upper in pairwise(heights):
        assert lower[:21] == list(reversed(upper[21:]))  # one's upper edge is the next one's lower edge


def test_both_pictures_name_the_same_ways_with_the_same_fills():
    before, after = band_shares.pictures(told(*(flat(40 + n, 60 - n) for n in range(9))), "1")

    keys = [[(row["name"], row["fill"]) for row in d["key"]] for d in (before, after)]
    assert keys[0] == keys[1]
    assert len({fill for _, fill in keys[0]}) == 6
    assert keys[0][-1][0] == "4 others together"
    assert before["id"] != after["id"]


def test_picture_speaks_and_needs_no_colour_or_style():
    d = band_shares.pictures(told(flat(40, 50), flat(45, 42), names=["Wall", "Void <under>"]), "7")[1]
    svg = render_to_string("drawings/band_shares.svg", {"d": d})

    assert "after the work" in re.search(r"<title>([^<]+)</title>", svg)[1]
    assert "Wall: 14 % at 63 Hz" in svg  # 50 against 42 dB: 1 / (1 + 10 ** 0.8)
    assert "&lt;under&gt;" in svg and 'role="img"' in svg
    assert "style=" not in svg and "class=" not in svg
