"""A chimney breast in two layers of 15 mm: who runs past whom, worked on paper."""

import pytest

from acoustics.takeoff import Board, InputError, Supports, Surface, breast_faces, lay_job

BOARD = Board(name="15", thickness_mm=15)


def face(name, width):
    return Surface(
        name=name,
        outline_mm=((0, 0), (width, 0), (width, 2400), (0, 2400)),
        layers=2,
        supports=Supports(spacing_mm=400),
    )


def test_front_runs_past_in_the_first_layer_and_cheeks_in_the_second():
    faces = breast_faces(face("left", 350), face("front", 1500), face("right", 350), thicknesses_mm=(15, 15))
    layout = lay_job(faces, BOARD, seconds=1)

    def width(name, layer):
        pieces = [p for each in layout.of_surface(name) if each.layer == layer for p in each.pieces]
        low = min(x for p in pieces for x, _ in p.outline_mm)
        high = max(x for p in pieces for x, _ in p.outline_mm)
        return low, high

    # first layer: the front covers the edges of both cheeks' boards, 15 mm each way
    assert width("front", 1) == (-15, 1515)
    # and the cheeks stop at the frame's corner, with a 5 mm gap at the inside corner
    assert width("left", 1) == (5, 350)
    assert width("right", 1) == (0, 345)
    # second layer: the cheeks cover the edges of both layers of the front, which stands between them
    assert width("left", 2) == (5, 380)
    assert width("right", 2) == (-30, 345)
    assert width("front", 2) == (-15, 1515)


def test_a_thickness_for_each_layer_is_needed():
    with pytest.raises(InputError) as error:
        breast_faces(face("left", 350), face("front", 1500), face("right", 350), thicknesses_mm=(15,))
    assert error.value.field == "thicknesses_mm"
