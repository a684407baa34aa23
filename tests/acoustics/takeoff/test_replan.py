"""A wall measured again on site, with some of its boards already cut."""

from dataclasses import replace

import pytest

from acoustics.takeoff import Board, BoardRules, InputError, Surface, lay_job, replan
from tests.acoustics.takeoff import verify

BOARD = Board(name="dense 15", mass_kg_m2=12.8)
RULES = BoardRules()


def rectangle(width, height):
    return ((0, 0), (width, 0), (width, height), (0, height))


WALL = Surface(name="Wall B", letter="B", outline_mm=rectangle(3600, 2400), layers=2)
OTHER = Surface(
    name="Wall C",
    letter="C",
    outline_mm=rectangle(2900, 2400),
    openings_mm=(((900, 0), (1738, 0), (1738, 2040), (900, 2040)),),
)


@pytest.fixture(scope="module")
def laid():
    return lay_job([WALL, OTHER], BOARD, RULES, seconds=2)


def labels(layout, layer, surface="Wall B"):
    return [p.label for each in layout.of_surface(surface) if each.layer == layer for p in each.pieces]


def faults(result, surfaces):
    """The verifier on the changed job: spare pieces stand on their sheets and on no wall."""
    found = verify.layout_faults(result.layout, surfaces, RULES)
    spare = set(result.spare)
    trimmed = {p.label for p in result.layout.pieces() if p.trimmed_from_mm}
    return [
        f
        for f in found
        if not (spare and "do not hold the same pieces" in f)
        and not ("another size" in f and f.split(" ")[0] in trimmed)
    ]


def test_three_millimetres_longer_uses_every_cut_board(laid):
    longer = replace(WALL, outline_mm=rectangle(3603, 2400))
    cut = labels(laid, 1)
    result = replan(laid, [WALL, OTHER], longer, cut_labels=cut, board=BOARD, seconds=2)
    kinds = {c.label: c.kind for c in result.changes}
    assert {kinds[label] for label in cut} == {"as_cut"}
    assert result.spare == ()
    assert result.layout.count == laid.count
    # the gap at the end grows from 5 to 8 mm, within the 10 that sealant bridges
    assert any(n.code == "wider_gap" for n in result.layout.notices)
    assert labels(result.layout, 1) == cut


def test_twenty_millimetres_longer_cuts_one_board_anew(laid):
    longer = replace(WALL, outline_mm=rectangle(3620, 2400))
    cut = labels(laid, 1)
    result = replan(laid, [WALL, OTHER], longer, cut_labels=cut, board=BOARD, seconds=2)
    kinds = [c.kind for c in result.changes if c.label.startswith("L1-B")]
    assert kinds.count("as_cut") + kinds.count("trimmed") >= 2
    assert faults(result, [longer, OTHER]) == []


def test_shorter_trims_what_is_cut_and_keeps_the_rest(laid):
    shorter = replace(WALL, outline_mm=rectangle(3570, 2380))
    cut = labels(laid, 1)
    result = replan(laid, [WALL, OTHER], shorter, cut_labels=cut, board=BOARD, seconds=2)
    assert faults(result, [shorter, OTHER]) == []
    assert result.layout.count <= laid.count
    assert {c.kind for c in result.changes if c.label in cut} <= {"as_cut", "trimmed"}
    assert all(p.trimmed_from_mm == (1195, 2385) for p in result.layout.pieces() if p.label == "L1-B-01")


def test_other_surfaces_keep_their_pieces_and_opened_sheets_their_numbers(laid):
    changed = replace(WALL, outline_mm=rectangle(3900, 2400))
    cut = [*labels(laid, 1)[:2], labels(laid, 1, "Wall C")[0]]
    result = replan(laid, [WALL, OTHER], changed, cut_labels=cut, board=BOARD, seconds=2)
    assert faults(result, [changed, OTHER]) == []
    before = {p.label: p for p in laid.pieces()}
    after = {p.label: p for p in result.layout.pieces()}
    for label in labels(laid, 1, "Wall C"):
        assert after[label].outline_mm == before[label].outline_mm
    for label in cut:
        if label in after:
            assert (after[label].sheet, after[label].x_in_sheet_mm) == (
                before[label].sheet,
                before[label].x_in_sheet_mm,
            )


def test_nothing_cut_is_a_new_layout(laid):
    changed = replace(WALL, outline_mm=rectangle(3000, 2400))
    result = replan(laid, [WALL, OTHER], changed, cut_labels=(), board=BOARD, seconds=2)
    assert faults(result, [changed, OTHER]) == []
    assert result.spare == ()
    assert result.layout.count <= laid.count


def test_unknown_labels_are_named(laid):
    with pytest.raises(InputError, match="L9-Z-01") as error:
        replan(laid, [WALL, OTHER], WALL, cut_labels=["L9-Z-01"], board=BOARD)
    assert error.value.field == "cut_labels"
