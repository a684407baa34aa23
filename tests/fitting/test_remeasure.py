"""A surface measured again on site: what is cut stays in use, the rest is planned anew, and the page shows which.

The party wall of the take-off is 3,600 × 2,400 with boards of 1,200 × 2,400, studs at 600, gaps of 5 at the sides and
head and 10 at the floor: sizes below are reckoned from that by hand.
"""

import json

import pytest
from django.urls import reverse

from contractor.accounts.models import AuditEntry, Role
from contractor.fitting.bridge import CannotReplan, can_remeasure, remeasured
from contractor.fitting.models import Tick, WorkPack
from contractor.fitting.pack import pack_document, rows_of
from contractor.fitting.services import ChangedMeanwhile, remeasure, set_tick
from tests.conftest import signed_in
from tests.factories import UserFactory

FIRST_LAYER = [f"cut:p12-1:7:L1-B-0{n}" for n in (1, 2, 3)]


def wall_of(document: dict, key: str = "p12-1") -> dict:
    return next(face for face in document["faces"] if face["key"] == key)


def pieces_of(document: dict, key: str = "p12-1") -> dict[str, dict]:
    return {p["label"]: p for layer in wall_of(document, key)["layers"] for p in layer["pieces"]}


def kinds(told: dict) -> dict[str, str]:
    return {change["label"]: change["kind"] for change in told["changes"]}


def area_m2(pieces: dict) -> float:
    def ring(points):
        pairs = zip(points, points[1:] + points[:1], strict=True)
        return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs)) / 2e6

    return sum(ring(p["outline_mm"]) for p in pieces.values())


def assert_whole(document: dict) -> None:
    """Every piece lies once, at its size, inside the sheet it names, and overlaps nothing there."""
    on_sheets = [part["label"] for sheet in document["sheets"] for part in sheet["placed"]]
    pieces = [p for face in document["faces"] for layer in face["layers"] for p in layer["pieces"]]
    spare = [s["piece"]["label"] for s in document["spare"]]
    assert sorted(on_sheets) == sorted([*(p["label"] for p in pieces), *spare])
    for piece in pieces:
        sheet = document["sheets"][piece["sheet_place"]]
        part = next(part for part in sheet["placed"] if part["label"] == piece["label"])
        cut = piece.get("as_cut") or piece
        assert sorted((part["width_mm"], part["height_mm"])) >= sorted((cut["width_mm"], cut["height_mm"]))
        assert sheet["number"] == piece["sheet"]
    for sheet in document["sheets"]:
        boxes = [(p["x_mm"], p["y_mm"], p["x_mm"] + p["width_mm"], p["y_mm"] + p["height_mm"]) for p in sheet["placed"]]
        assert all(
            x0 >= 0 and y0 >= 0 and x1 <= sheet["width_mm"] and y1 <= sheet["height_mm"] for x0, y0, x1, y1 in boxes
        )
        for i, a in enumerate(boxes):
            assert all(a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1] for b in boxes[i + 1 :])


@pytest.fixture
def document(takeoff):
    return pack_document(takeoff)


def test_three_millimetres_more_are_left_to_the_sealant(document):
    before = json.dumps(document)
    made, told = remeasured(document, "p12-1", 3603, 2400, set(FIRST_LAYER))
    assert {kinds(told)[key.split(":")[-1]] for key in FIRST_LAYER} == {"as_cut"}
    assert any("wider gap" in change["text"] for change in told["changes"])
    assert told["ticks"] == {}
    assert_whole(made)
    assert json.dumps(document) == before


def test_a_lower_wall_trims_what_is_cut_and_plans_the_rest(document):
    made, told = remeasured(document, "p12-1", 3600, 2380, set(FIRST_LAYER))
    pieces = pieces_of(made)
    assert {label: kind for label, kind in kinds(told).items() if label.startswith("L1")} == {
        "L1-B-01": "trimmed",
        "L1-B-02": "trimmed",
        "L1-B-03": "trimmed",
    }
    assert {p["height_mm"] for p in pieces.values()} == {2365}  # 2,380 less 10 below and 5 above
    assert pieces["L1-B-01"]["as_cut"]["height_mm"] == 2385
    assert told["ticks"] == dict.fromkeys(FIRST_LAYER, False)
    assert wall_of(made)["height_mm"] == 2380
    assert area_m2(pieces) == pytest.approx(2 * 3.590 * 2.365)
    assert_whole(made)


def test_twenty_millimetres_more_needs_a_board_more(document):
    made, told = remeasured(document, "p12-1", 3620, 2400, set(FIRST_LAYER))
    assert area_m2(pieces_of(made)) == pytest.approx(2 * 3.610 * 2.385)
    assert {s["material"]: s["is"] - s["was"] for s in told["sheets"]}["Dense board 15 mm, 1200 × 2400"] > 0
    assert_whole(made)


def test_a_stored_offcut_that_is_cut_into_stays_one(document):
    place = pieces_of(document)["L1-B-01"]["sheet_place"]
    document["sheets"][place]["from_offcut"] = "7/BB-3-1"
    made, _ = remeasured(document, "p12-1", 3600, 2380, {FIRST_LAYER[0]})
    assert made["sheets"][pieces_of(made)["L1-B-01"]["sheet_place"]]["from_offcut"] == "7/BB-3-1"
    assert sum(bool(sheet["from_offcut"]) for sheet in made["sheets"]) == 1


def test_a_size_taken_back_before_anything_is_trimmed_finds_the_boards_as_they_were(document):
    lower, _ = remeasured(document, "p12-1", 3600, 2380, set(FIRST_LAYER))
    back, told = remeasured(lower, "p12-1", 3600, 2400, set())  # the ticks are taken back, nothing is trimmed yet
    assert {kinds(told)[key.split(":")[-1]] for key in FIRST_LAYER} == {"as_cut"}
    assert told["ticks"] == dict.fromkeys(FIRST_LAYER, True)
    assert not any(p.get("as_cut") for p in pieces_of(back).values())
    assert_whole(back)


def test_trimmed_boards_are_too_short_for_the_old_height_and_stay_known_as_spare(document):
    lower, _ = remeasured(document, "p12-1", 3600, 2380, set(FIRST_LAYER))
    higher, told = remeasured(lower, "p12-1", 3600, 2400, set(FIRST_LAYER))  # trimmed and ticked again
    assert [kinds(told)[key.split(":")[-1]] for key in FIRST_LAYER] == ["spare"] * 3
    assert [s["piece"]["label"] for s in higher["spare"]] == ["L1-B-01", "L1-B-02", "L1-B-03"]
    assert_whole(higher)
    lower_again, told = remeasured(higher, "p12-1", 3600, 2380, set(FIRST_LAYER))
    assert lower_again["spare"] == []
    assert {kinds(told)[key.split(":")[-1]] for key in FIRST_LAYER} == {"as_cut"}
    assert_whole(lower_again)


def test_openings_and_slopes_are_kept_and_other_surfaces_keep_their_pieces(document):
    made, _ = remeasured(document, "p14-1", 4190, 2400, {"cut:p14-1:2:L1-C-02"})
    assert area_m2(pieces_of(made, "p14-1")) == pytest.approx(4.180 * 2.385 - 1.210 * 1.210)
    shapes = {label: p["outline_mm"] for label, p in pieces_of(made, "p12-1").items()}
    assert shapes == {label: p["outline_mm"] for label, p in pieces_of(document, "p12-1").items()}
    assert_whole(made)
    nib, _ = remeasured(document, "p15-2", 1340, 2390, set())
    assert wall_of(nib, "p15-2")["outline_mm"] == [
        [0, 0],
        [1340, 0],
        [1340, 2100],
        [1100, 2100],
        [1100, 2390],
        [0, 2390],
    ]
    assert_whole(nib)


def test_a_size_that_leaves_an_opening_outside_is_refused_by_name(document):
    with pytest.raises(CannotReplan, match="C Window wall"):
        remeasured(document, "p14-1", 2600, 2400, set())


def test_only_surfaces_with_boards_can_be_measured_again(document):
    assert [face["key"] for face in document["faces"] if can_remeasure(face)] == ["p12-1", "p14-1", "p15-2"]


@pytest.mark.django_db
class TestOnThePhone:
    def url(self, pack, name="measure", key="p12-1"):
        return reverse(f"fitting:{name}", args=[pack.job.number, key])

    def cut_first_layer(self, pack, user):
        for key in FIRST_LAYER:
            set_tick(pack=pack, key=key, is_done=True, user=user)

    def test_the_difference_shows_before_anything_changes(self, fitter, pack):
        self.cut_first_layer(pack, fitter.user)
        answer = fitter.post(self.url(pack), {"width_mm": "3600", "height_mm": "2.38 m"})
        page = answer.content.decode()
        assert answer.status_code == 200
        assert "Was 3,600 × 2,400 mm, is 3,600 × 2,380 mm." in page
        assert "Trim L1-B-01 from 1,195 × 2,385 to 1,195 × 2,365 mm." in page and "Take this size" in page
        assert WorkPack.objects.get().document == pack.document

    def test_taken_it_is_the_list_to_cut_from(self, fitter, pack):
        self.cut_first_layer(pack, fitter.user)
        size = {"width_mm": "3600", "height_mm": "2380", "confirmed": "1"}
        assert fitter.post(self.url(pack), size).url == self.url(pack, "cut-face")
        kept = WorkPack.objects.get()
        assert {p["height_mm"] for p in pieces_of(kept.document).values()} == {2365}
        assert not Tick.objects.filter(key__in=FIRST_LAYER, is_done=True).exists()
        assert AuditEntry.objects.get(action="Surface measured again").detail["is_mm"] == [3600, 2380]
        page = fitter.get(self.url(pack, "cut-face")).content.decode()
        assert "Measured again" in page and "Trim L1-B-01" in page and "1,195 × 2,365 mm" in page
        set_tick(pack=kept, key=FIRST_LAYER[0], is_done=True, user=fitter.user)
        assert kept.made_at == pack.made_at and set(FIRST_LAYER) <= set(rows_of(kept.document))
        assert fitter.get(reverse("fitting:pack-pdf", args=[pack.job.number])).status_code == 200

    @pytest.mark.parametrize(
        ("width", "height", "message"),
        [
            ("3950", "2400", "More than 300 mm from the 3,600 mm planned"),
            ("wide", "2400", "Enter a length such as"),
            ("", "2400", "This field is required"),
            ("3600", "2400", "nothing changes"),
        ],
    )
    def test_a_size_that_cannot_be_is_refused_and_stays_typed(self, fitter, pack, width, height, message):
        answer = fitter.post(self.url(pack), {"width_mm": width, "height_mm": height})
        page = answer.content.decode()
        assert answer.status_code == 200 and message in page
        assert f'value="{width}"' in page or not width
        assert "Take this size" not in page

    def test_a_board_ticked_meanwhile_stops_it(self, fitter, pack, monkeypatch):
        from contractor.fitting import services

        def slow(*args):
            set_tick(pack=pack, key=FIRST_LAYER[0], is_done=True, user=fitter.user)
            return remeasured(*args)

        monkeypatch.setattr(services, "remeasured", slow)
        with pytest.raises(ChangedMeanwhile):
            remeasure(pack=pack, face_key="p12-1", width_mm=3600, height_mm=2380, user=fitter.user)
        assert WorkPack.objects.get().document == pack.document

    def test_a_fitter_who_is_not_sent_there_measures_nothing(self, pack):
        elsewhere = signed_in(UserFactory(role=Role.FITTER))
        assert elsewhere.post(self.url(pack), {"width_mm": "3600", "height_mm": "2380"}).status_code == 404

    def test_a_surface_without_boards_has_no_such_page(self, fitter, pack):
        assert fitter.post(self.url(pack, key="p16-1"), {}).status_code == 404
