"""A pack of a whole room, from its survey by way of the real take-off."""

import pytest

from contractor.common.boards import boards_drawing
from contractor.fitting.pack import pack_document, rows_of
from contractor.rooms.services import calculate
from tests.fitting.test_pack import MONEY_WORDS, words_and_numbers
from tests.rooms.scenes import bedroom


@pytest.fixture
def document(db) -> dict:
    scene = bedroom()
    scene.build_all()
    return pack_document(calculate(scheme=scene.scheme).takeoff)


def test_a_whole_room_can_be_built_from_its_pack(document):
    pieces = [(layer, piece) for face in document["faces"] for layer in face["layers"] for piece in layer["pieces"]]
    cuts = [cut for face in document["faces"] for layer in face["layers"] for cut in layer["cuts"]]
    assert len(pieces) > 20
    assert len(cuts) > 20
    for layer, piece in pieces:
        sheet = document["sheets"][piece["sheet_place"]]
        placed = next(p for p in sheet["placed"] if p["label"] == piece["label"])
        assert {placed["width_mm"], placed["height_mm"]} == {piece["width_mm"], piece["height_mm"]}
        assert layer["screw"] or "joints" in layer["description"], "a board is screwed, or glued along its joints"
    for cut in cuts:
        assert any(
            part == {"label": cut["label"], "length_mm": cut["length_mm"]}
            for place in cut["length_places"]
            for part in document["lengths"][place]["cuts"]
        )
    for face in document["faces"]:
        assert [step["kind"] for step in face["steps"]].count("hold") >= 1, face["label"]
        for layer in face["layers"]:
            drawing = boards_drawing(face, layer)
            assert len(drawing.pieces) == len(layer["pieces"])


def test_it_tells_every_row_apart_and_brings_no_money(document):
    rows = rows_of(document)

    assert len(rows) == sum(
        len(face["steps"]) + sum(len(layer["pieces"]) + len(layer["cuts"]) for layer in face["layers"])
        for face in document["faces"]
    )
    for path, _ in words_and_numbers(document):
        assert not any(word in name for name in path.lower().split(".") for word in MONEY_WORDS), path
