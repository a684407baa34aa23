"""Drawings of boards: what is drawn stands on the paper, in its place, at a size that can be read."""

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest
from django.template.loader import render_to_string

from contractor.common.boards import boards_drawing, sheet_drawing

TAKEOFF = json.loads((Path(__file__).parent.parent / "fitting" / "takeoff.json").read_text())
FACES = {face["key"]: face for face in TAKEOFF["faces"]}


def layer_of(face_key: str, order: int) -> dict:
    return next(layer for layer in FACES[face_key]["layers"] if layer["order"] == order)


def drawn(face_key: str, order: int, **options):
    return boards_drawing(FACES[face_key], layer_of(face_key, order), **options)


BOARD_LAYERS = [(f["key"], layer["order"]) for f in TAKEOFF["faces"] for layer in f["layers"] if layer["pieces"]]


@pytest.mark.parametrize("face_key, order", BOARD_LAYERS)
def test_every_piece_is_drawn_labelled_and_on_the_paper(face_key, order):
    drawing = drawn(face_key, order)

    labels = [shape.labels[0].text for shape in drawing.pieces]
    assert labels == [piece["label"] for piece in layer_of(face_key, order)["pieces"]]
    for shape in drawing.pieces:
        for corner in shape.points.split():
            x, y = map(int, corner.split(","))
            assert 0 <= x <= drawing.paper.width
            assert 0 <= y <= drawing.paper.height


@pytest.mark.parametrize("face_key, order", BOARD_LAYERS)
def test_no_label_stands_in_an_opening(face_key, order):
    drawing = drawn(face_key, order)

    for opening in drawing.openings:
        xs, ys = zip(*(map(int, corner.split(",")) for corner in opening.points.split()), strict=True)
        for label in (label for shape in drawing.pieces for label in shape.labels):
            assert not (min(xs) < label.x < max(xs) and min(ys) < label.y < max(ys)), label


@pytest.mark.parametrize("face_key, order", BOARD_LAYERS)
def test_lettering_comes_out_at_the_size_asked_for(face_key, order):
    drawing = drawn(face_key, order, box=(348, 460), lettering=13)

    scale = min(348 / drawing.paper.width, 460 / drawing.paper.height)
    assert drawing.paper.lettering * scale == pytest.approx(13, rel=0.05)


def test_supports_stand_where_the_layer_says_and_stop_at_the_window():
    drawing = drawn("p14-1", 2)

    rows = {line.y1 for line in drawing.supports}
    heights = sorted(drawing.paper.y(0) - y for y in rows)
    assert heights == [60, 660, 1260, 1860]
    at_window = [line for line in drawing.supports if drawing.paper.y(0) - line.y1 == 1260]
    assert sorted((line.x1 - drawing.paper.x(0), line.x2 - drawing.paper.x(0)) for line in at_window) == [
        (0, 1500),
        (2700, 4200),
    ]


def test_the_dimensions_give_the_whole_and_each_piece():
    figures = [d.label for d in drawn("p12-1", 8).dimensions]

    assert figures == ["3,600", "2,400", "595", "1,200", "1,200", "595"]


def test_a_face_without_an_outline_has_no_drawing():
    assert boards_drawing(FACES["s3"], FACES["s3"]["layers"][0]) is None


def test_a_sheet_numbers_its_cuts_in_order_and_says_them_in_words():
    sheet = {
        "number": 4,
        "width_mm": 1200,
        "height_mm": 2400,
        "placed": [{"label": "L2-B-01", "x_mm": 0, "y_mm": 0, "width_mm": 595, "height_mm": 2385}],
        "offcuts": [],
        "cuts": [[595, 0, 595, 2400], [0, 2385, 595, 2385]],
    }

    drawing = sheet_drawing(sheet, ours=set())

    assert [cut.text for cut in drawing.cuts] == ["595 mm from the left, 2,400 mm long", "2,385 mm up, 595 mm long"]
    assert [mark.text for mark in drawing.cut_marks] == ["1", "2"]
    assert "Cut 2: 2,385 mm up, 595 mm long." in drawing.text
    assert [shape.is_ours for shape in drawing.pieces] == [False]


@pytest.mark.parametrize(
    "name, drawing", [("boards", drawn("p14-1", 2)), ("cuts", sheet_drawing(TAKEOFF["sheets"][3]))]
)
def test_the_svg_is_whole_named_and_carries_no_style(name, drawing):
    svg = render_to_string(f"drawings/{name}.svg", {"drawing": drawing})

    root = ElementTree.fromstring(svg)
    names = {element.get("id"): element.text for element in root if element.get("id")}
    title_id, text_id = root.get("aria-labelledby").split()
    assert names[title_id] == drawing.title
    assert names[text_id] == drawing.text
    assert not any({"style", "class"} & set(element.attrib) for element in root.iter())
