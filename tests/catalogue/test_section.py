"""Sections are to scale, tell their layers apart, and say in words what they draw."""

import re
from itertools import pairwise

import pytest
from django.template.loader import render_to_string

from contractor.catalogue.models import BuildUp, Construction
from contractor.catalogue.section import section_of_build_up, section_of_construction
from contractor.catalogue.section_drawing import UNIT
from tests.factories import BuildUpFactory, BuildUpLayerFactory


@pytest.fixture
def sections(seed):
    found = {c.key: section_of_construction(c) for c in Construction.objects.prefetch_related("layers__material")} | {
        b.key: section_of_build_up(b) for b in BuildUp.objects.prefetch_related("layers__material")
    }
    return {key: section for key, section in found.items() if section}


def test_depths_are_to_scale(sections):
    for key, section in sections.items():
        start, end = section.dimension
        assert (end - start) / UNIT == pytest.approx(section.depth_mm, abs=0.2), key
        for left, right in pairwise(section.outlines):
            assert left.x + left.width == right.x, key


def test_the_depth_drawn_is_the_depth_lost(sections):
    for build_up in BuildUp.objects.filter(key__in=sections):
        assert sections[build_up.key].depth_mm == pytest.approx(float(build_up.depth_mm), abs=0.1), build_up.key


def test_balloons_never_overlap_and_stay_on_the_sheet(sections):
    for key, section in sections.items():
        reach = section.unit["balloon"]
        for left, right in pairwise(section.balloons):
            assert right.x - left.x >= 2 * reach, key
        assert all(reach <= balloon.x <= section.width - reach for balloon in section.balloons), key


def test_everything_lies_within_the_sheet(sections):
    for key, section in sections.items():
        for box in section.outlines + section.boxes:
            assert box.x >= 0 and box.x + box.width <= section.width, key
            assert box.y >= section.top and box.y + box.height <= section.bottom, key


def test_every_layer_with_depth_has_its_balloon_and_its_words(sections):
    for build_up in BuildUp.objects.filter(key__in=sections).prefetch_related("layers"):
        section = sections[build_up.key]
        numbers = [balloon.number for balloon in section.balloons]
        for layer in build_up.layers.all():
            if layer.counts_in_depth and layer.thickness_mm:
                assert layer.order in numbers, build_up.key
                assert layer.description[1:] in section.text, build_up.key


def test_the_drawing_is_an_accessible_image_of_whole_numbers_without_styles(sections):
    for key, section in sections.items():
        svg = render_to_string("drawings/section.svg", {"section": section})
        assert 'role="img"' in svg and section.title in svg, key
        assert "<desc" in svg and "style=" not in svg and "class=" not in svg, key
        for name in ("x", "y", "width", "height", "x1", "y1", "x2", "y2", "r", "cx", "cy", "font-size", "stroke-width"):
            for value in re.findall(rf'\s{name}="([^"]*)"', svg):
                assert re.fullmatch(r"-?\d+", value), (key, name, value)


def test_a_build_up_without_depth_has_no_section(db):
    build_up = BuildUpFactory()
    BuildUpLayerFactory(build_up=build_up, counts_in_depth=False, thickness_mm=0)
    assert section_of_build_up(build_up) is None
