"""A surface measured again: studs, tracks, bars and membranes that are not cut are planned anew, the rest is used."""

import json

import pytest

from contractor.fitting.bridge import remeasured
from contractor.fitting.pack import pack_document
from contractor.rooms.inputs import gather
from contractor.rooms.takeoff.document import take_off
from tests.rooms.scenes import BAR_LINING, FRAME_LINING, bedroom


@pytest.fixture
def document(db) -> dict:
    """Alcoves lined with a steel frame, and a window wall with bars."""
    scene = bedroom()
    scene.build(FRAME_LINING, patch=scene.alcoves)
    scene.build(BAR_LINING, patch=scene.window_wall)
    return json.loads(json.dumps(pack_document(take_off(gather(scene.scheme)))))


def face_of(document: dict, words: str) -> dict:
    return next(face for face in document["faces"] if words in face["label"])


def cuts_of(face: dict, mark: str) -> dict[str, dict]:
    return {c["label"]: c for layer in face["layers"] for c in layer["cuts"] if c["label"].startswith(f"{mark}-")}


def assert_whole(document: dict) -> None:
    """Every piece lies once in a length that holds it, and its row names that length."""
    cut_from = [cut["label"] for length in document["lengths"] for cut in length["cuts"]]
    rows = [cut for face in document["faces"] for layer in face["layers"] for cut in layer["cuts"]]
    spare = [s["cut"]["label"] for s in document.get("spare_cuts", [])]
    assert sorted(cut_from) == sorted([*(row["label"] for row in rows), *spare])
    for length in document["lengths"]:
        assert sum(cut["length_mm"] for cut in length["cuts"]) + length["left_mm"] == length["length_mm"]
    assert len({length["number"] for length in document["lengths"]}) == len(document["lengths"])
    for row in rows:
        (place,) = row["length_places"]
        there = next(c for c in document["lengths"][place]["cuts"] if c["label"] == row["label"])
        assert there["length_mm"] == (row.get("as_cut") or row)["length_mm"]


def remeasure(document, words, width_mm=None, height_mm=None, done=()):
    face = face_of(document, words)
    size = (width_mm or face["width_mm"], height_mm or face["height_mm"])
    made, told = remeasured(document, face["key"], *size, set(done))
    assert_whole(made)
    return face_of(made, words), told, made


def test_it_is_whole_to_begin_with(document):
    assert_whole(document)
    assert {length["is_roll"] for length in document["lengths"]} == {True, False}  # the membrane's drops among them


# Studs stop 8 mm short at either end and a track runs along floor and head, so by hand: 20 mm lower, 20 mm shorter.
def test_a_lower_wall_has_shorter_studs_and_drops_and_the_same_tracks(document):
    before = face_of(document, "left part")
    face, told, _ = remeasure(document, "left part", height_mm=before["height_mm"] - 20)
    was, now = cuts_of(before, "S"), cuts_of(face, "S")
    assert {label: cut["length_mm"] - 20 for label, cut in was.items()} == {k: c["length_mm"] for k, c in now.items()}
    drops = [cuts_of(f, "M") for f in (before, face)]
    assert [{c["length_mm"] for c in d.values()} for d in drops][1] == {c["length_mm"] - 20 for c in drops[0].values()}
    assert cuts_of(face, "T").keys() == cuts_of(before, "T").keys()
    assert {c["length_mm"] for c in cuts_of(face, "T").values()} == {
        c["length_mm"] for c in cuts_of(before, "T").values()
    }
    texts = [change["text"] for change in told["changes"]]
    assert any(text.startswith("Cut S-") for text in texts)


def test_a_wider_wall_has_longer_tracks_and_the_other_surface_keeps_its_rows(document):
    before = face_of(document, "left part")
    face, _, made = remeasure(document, "left part", width_mm=before["width_mm"] + 30)
    assert {c["length_mm"] for c in cuts_of(face, "T").values()} == {before["width_mm"] + 30}
    for other in ("right part", "Window wall"):
        rows = [
            [(c["label"], c["length_mm"]) for x in face_of(d, other)["layers"] for c in x["cuts"]]
            for d in (document, made)
        ]
        assert rows[0] == rows[1]


def test_what_is_cut_is_trimmed_and_its_tick_taken_back(document):
    before = face_of(document, "left part")
    studs = cuts_of(before, "S")
    done = [cut["key"] for cut in studs.values()]
    face, told, _ = remeasure(document, "left part", height_mm=before["height_mm"] - 20, done=done)
    assert {c["kind"] for c in told["changes"] if c["label"] in studs} == {"trimmed"}
    assert all(told["ticks"][key] is False for key in done)
    row = next(iter(cuts_of(face, "S").values()))
    assert row["as_cut"]["length_mm"] == row["length_mm"] + 20
    assert row["change"] == f"Trim {row['label']} from {row['length_mm'] + 20:,} to {row['length_mm']:,} mm."


def test_what_is_too_short_now_is_kept_and_cut_anew(document):
    before = face_of(document, "left part")
    stud = next(iter(cuts_of(before, "S").values()))
    face, told, made = remeasure(document, "left part", height_mm=before["height_mm"] + 20, done=[stud["key"]])
    assert [c["kind"] for c in told["changes"] if c["label"] == stud["label"]] == ["spare"]
    assert stud["label"] not in cuts_of(face, "S") and len(cuts_of(face, "S")) == len(cuts_of(before, "S"))
    again, told, made = remeasure(made, "left part", height_mm=before["height_mm"], done=[stud["key"]])
    assert stud["label"] in cuts_of(again, "S") and made["spare_cuts"] == []


def test_what_is_fixed_stands_and_a_frame_that_is_ticked_is_left_alone(document):
    before = face_of(document, "left part")
    studs = cuts_of(before, "S")
    fixed = [key for c in studs.values() for key in (c["key"], c["key"].replace("cut:", "fix:", 1))]
    face, told, _ = remeasure(document, "left part", height_mm=before["height_mm"] - 20, done=fixed)
    assert cuts_of(face, "S") == studs and not told["ticks"]

    order = next(layer["order"] for layer in before["layers"] if any(c["label"] in studs for c in layer["cuts"]))
    step = f"step:{before['key']}:layer-{order}"
    face, _, _ = remeasure(document, "left part", height_mm=before["height_mm"] - 20, done=[step])
    assert cuts_of(face, "S") == studs


def test_bars_follow_the_width_and_use_a_begun_length_first(document):
    before = face_of(document, "Window wall")
    bars = cuts_of(before, "S")
    one = min(bars.values(), key=lambda cut: cut["length_mm"])
    begun = {length["number"] for length in document["lengths"] for c in length["cuts"] if c["label"] == one["label"]}
    face, told, made = remeasure(document, "Window wall", width_mm=before["width_mm"] - 40, done=[one["key"]])
    assert begun <= {length["number"] for length in made["lengths"]}
    assert sum(c["length_mm"] for c in cuts_of(face, "S").values()) < sum(c["length_mm"] for c in bars.values())
    assert told["lengths"] == [] or all(row["is"] <= row["was"] for row in told["lengths"])


def test_twice_the_same_size_changes_nothing_more(document):
    before = face_of(document, "left part")
    _, _, once = remeasure(document, "left part", height_mm=before["height_mm"] - 20)
    _, told, twice = remeasure(once, "left part", height_mm=before["height_mm"] - 20)
    assert told["changes"] == [] and twice["lengths"] == once["lengths"]


def test_taller_than_any_stud_names_the_surface(document):
    from contractor.fitting.bridge import CannotReplan

    for face in document["faces"]:
        for layer in face["layers"]:
            layer["stock"] = [size for size in layer["stock"] if size["length_mm"] <= 2400] or layer["stock"]
    with pytest.raises(CannotReplan, match="left part"):
        remeasure(document, "left part", height_mm=2690)
