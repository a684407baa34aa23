"""What a pack takes over from a take-off, in what order, and that nothing of the money comes along."""

from decimal import Decimal

import pytest

from contractor.common.packs import lift_words, pack_words
from contractor.fitting.pack import pack_document, rows_of
from contractor.fitting.shapes import care_words, shape_words

MONEY_WORDS = ("cost", "price", "rate", "hours", "markup", "margin", "vat")


def face_of(document: dict, key: str) -> dict:
    return next(face for face in document["faces"] if face["key"] == key)


def test_steps_run_from_preparation_through_the_layers_with_hold_points_after_theirs(takeoff):
    steps = face_of(pack_document(takeoff), "p12-1")["steps"]

    assert [(step["kind"], step["title"]) for step in steps] == [
        ("prepare", "Strip blown plaster to masonry, bag out"),
        ("prepare", "Make good, fill and parge"),
        ("hold", "Substrate sealed. Photo of every hole filled."),
        ("layer", "Clear gap wall to stud"),
        ("layer", "Head and floor track on isolation tape"),
        ("layer", "Steel stud 48"),
        ("hold", "Frame spacing, end gaps, no hard contact, services fixed and tested. Photo."),
        ("layer", "Mineral wool 50 mm, friction fit"),
        ("layer", "Barrier membrane across studs"),
        ("layer", "Dense board 15, layer 1"),
        ("hold", "First layer: joints, screw length, perimeter sealed. Photo before layer 2."),
        ("layer", "Dense board 15, layer 2"),
        ("hold", "Face layer: joints staggered, perimeter sealed, boxes backed, tap test."),
        ("layer", "Skim"),
        ("hold", "Skirting isolated and sealed, no cracks."),
    ]


def test_screws_and_supports_stand_on_the_step_that_needs_them(takeoff):
    steps = {step["title"]: step for step in face_of(pack_document(takeoff), "p12-1")["steps"]}

    assert steps["Dense board 15, layer 2"]["screw"] == {
        "material": "Drywall screws 45 mm",
        "length_mm": 45,
        "centres_mm": 300,
    }
    assert steps["Steel stud 48"]["supports"]["spacing_mm"] == 600
    assert steps["Skim"]["screw"] is None


def test_the_floor_edge_comes_before_the_lining_that_stands_on_it(takeoff):
    keys = [face["key"] for face in pack_document(takeoff)["faces"]]

    assert keys.index("s3") < keys.index("p12-1")


def test_a_hold_point_tied_to_no_layer_stops_the_start(takeoff):
    face = takeoff["faces"][0]
    face["hold_points"] = [
        {"after_order": 8, "text": "Face layer sealed."},
        {"after_order": None, "text": "Before starting: survey on file."},
        {"after_order": 0, "text": "Before starting: engineer has signed."},
    ]

    steps = face_of(pack_document(takeoff), face["key"])["steps"]

    assert [step["title"] for step in steps[:3]] == [
        "Before starting: survey on file.",
        "Before starting: engineer has signed.",
        "Strip blown plaster to masonry, bag out",
    ]


def test_a_hold_point_whose_layer_has_no_step_is_not_lost(takeoff):
    face = takeoff["faces"][0]
    face["layers"] = [layer for layer in face["layers"] if layer["order"] != 4]
    face["hold_points"] = [{"after_order": 4, "text": "Frame free."}, {"after_order": 99, "text": "Look once more."}]

    titles = [step["title"] for step in face_of(pack_document(takeoff), face["key"])["steps"]]

    assert titles[titles.index("Frame free.") + 1] == "Mineral wool 50 mm, friction fit"
    assert titles[-1] == "Look once more."


def test_each_row_has_a_key_of_its_own_that_a_tick_can_hold(takeoff):
    document = pack_document(takeoff)
    rows = rows_of(document)

    count = sum(
        len(face["steps"]) + sum(len(layer["pieces"]) + len(layer["cuts"]) for layer in face["layers"])
        for face in document["faces"]
    )
    assert len(rows) == count == 26 + 25
    assert all(len(key) <= 80 for key in rows)


def test_equal_labels_in_two_rooms_keep_their_own_sheets(takeoff):
    """Two rooms may both have a surface B; numbers run on for each board."""
    twin = {**takeoff["faces"][0], "key": "p99-1", "room": "Box room"}
    twin["layers"] = [
        {**layer, "pieces": [{**piece, "sheet": piece["sheet"] + 6} for piece in layer["pieces"]]}
        for layer in twin["layers"]
    ]
    first = len(takeoff["sheets"])
    takeoff["sheets"] += [{**sheet, "number": sheet["number"] + 6} for sheet in takeoff["sheets"][:6]]
    takeoff["faces"].append(twin)

    document = pack_document(takeoff)

    here, there = (face_of(document, key)["layers"] for key in ("p12-1", "p99-1"))
    assert [p["sheet_place"] for layer in here for p in layer["pieces"]] == [0, 1, 2, 3, 4, 5, 3]
    assert [p["sheet_place"] for layer in there for p in layer["pieces"]] == [
        first + place for place in (0, 1, 2, 3, 4, 5, 3)
    ]
    assert len(rows_of(document)) == 51 + 14 + 16  # the twin's own steps, less its preparation, and its cuts


def test_a_layer_names_the_size_it_is_cut_from(takeoff):
    for sheet in takeoff["sheets"]:
        sheet["material"] = "The same board, 1200 × 2700"

    layers = [layer for face in pack_document(takeoff)["faces"] for layer in face["layers"]]

    assert {layer["material"] for layer in layers if any(p["sheet_place"] is not None for p in layer["pieces"])} == {
        "The same board, 1200 × 2700"
    }
    assert all(layer["material"] for layer in layers)


def words_and_numbers(node, path=""):
    if isinstance(node, dict):
        for name, inner in node.items():
            yield from words_and_numbers(inner, f"{path}.{name}")
    elif isinstance(node, list):
        for inner in node:
            yield from words_and_numbers(inner, path)
    else:
        yield path, node


def test_the_document_holds_no_cost_price_rate_or_hour(takeoff):
    for i, face in enumerate(takeoff["faces"]):
        face["materials_cost"] = f"91827{i}.64"
    for row in takeoff["buy"]:
        row["pack_price"] = row["cost"] = "918273.64"

    for path, value in words_and_numbers(pack_document(takeoff)):
        assert not any(word in name for name in path.lower().split(".") for word in MONEY_WORDS), path
        assert "91827" not in str(value), path


# Common practice for lifting boards, from memory: under 20 kg one person, to 40 kg two, above that not by hand.
@pytest.mark.parametrize(
    "mass_kg, words",
    [
        ("19.9", "One person"),
        ("20", "Two people"),
        ("36.9", "Two people"),  # a dense 15 mm board of 1200 × 2400
        ("40", "Two people"),
        ("46.1", "Over 40 kg: a smaller sheet, or a trolley and a lift"),  # the same board, 3,000 long
    ],
)
def test_how_many_lift_a_piece(mass_kg, words):
    assert lift_words(Decimal(mass_kg)) == words


@pytest.mark.parametrize(
    "outline, words",
    [
        ([[0, 0], [1200, 0], [1200, 2385], [0, 2385]], ""),
        (
            [[0, 0], [1200, 0], [1200, 2000], [900, 2000], [900, 2385], [0, 2385]],
            "L: cut 300 wide × 385 high out at the top right.",
        ),
        (
            [[1200, 10], [2100, 10], [2100, 895], [1495, 895], [1495, 2105], [2100, 2105], [2100, 2395], [1200, 2395]],
            "U: cut 605 wide × 1,210 high out of the right edge, from 885 up.",
        ),
        (
            [[0, 0], [300, 0], [300, 900], [700, 900], [700, 0], [1200, 0], [1200, 2000], [0, 2000]],
            "U: cut 400 wide × 900 high out of the bottom edge, from 300 in from the left.",
        ),
        (
            [[200, 0], [1000, 0], [1000, 500], [1200, 500], [1200, 2000], [0, 2000], [0, 300], [200, 300]],
            "Shaped: cut 200 wide × 300 high out at the bottom left; cut 200 wide × 500 high out at the bottom right.",
        ),
        ([[0, 0], [1200, 0], [1200, 1800], [0, 2400]], ""),  # the engine's own note gives its corners
    ],
)
def test_a_shape_is_said_as_what_to_cut_out_of_it(outline, words):
    assert shape_words(outline, []) == words


def test_a_hole_is_said_from_the_piece_s_own_corner():
    board, hatch = (
        [[600, 10], [1800, 10], [1800, 2395], [600, 2395]],
        [[900, 310], [1300, 310], [1300, 710], [900, 710]],
    )

    assert shape_words(board, [hatch]) == "Shaped: hole 400 wide × 400 high, 300 in from the left and 300 up."


@pytest.mark.parametrize("leg_mm, words", [(99, "Narrow leg: two people, support it"), (100, "")])
def test_a_narrow_leg_asks_for_care(leg_mm, words):
    beside_a_window = [[0, 0], [1200, 0], [1200, 900], [leg_mm, 900], [leg_mm, 2385], [0, 2385]]

    assert care_words(beside_a_window) == words


@pytest.mark.parametrize(
    "packs, quantity, unit, words",
    [
        (6, 1, "sheet", "6 sheets"),
        (1, 1, "roll", "1 roll"),
        (1, 12, "slab", "1 pack of 12 slabs"),
        (3, 1000, "screw", "3 packs of 1,000 screws"),
        (4, 1, "each", "4"),
        (2, 1, "m2", "2 m²"),
    ],
)
def test_how_many_should_be_on_site(packs, quantity, unit, words):
    assert pack_words({"packs": packs, "pack_quantity": quantity, "pack_unit": unit}) == words
