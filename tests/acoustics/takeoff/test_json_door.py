"""Plain dicts in and out."""

import json
import subprocess
import sys

import pytest
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from acoustics.errors import InputError
from acoustics.takeoff import door

WALL = {
    "outline_mm": [[0, 0], [4200, 0], [4200, 2400], [0, 2400]],
    "openings_mm": [[[1500, 1000], [2700, 1000], [2700, 2000], [1500, 2000]]],
    "supports": {"spacing_mm": 600, "first_mm": 0, "direction": "vertical"},
    "board": {"width_mm": 1200, "height_mm": 2400},
    "layers": 2,
    "gaps_mm": {"sides": 5, "top": 5, "bottom": 10},
    "rules": {"min_width_mm": 150, "stagger_mm": 600},
    "seconds": 1,
    "seed": 1,
}


def test_a_layout_covers_the_wall_and_its_pieces_lie_apart_on_their_sheets():
    answer = json.loads(json.dumps(door.layout(WALL)))
    field = box(5, 10, 4195, 2395).difference(box(1500, 1000, 2700, 2000))
    sizes = {s["number"]: (s["width_mm"], s["height_mm"]) for s in answer["cut_sheets"]}
    on_sheet = {}
    for layer in answer["layers"]:
        pieces = [Polygon(p["outline_mm"], p["cutouts_mm"]) for p in layer["pieces"]]
        assert unary_union(pieces).symmetric_difference(field).area == 0
        for p in layer["pieces"]:
            xs, ys = zip(*p["outline_mm"], strict=True)
            size = (max(xs) - min(xs), max(ys) - min(ys))
            w, h = size[::-1] if p["turned"] else size
            x, y = p["x_in_sheet_mm"], p["y_in_sheet_mm"]
            assert x + w <= sizes[p["sheet"]][0] and y + h <= sizes[p["sheet"]][1]
            on_sheet.setdefault(p["sheet"], []).append(box(x, y, x + w, y + h))
    assert len(on_sheet) == answer["sheets"] >= answer["lower_bound"]
    for placed in on_sheet.values():
        assert unary_union(placed).area == sum(p.area for p in placed)


def test_lengths():
    answer = door.lengths(
        {
            "stock": [{"length_mm": 3000, "price": "7.10"}],
            "pieces": [{"label": "stud", "length_mm": 1498, "quantity": 4}],
            "kerf_mm": 3,
            "trim_mm": 0,
        }
    )
    # 2 x 1498 + one kerf of 3 = 2999: a pair fits 3000 and leaves nothing after the last kerf
    assert answer["count"] == 2 and answer["optimal"] is True
    assert answer["cost"] == "14.20" and float(answer["lower_bound"]) == 14.2
    assert [used["left_mm"] for used in answer["used"]] == [0, 0]


def test_lengths_without_prices_take_the_least_metres():
    stock = [{"length_mm": 2400, "price": "0"}, {"length_mm": 3000, "price": "0"}]
    answer = door.lengths({"stock": stock, "pieces": [{"label": "a", "length_mm": 1200, "quantity": 2}]})
    assert [used["length_mm"] for used in answer["used"]] == [2400]
    assert answer["optimal"] is True


def test_sheets():
    answer = door.sheets(
        {
            "stock": [{"width_mm": 1200, "height_mm": 2400, "price": "18.40"}],
            "pieces": [{"label": "p", "width_mm": 600, "height_mm": 1200, "quantity": 5, "may_turn": False}],
        }
    )
    # four to a sheet by area, so five need two
    assert (answer["count"], answer["lower_bound"]) == (2, 2)
    assert sum(len(sheet["placed"]) for sheet in answer["sheets"]) == 5
    assert answer["cost"] == "36.80"


@pytest.mark.parametrize(
    ("verb", "change", "field"),
    [
        ("layout", {"outline_mm": None}, "outline_mm"),
        ("layout", {"outline_mm": [[0, 0], [1, 1.5], [2, 2]]}, "outline_mm"),
        ("layout", {"outline_mm": [[0, 0], [4200, 0], [0, 2400], [4200, 2400]]}, "outline_mm"),
        ("layout", {"openings_mm": [[[0, 0], [1, 1]]]}, "openings_mm[0]"),
        ("layout", {"openings_mm": [[[4000, 0], [4900, 0], [4900, 2000], [4000, 2000]]]}, "openings_mm[0]"),
        ("layout", {"outline_mm": [[0, 0], [float("inf"), 0], [0, 2400]]}, "outline_mm"),
        ("layout", {"layers": 1_000_000}, "layers"),
        ("lengths", {"kerf_mm": float("inf")}, "kerf_mm"),
        ("lengths", {"pieces": [{"label": "a", "length_mm": 9, "quantity": 10**8}]}, "pieces[0].quantity"),
        ("layout", {"supports": {"spacing_mm": "wide"}}, "supports.spacing_mm"),
        ("layout", {"supports": {"direction": "slanting"}}, "supports.direction"),
        ("layout", {"board": {"width_mm": 1200}}, "board.height_mm"),
        ("layout", {"layers": 0}, "layers"),
        ("layout", {"gaps_mm": {"sides": -5}}, "gaps_mm.sides"),
        ("layout", {"rules": {"stagger_mm": 2.5}}, "rules.stagger_mm"),
        ("layout", {"seconds": 0}, "seconds"),
        ("lengths", {"stock": []}, "stock"),
        ("lengths", {"stock": [{"length_mm": 0, "price": "1"}]}, "stock[0].length_mm"),
        ("lengths", {"stock": [{"length_mm": 3000, "price": "dear"}]}, "stock[0].price"),
        ("lengths", {"pieces": [{"label": "a", "length_mm": 5000, "quantity": 1}]}, "pieces[0].length_mm"),
        ("lengths", {"pieces": [{"label": "a", "quantity": 1}]}, "pieces[0].length_mm"),
        ("lengths", {"pieces": ["a"]}, "pieces[0]"),
        ("lengths", {"kerf_mm": -1}, "kerf_mm"),
        ("sheets", {"pieces": [{"label": "a", "width_mm": 1300, "height_mm": 1300}]}, "pieces[0].width_mm"),
        ("sheets", {"stock": [{"width_mm": 0, "height_mm": 10}]}, "stock[0].width_mm"),
        (
            "sheets",
            {"pieces": [{"label": "a", "width_mm": 1, "height_mm": 1, "may_turn": "yes"}]},
            "pieces[0].may_turn",
        ),
    ],
)
def test_bad_fields_are_named(verb, change, field):
    good = {
        "layout": WALL,
        "lengths": {"stock": [{"length_mm": 3000, "price": "7"}], "pieces": [{"label": "a", "length_mm": 9}]},
        "sheets": {
            "stock": [{"width_mm": 1200, "height_mm": 2400}],
            "pieces": [{"label": "a", "width_mm": 9, "height_mm": 9}],
        },
    }[verb]
    data = {**good, **change}
    data = {name: value for name, value in data.items() if value is not None}
    with pytest.raises(InputError) as error:
        getattr(door, verb)(data)
    assert error.value.field == field


def test_it_loads_without_django_or_scipy_and_prints_nothing():
    code = (
        "import sys; from acoustics.takeoff import door;"
        "door.lengths({'stock': [{'length_mm': 3000, 'price': '7'}], 'pieces': [{'label': 'a', 'length_mm': 900,"
        " 'quantity': 7}]});"
        "sys.exit(any(m in sys.modules for m in ('django', 'scipy')))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
