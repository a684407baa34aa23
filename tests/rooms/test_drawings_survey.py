"""Elevation and plan as numbers: dimensions add up, marks stay clear, and the SVG is well formed and named."""

from xml.etree import ElementTree

import pytest
from django.template.loader import render_to_string
from hypothesis import given
from hypothesis import strategies as st

from contractor.common.drawing import across, chain, lettering_width, paper_for, upward
from contractor.rooms.drawings import elevation_of, opening_marks
from contractor.rooms.models import Opening, Patch
from tests.factories import ConstructionFactory, OpeningFactory, PatchFactory, SurfaceFactory

SVG = "{http://www.w3.org/2000/svg}"


def paper(width_mm=3600, height_mm=2400):
    return paper_for(width_mm=width_mm, height_mm=height_mm, letters_across=24, rows=(2, 1, 1, 3))


def test_the_origin_is_the_bottom_left_and_y_runs_up():
    sheet = paper()
    assert sheet.lettering == 150
    assert (sheet.x(0), sheet.y(2400)) == (sheet.left, sheet.top) == (300, 150)
    assert sheet.y(0) - sheet.y(2400) == 2400
    assert (sheet.width, sheet.height) == (3600 + 450, 2400 + 600)


def test_a_tall_object_gets_wide_margins():
    sheet = paper(width_mm=600, height_mm=2400)
    assert sheet.width > 0.9 * 2400
    assert sheet.left - sheet.right == sheet.lettering  # the margins asked for differ by one height of lettering


def test_dimensions_have_oblique_ticks_and_stand_clear_of_the_object():
    sheet = paper()
    below = across(sheet, 0, 3600, row=2)
    assert below.label == "3,600"
    assert below.line.y1 == below.line.y2 == sheet.y(0) + 300
    assert below.label_y < below.line.y1  # the lettering stands above the line
    for tick in below.ticks:
        assert tick.x2 - tick.x1 == tick.y1 - tick.y2 > 0  # at 45 degrees, rising to the right
    left = upward(sheet, 0, 2400, row=-1)
    assert left.line.x1 == sheet.x(0) - 150
    assert left.is_upright and left.label_x < left.line.x1


@given(st.sets(st.integers(0, 3600), min_size=2, max_size=12))
def test_a_chain_adds_up_and_its_lettering_never_meets(edges):
    dimensions, rows = chain(paper(), edges, row=2, is_upright=False)

    assert sum(int(d.label.replace(",", "")) for d in dimensions) == max(edges) - min(edges)
    assert len(dimensions) == len(edges) - 1
    by_row = {}
    for d in dimensions:
        half = lettering_width(d.label, 150) // 2
        for left, right in by_row.setdefault(d.label_y, []):
            assert d.label_x + half <= left or d.label_x - half >= right
        by_row[d.label_y].append((d.label_x - half, d.label_x + half))
    assert len(by_row) <= rows + 1


@pytest.fixture
def wall(db):
    wall = SurfaceFactory(letter="B", name="Party wall", length_mm=3600, height_mm=2400)
    PatchFactory(surface=wall, name="Rest of the wall")
    PatchFactory(surface=wall, is_rest=False, name="Alcove", x_mm=0, width_mm=1000, height_mm=2400)
    OpeningFactory(surface=wall, x_mm=1800, y_mm=900, width_mm=900, height_mm=1200)
    return wall


def draw(wall, **kwargs):
    return elevation_of(wall, patches=list(wall.patches.all()), openings=list(wall.openings.all()), **kwargs)


class TestElevation:
    def test_the_chain_runs_over_every_edge_and_the_whole_stands_below(self, wall):
        labels = [d.label for d in draw(wall).dimensions]
        assert labels == ["1,000", "800", "900", "900", "3,600", "900", "1,200", "300", "2,400"]

    def test_the_rest_is_marked_clear_of_patches_and_openings(self, wall):
        drawing = draw(wall)
        rest = drawing.patches[0]
        assert rest.mark == "1"
        for part in [*drawing.patches[1:], *drawing.openings]:
            inside = part.x <= rest.mark_x <= part.right and part.y <= rest.mark_y <= part.bottom
            assert not inside

    def test_the_dimension_being_typed_is_marked(self, wall):
        patch = wall.patches.get(is_rest=False)
        patch.x_mm, patch.width_mm = 200, 700

        drawing = elevation_of(wall, patches=[patch], openings=[], edited=patch, marked_field="width_mm")

        assert [(d.label, d.is_marked) for d in drawing.dimensions] == [
            ("200", False),
            ("700", True),
            ("2,700", False),
            ("3,600", False),
            ("2,400", False),
        ]

    def test_what_reaches_outside_is_drawn_there(self, wall):
        patch = Patch(surface=wall, name="Nib", x_mm=3500, y_mm=0, width_mm=400, height_mm=2400)

        drawing = elevation_of(wall, patches=[patch], openings=[], edited=patch)

        (nib,) = drawing.patches
        assert nib.right == drawing.paper.x(3900)
        assert nib.right <= drawing.paper.width
        assert [d.label for d in drawing.dimensions] == ["3,500", "400", "3,600", "2,400"]

    def test_two_kinds_of_masonry_are_hatched_apart(self, wall):
        patches = list(wall.patches.all())
        assert [hatch.kind for hatch in draw(wall).hatches] == ["masonry", "masonry"]
        assert len({hatch.turn for hatch in draw(wall).hatches}) == 2
        patches[1].construction = patches[0].construction
        assert len(elevation_of(wall, patches=patches, openings=[]).hatches) == 1

    def test_hatches_follow_what_it_is_made_of(self, wall):
        made_of = {"floor": "timber", "wall": "board"}
        for kind, expected in made_of.items():
            rest = Patch(
                surface=wall, is_rest=True, name="All", construction=ConstructionFactory(kind=kind, layer=None)
            )
            assert elevation_of(wall, patches=[rest], openings=[]).hatches[0].kind == expected

    def test_openings_are_marked_as_in_a_schedule(self):
        kinds = ["door", "window", "window", "unit"]
        marks = [mark for _, mark in opening_marks([Opening(kind=kind) for kind in kinds])]
        assert marks == ["D1", "W1", "W2", "U1"]

    def test_the_svg_is_well_formed_named_and_of_whole_numbers(self, wall):
        svg = render_to_string("drawings/elevation.svg", {"drawing": draw(wall)})
        root = ElementTree.fromstring(svg)

        assert root.get("role") == "img"
        named = {element.get("id"): element for element in root.iter() if element.get("id")}
        title, text = (named[name] for name in root.get("aria-labelledby").split())
        assert title.text == "Elevation of B Party wall"
        assert "2: Alcove, 1,000 mm wide and 2,400 mm high" in text.text
        assert all("style" not in element.attrib and "class" not in element.attrib for element in root.iter())
        for rect in root.iter(f"{SVG}rect"):
            assert all(rect.get(side).isdigit() for side in ("x", "y", "width", "height"))

    def test_small_ones_have_no_lettering(self, wall):
        root = ElementTree.fromstring(
            render_to_string("drawings/elevation.svg", {"drawing": draw(wall, is_small=True)})
        )
        assert list(root.iter(f"{SVG}text")) == []
