"""Shapes, boxes, stored offcuts, boards per layer, and what is said of bad input."""

from dataclasses import replace

import pytest

from acoustics.takeoff import (
    Board,
    BoardRules,
    Gaps,
    InputError,
    SocketBox,
    StoredOffcut,
    Supports,
    Surface,
    lay_boards,
    lay_job,
)
from tests.acoustics.takeoff import verify

BOARD = Board(name="15", mass_kg_m2=12.8)


def rectangle(width, height):
    return ((0, 0), (width, 0), (width, height), (0, height))


WALL = Surface(name="Wall", outline_mm=rectangle(3600, 2400))


def test_over_a_door_the_pieces_are_cut_to_an_l():
    door = replace(WALL, openings_mm=(((1300, 0), (2138, 0), (2138, 2040), (1300, 2040)),))
    layout = lay_boards(door, BOARD, BoardRules(orientation="upright"), seconds=1)
    shaped = [p for p in layout.pieces() if p.shape_offsets]
    # one joint stands over the head, so the boards on its two sides are cut to an L of six corners
    assert len(shaped) == 2
    assert all(len(p.shape_offsets) == 6 for p in shaped)
    assert all(min(x for x, _ in p.shape_offsets) == min(y for _, y in p.shape_offsets) == 0 for p in shaped)
    joints = [j.x1_mm for layer in layout.layers for j in layer.joints]
    assert any(1300 + 150 <= x <= 2138 - 150 for x in joints)


def test_a_hatch_inside_one_board_is_a_hole_in_it():
    hatch = replace(WALL, openings_mm=(((300, 900), (500, 900), (500, 1200), (300, 1200)),))
    layout = lay_boards(hatch, BOARD, BoardRules(orientation="upright"), seconds=1)
    (holed,) = [p for p in layout.pieces() if p.cutouts_mm]
    assert sorted(holed.cutouts_mm[0]) == [(300, 900), (300, 1200), (500, 900), (500, 1200)]
    assert sorted(holed.cutout_offsets[0])[0] == (295, 890)


def test_a_box_is_cut_out_two_millimetres_larger_all_round():
    wall = replace(WALL, boxes=(SocketBox(x_mm=1500, y_mm=450, width_mm=146, height_mm=86),))
    layout = lay_boards(wall, BOARD, seconds=0.5)
    ((piece, cut),) = [(p, c) for p in layout.pieces() for c in p.box_cuts]
    left = min(x for x, _ in piece.outline_mm)
    assert (cut.width_mm, cut.height_mm) == (150, 90)
    assert (cut.from_left_mm, cut.above_floor_mm) == (1498 - left, 448)


def test_a_box_on_a_joint_is_reported():
    wall = replace(WALL, boxes=(SocketBox(x_mm=1150, y_mm=450, width_mm=146, height_mm=86),))
    layout = lay_boards(wall, BOARD, BoardRules(orientation="upright"), seconds=0.5)
    assert any(n.code == "box_on_joint" for n in layout.notices) == any(
        1150 < j.x1_mm < 1296 for layer in layout.layers for j in layer.joints
    )


def test_joints_keep_clear_of_a_box_where_they_can():
    # a box at each of two supports; boards upright, so joints at 600 and 1800 or 1200 and 2400 are usual
    boxes = tuple(SocketBox(x_mm=x, y_mm=450, width_mm=146, height_mm=86) for x in (1150, 2330))
    layout = lay_boards(replace(WALL, boxes=boxes), BOARD, BoardRules(orientation="upright"), seconds=1)
    joints = [j.x1_mm for layer in layout.layers for j in layer.joints]
    assert joints and not any(1098 < x < 1348 or 2278 < x < 2528 for x in joints)
    assert not any(n.code.startswith("box") for n in layout.notices)


def test_a_box_may_go_through_some_layers_only():
    wall = replace(WALL, layers=2, boxes=(SocketBox(x_mm=800, y_mm=450, width_mm=146, height_mm=86, layers=(2,)),))
    layout = lay_boards(wall, BOARD, seconds=0.5)
    assert {p.layer for p in layout.pieces() if p.box_cuts} == {2}


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"x_mm": 3500}, "boxes[0].x_mm", "does not lie on the boards"),
        ({"width_mm": 0}, "boxes[0].width_mm", "above zero"),
        ({"layers": (3,)}, "boxes[0].layers", "layers 1 to 1"),
    ],
)
def test_a_box_off_its_surface_is_named(changes, field, words):
    box = replace(SocketBox(x_mm=1500, y_mm=450, width_mm=146, height_mm=86), **changes)
    with pytest.raises(InputError, match=words) as error:
        lay_boards(replace(WALL, boxes=(box,)), BOARD, seconds=0.2)
    assert error.value.field == field
    assert "Wall: box 1" in error.value.message


def test_each_layer_may_be_of_its_own_board_and_boards_are_not_mixed():
    thin, thick = Board(name="12.5", mass_kg_m2=10.6), BOARD
    wall = replace(WALL, layers=2, boards=(thin, thick))
    layout = lay_boards(wall, seconds=1)
    assert layout.counts == {"12.5": 3, "15": 3}
    board_of = {sheet.number: sheet.board for sheet in layout.sheets}
    for layer in layout.layers:
        assert {board_of[p.sheet] for p in layer.pieces} == {layer.board}
    assert verify.layout_faults(layout, [wall], BoardRules()) == []


def test_stored_offcuts_are_cut_before_a_new_sheet_but_not_for_the_face():
    nib = Surface(name="Nib", outline_mm=rectangle(500, 1800), layers=2)
    kept = StoredOffcut(label="J7-S3-O1", board="15", width_mm=600, height_mm=2000)
    layout = lay_boards(nib, BOARD, offcuts=(kept, replace(kept, label="J7-S4-O1")), seconds=0.5)
    origin = {sheet.number: sheet.from_offcut for sheet in layout.sheets}
    assert [origin[layer.pieces[0].sheet] != "" for layer in layout.layers] == [True, False]
    assert layout.count == 1
    assert layout.lower_bound <= layout.count
    assert verify.layout_faults(layout, [nib], BoardRules()) == []


def test_a_layout_tells_which_stored_offcut_goes_where():
    strips = [Surface(name=f"Reveal {i}", outline_mm=rectangle(410, 1800)) for i in (1, 2)]
    kept = [StoredOffcut(label=f"J7-S{i}-O1", board="15", width_mm=450, height_mm=2000) for i in (3, 4)]
    layout = lay_job([WALL, *strips], BOARD, offcuts=kept, seconds=0.5)
    assert sorted(use.label for use in layout.offcuts_used) == ["J7-S3-O1", "J7-S4-O1"]
    assert sorted(use.surfaces for use in layout.offcuts_used) == [("Reveal 1",), ("Reveal 2",)]
    for use in layout.offcuts_used:
        assert {piece.label for piece in layout.pieces() if piece.sheet == use.sheet} == set(use.pieces)
    assert layout.count == 3


def test_a_surface_takes_no_offcut_smaller_than_its_rules_ask():
    ceiling = Surface(name="Ceiling", outline_mm=rectangle(360, 1300), rules=BoardRules(keep_short_mm=400))
    small = StoredOffcut(label="small", board="15", width_mm=380, height_mm=1400)
    assert lay_boards(ceiling, BOARD, offcuts=[small], seconds=0.3).offcuts_used == ()
    assert len(lay_boards(replace(ceiling, rules=None), BOARD, offcuts=[small], seconds=0.3).offcuts_used) == 1


def test_an_offcut_of_another_board_is_left_alone():
    nib = Surface(name="Nib", outline_mm=rectangle(500, 1800))
    other = StoredOffcut(label="x", board="12.5", width_mm=600, height_mm=2000)
    assert lay_boards(nib, BOARD, offcuts=(other,), seconds=0.5).count == 1


def test_pooling_a_job_saves_sheets():
    strips = [Surface(name=f"R{i}", outline_mm=rectangle(410, 2410)) for i in range(4)]
    assert sum(lay_boards(s, BOARD, seconds=0.3).count for s in strips) == 4
    assert lay_job(strips, BOARD, seconds=1).count == 2


def test_a_ceiling_lies_across_its_joists_with_end_joints_on_them():
    ceiling = Surface(
        name="Ceiling",
        outline_mm=rectangle(3300, 4200),
        layers=2,
        supports=Supports(spacing_mm=400, direction="horizontal"),
    )
    rules = BoardRules(stagger_mm=400, course_stagger_mm=400, orientation="across")
    layout = lay_boards(ceiling, BOARD, rules, seconds=1)
    assert verify.layout_faults(layout, [ceiling], rules) == []
    assert {layer.orientation for layer in layout.layers} == {"across"}


def test_a_surface_may_have_rules_of_its_own():
    ceiling = Surface(
        name="Ceiling",
        outline_mm=rectangle(3300, 2400),
        supports=Supports(spacing_mm=400, direction="horizontal"),
        rules=BoardRules(orientation="across", stagger_mm=400, course_stagger_mm=400),
    )
    rules = BoardRules(orientation="upright")
    layout = lay_job([WALL, ceiling], BOARD, rules, seconds=1)
    assert [layer.orientation for layer in layout.layers] == ["upright", "across"]
    assert verify.layout_faults(layout, [WALL, ceiling], rules) == []


WINDOW = replace(
    WALL,
    outline_mm=rectangle(4200, 2700),
    openings_mm=(((1500, 900), (3300, 900), (3300, 2100), (1500, 2100)),),
)


def test_what_a_window_leaves_is_cut_before_a_new_sheet():
    rules = BoardRules(reuse_cutouts=True, stagger_mm=300, course_stagger_mm=300)
    strips = [Surface(name=f"R{i}", outline_mm=rectangle(430, 1000)) for i in range(2)]
    layout = lay_job([WINDOW, *strips], BOARD, rules, seconds=2)
    assert verify.layout_faults(layout, [WINDOW, *strips], rules) == []
    plain = lay_job([WINDOW, *strips], BOARD, replace(rules, reuse_cutouts=False), seconds=2)
    assert not any(sheet.cut_out for sheet in plain.sheets)
    assert layout.count <= plain.count


CROSSED = ((0, 0), (3600, 0), (0, 2400), (3600, 2400))


@pytest.mark.parametrize(
    ("surface", "board", "field", "words"),
    [
        (replace(WALL, outline_mm=CROSSED), BOARD, "outline_mm", "crosses"),
        (replace(WALL, outline_mm=((0, 0), (10, 0))), BOARD, "outline_mm", "three corners"),
        (replace(WALL, openings_mm=(CROSSED,)), BOARD, "openings_mm[0]", "opening 1"),
        (replace(WALL, openings_mm=(rectangle(3600, 2400),)), BOARD, "outline_mm", "nothing is left"),
        (replace(WALL, gaps_mm=Gaps(sides_mm=1900)), BOARD, "outline_mm", "nothing is left"),
        (replace(WALL, supports=Supports(spacing_mm=0)), BOARD, "supports.spacing_mm", "above zero"),
        (replace(WALL, supports=Supports(spacing_mm=2500)), BOARD, "supports.spacing_mm", "set them closer"),
        (
            replace(WALL, supports=Supports(spacing_mm=1300), rules=BoardRules(orientation="upright")),
            BOARD,
            "supports.spacing_mm",
            "too wide apart for a board of 1200",
        ),
        (replace(WALL, layers=0), BOARD, "layers", "one layer"),
        (replace(WALL, boards=(BOARD, BOARD)), BOARD, "boards", "one board for each"),
        (WALL, None, "boards", "no board"),
        (WALL, Board(width_mm=2400, height_mm=1200), "board.width_mm", "swap"),
        (WALL, Board(width_mm=0, height_mm=1200), "board.width_mm", "above zero"),
    ],
)
def test_bad_input_names_the_field_and_the_surface(surface, board, field, words):
    with pytest.raises(InputError) as error:
        lay_boards(surface, board, seconds=0.2)
    assert error.value.field == field
    assert words in error.value.message
    assert "Wall" in error.value.message


def test_in_a_job_the_field_says_which_surface():
    with pytest.raises(InputError) as error:
        lay_job([WALL, replace(WALL, name="Other", outline_mm=CROSSED)], BOARD)
    assert error.value.field == "surfaces[1].outline_mm"
    with pytest.raises(InputError, match="Two surfaces"):
        lay_job([WALL, WALL], BOARD)
