"""The take-off of a whole bedroom: faces, cutting plans, buying, hours, what goes wrong, and its page."""

from decimal import Decimal

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, unary_union

from contractor.catalogue.models import BuildUpFixing, Material
from contractor.catalogue.seeding import load_seed
from contractor.offcuts.models import Offcut
from contractor.rooms.inputs import gather
from contractor.rooms.takeoff.buying import _basis, _shared, pack_holds
from contractor.rooms.takeoff.document import room_codes, take_off
from contractor.rooms.takeoff.faces import faces_of
from contractor.rooms.takeoff.needs import Need, Wants
from tests.factories import JobFactory, SidePathFactory
from tests.rooms.scenes import BAR_LINING, BREAST_LINING, CEILING_LINING, EDGE, FRAME_LINING, bedroom

pytestmark = pytest.mark.django_db


def taken_off(scene) -> dict:
    return take_off(gather(scene.scheme))


def face(told: dict, label: str) -> dict:
    return next(f for f in told["faces"] if label in f["label"])


def layer(told_face: dict, role: str) -> dict:
    return next(x for x in told_face["layers"] if x["role"] == role)


def line(told: dict, key: str) -> dict:
    return next(x for x in told["buy"] if x["material_key"] == key)


# Faces


def test_alcoves_on_both_sides_of_a_breast_are_faces_of_their_own():
    scene = bedroom()
    scene.build(FRAME_LINING, patch=scene.alcoves)

    left, right = faces_of(gather(scene.scheme))

    assert (left.width_mm, left.height_mm) == (right.width_mm, right.height_mm) == (1400, 2400)
    assert (left.key, right.key) == (f"p{scene.alcoves.pk}-1", f"p{scene.alcoves.pk}-2")
    assert left.label.endswith("left part")


def test_a_breast_has_a_front_and_two_cheeks():
    scene = bedroom()
    scene.build(BREAST_LINING, patch=scene.breast)

    faces = faces_of(gather(scene.scheme))

    assert [(f.width_mm, f.height_mm) for f in faces] == [(350, 2400), (1400, 2400), (350, 2400)]
    assert [len(f.openings_mm) for f in faces] == [0, 1, 0]
    # The front less the fireplace: 1.4 x 2.4 - 0.7 x 0.9.
    assert faces[1].area_m2 == Decimal("2.73")


def test_sockets_are_counted_once_a_surface():
    scene = bedroom()
    scene.build(FRAME_LINING, patch=scene.alcoves)
    scene.build(BREAST_LINING, patch=scene.breast)

    assert sum(f.boxes for f in faces_of(gather(scene.scheme))) == 3


def test_a_patch_in_the_middle_leaves_a_hole_in_the_rest():
    scene = bedroom()
    scene.breast.y_mm, scene.breast.height_mm, scene.breast.projection_mm = 600, 900, 0
    scene.breast.save()
    scene.build(FRAME_LINING, patch=scene.alcoves)

    (rest,) = faces_of(gather(scene.scheme))

    assert len(rest.openings_mm) == 2  # the patch and the fireplace below and in it
    assert rest.width_mm == 4200


def test_faces_of_two_rooms_carry_different_letters():
    scene = bedroom()
    scene.build(BAR_LINING, patch=scene.window_wall)
    other = bedroom(job=scene.room.job, name="Box room")
    other.scheme = scene.scheme
    other.build(BAR_LINING, patch=other.window_wall)

    letters = [f.letter for f in faces_of(gather(scene.scheme))]

    assert letters == ["1A", "2A"]


# The whole bedroom


@pytest.fixture
def told() -> dict:
    """Worked out once for all tests that only look at it."""
    if not _WHOLE:
        scene = bedroom()
        scene.build_all()
        _WHOLE.update(taken_off(scene))
    return _WHOLE


_WHOLE: dict = {}


def test_nothing_is_wrong(told):
    assert told["problems"] == []
    assert all(f["problem"] is None for f in told["faces"])


def test_pieces_fill_each_face_but_for_its_gaps_and_never_overlap(told):
    for each in told["faces"]:
        for board in [x for x in each["layers"] if x["pieces"]]:
            pieces = [Polygon(p["outline_mm"]) for p in board["pieces"]]
            whole = Polygon(each["outline_mm"]).difference(unary_union([Polygon(o) for o in each["openings_mm"]]))
            laid = unary_union(pieces)

            assert laid.area == pytest.approx(sum(p.area for p in pieces), rel=1e-6), each["label"]
            assert laid.difference(whole.buffer(0.5)).area < 1000, each["label"]
            # 5 to 10 mm all round: never more than 12 mm of the perimeter missing.
            assert whole.area - laid.area < whole.length * 12, each["label"]


def test_every_piece_lies_on_its_sheet_where_it_says(told):
    sheets = {sheet["number"]: sheet for sheet in told["sheets"]}
    for each in told["faces"]:
        for board in each["layers"]:
            for piece in board["pieces"]:
                placed = {p["label"]: p for p in sheets[piece["sheet"]]["placed"]}[piece["label"]]
                assert (placed["x_mm"], placed["y_mm"]) == (piece["x_in_sheet_mm"], piece["y_in_sheet_mm"])


def test_labels_are_unique_over_the_job(told):
    labels = [p["label"] for f in told["faces"] for x in f["layers"] for p in x["pieces"]]
    cuts = [c["label"] for length in told["lengths"] for c in length["cuts"]]

    assert len(labels) == len(set(labels))
    assert len(cuts) == len(set(cuts))


def test_no_length_is_cut_beyond_itself(told):
    for length in told["lengths"]:
        assert sum(cut["length_mm"] for cut in length["cuts"]) + length["left_mm"] == length["length_mm"]


def test_every_cut_is_told_with_its_layer(told):
    in_lengths = {c["label"] for length in told["lengths"] for c in length["cuts"]}
    in_layers = {c["label"] for f in told["faces"] for x in f["layers"] for c in x["cuts"]}

    assert in_lengths == in_layers


def test_what_is_bought_covers_what_is_needed(told):
    load_seed()
    for bought in told["buy"]:
        material = Material.objects.get(key=bought["material_key"])
        held = pack_holds(material, bought["needed_unit"])
        assert held * bought["packs"] >= Decimal(bought["needed"]) - Decimal("0.01"), bought["material_key"]


def test_shares_of_the_cost_add_up_to_the_penny(told):
    total = Decimal(told["totals"]["materials_cost"])

    assert total > 0
    assert sum(Decimal(f["materials_cost"]) for f in told["faces"]) == total
    assert sum(Decimal(b["cost"]) for b in told["buy"]) == total


def test_boards_of_one_kind_are_cut_from_common_sheets(told):
    """Sheets bought are the sheets drawn, whatever the number of faces."""
    for key in {sheet["material_key"] for sheet in told["sheets"]}:
        drawn = sum(sheet["material_key"] == key for sheet in told["sheets"])
        assert line(told, key)["packs"] in (drawn, drawn + drawn // 15)


def test_joists_span_the_short_way_and_are_never_spliced(told):
    joists = layer(face(told, "Ceiling"), "support")

    assert joists["supports"]["direction"] == "vertical"
    assert {cut["length_mm"] for cut in joists["cuts"]} == {3584}  # 3600 less 8 mm at each end


def test_bars_longer_than_their_stock_are_lapped(told):
    bars = layer(face(told, "Window wall"), "support")["cuts"]

    # A bar runs 3590; stock is 3000: 3000 and the rest with a lap of 100. At the window it stops 5 mm short each side.
    assert {cut["length_mm"] for cut in bars} == {3000, 690, 890, 1490}


def test_cheeks_are_to_be_measured_again_where_the_alcove_is_lined(told):
    cheeks = [f["key"] for f in told["faces"] if f["label"].endswith("cheek")]

    assert {n["face"] for n in told["notices"] if "Measure this cheek again" in n["text"]} == set(cheeks)


def test_a_void_is_taken_off_by_the_metre(told):
    void = face(told, "void")

    assert (void["unit"], void["quantity"], void["outline_mm"]) == ("m", "3.60", [])
    assert Decimal(void["materials_cost"]) > 0
    assert void["labour_hours"] == f"{Decimal('3.60') * Decimal('2.3') * Decimal('1.1'):.2f}"


def test_hold_points_follow_their_layers(told):
    alcove = face(told, "left part")
    orders = {x["order"] for x in alcove["layers"]} | {0}

    assert alcove["hold_points"]
    assert {hold["after_order"] for hold in alcove["hold_points"]} <= orders


def test_what_another_job_left_is_used_first_and_less_is_bought():
    scene = bedroom()
    scene.build(FRAME_LINING, patch=scene.alcoves)
    before = taken_off(scene)
    sheet = before["sheets"][0]
    board = Material.objects.get(key=sheet["material_key"])
    other = JobFactory()
    sides = {"length_mm": sheet["height_mm"], "width_mm": sheet["width_mm"]}
    for number in (1, 2):
        Offcut.objects.create(
            label=f"7/BB-3-{number}", material=board, from_job=other, reserved_for=scene.room.job, **sides
        )
    Offcut.objects.create(label="7/BB-3-3", material=board, from_job=other, **sides)  # nobody's

    told = taken_off(scene)

    used = {s["from_offcut"] for s in told["sheets"] if s["from_offcut"]}
    assert used and used <= {"7/BB-3-1", "7/BB-3-2"}
    bought = [s for s in told["sheets"] if not s["from_offcut"]]
    assert told["totals"]["sheet_count"] == len(bought) == len(before["sheets"]) - len(used)
    assert line(told, board.key)["packs"] == len(bought)  # fewer than 15: none spare
    pieces = [p for s in bought if s["material_key"] == board.key for p in s["placed"]]
    cut_m2 = sum(Decimal(p["width_mm"] * p["height_mm"]) for p in pieces) / 1_000_000
    same = [s for s in bought if s["material_key"] == board.key]
    bought_m2 = sum(Decimal(s["width_mm"] * s["height_mm"]) for s in same) / 1_000_000
    assert Decimal(line(told, board.key)["left_over"]) == pytest.approx(bought_m2 - cut_m2, abs=Decimal("0.01"))
    second = {piece["label"] for f in told["faces"] for piece in f["layers"][-1]["pieces"]}
    from_store = {p["label"] for s in told["sheets"] if s["from_offcut"] for p in s["placed"]}
    assert from_store and not from_store & second  # never the layer on show


def test_a_stored_length_is_cut_first():
    scene = bedroom()
    scene.build(FRAME_LINING, patch=scene.alcoves)
    length = taken_off(scene)["lengths"][0]
    stud = Material.objects.get(key=length["material_key"])
    sides = {"length_mm": length["length_mm"]}
    Offcut.objects.create(label="7/BB-9-1", material=stud, from_job=JobFactory(), reserved_for=scene.room.job, **sides)

    told = taken_off(scene)

    assert [x["from_offcut"] for x in told["lengths"] if x["from_offcut"]] == ["7/BB-9-1"]
    planned = [x for x in told["lengths"] if x["material_key"] == stud.key and not x["from_offcut"]]
    assert line(told, stud.key)["packs"] == len(planned)
    cut_mm = sum(cut["length_mm"] for x in planned for cut in x["cuts"])
    left_m = Decimal(stud.length_mm * len(planned) - cut_mm) / 1000
    assert Decimal(line(told, stud.key)["left_over"]) == pytest.approx(left_m, abs=Decimal("0.01"))


def test_what_is_left_is_labelled_by_room_sheet_and_number():
    scene = bedroom()
    scene.room.name = "Back bedroom"
    scene.room.save()
    scene.build(FRAME_LINING, patch=scene.alcoves)
    labels = [(s["number"], o["label"]) for s in taken_off(scene)["sheets"] for o in s["offcuts"]]
    assert labels and all(label.startswith(f"BB-{number}-") for number, label in labels)
    assert len({label for _, label in labels}) == len(labels)


def test_rooms_of_the_same_initials_have_codes_of_their_own():
    assert room_codes({1: "Back bedroom", 2: "Big box room", 3: "Box bathroom", 4: "¡"}) == {
        1: "BB", 2: "BBR", 3: "BB2", 4: "R"
    }  # fmt: skip


def test_each_plan_says_how_near_it_is_to_the_least():
    scene = bedroom()
    scene.build(FRAME_LINING, patch=scene.alcoves)
    told = taken_off(scene)
    assert told["is_preview"]
    sheets = [p for p in told["proofs"] if p["unit"] == "sheet"]
    assert sum(p["count"] for p in sheets) == told["totals"]["sheet_count"]
    assert all(p["least"] <= p["count"] and p["is_least"] == (p["least"] == p["count"]) for p in sheets)
    lengths = [p for p in told["proofs"] if p["unit"] == "length"]
    assert lengths and all(Decimal(p["least_cost"]) <= Decimal(p["cost"]) for p in lengths)


@pytest.mark.parametrize(
    ("by_plan", "by_rate", "spare", "words"),
    [
        (6, 0, 0, "counted by the cutting plan"),
        (24, 2, 1, "24 counted by the cutting plan, 2 by the rates of the build-up, 1 spare for damage"),
    ],
)
def test_a_line_says_where_its_packs_come_from(by_plan, by_rate, spare, words):
    assert _basis(Material(form="sheet"), [], Wants(), by_plan, by_rate, spare) == words


# Hours


def test_hours_are_slowed_by_what_the_survey_and_the_job_say():
    scene = bedroom()
    scene.build(BREAST_LINING, patch=scene.breast)
    scene.room.job.storey = 2
    scene.room.job.save()

    front = face(taken_off(scene), "front")

    factors = [Decimal(f["factor"]) for f in front["labour_factors"]]
    # 2.73 m2 x 1.95 h, a small area x 1.3, lived in x 1.1, a chimney breast x 1.25, two storeys x 1.05 squared.
    assert sorted(factors) == [Decimal("1.1"), Decimal("1.1025"), Decimal("1.25"), Decimal("1.3")]
    assert front["labour_hours"] == "10.49"


def test_preparation_follows_the_condition_found():
    scene = bedroom()
    scene.alcoves.condition = "board_on_dabs"
    scene.alcoves.save()
    scene.build(FRAME_LINING, patch=scene.alcoves)

    told = taken_off(scene)

    strip = next(p for p in told["preparation"] if p["description"] == "Strip board on dabs")
    assert (strip["quantity"], strip["hours"]) == ("3.36", "1.18")  # 1.4 x 2.4 m2 at 0.35 h
    assert "rings like a drum" in strip["reason"]
    assert Decimal(face(told, "left part")["preparation_hours"]) > Decimal(strip["hours"])


# What goes wrong is told


def test_a_screw_that_would_bridge_the_bar_is_refused():
    scene = bedroom()
    scene.build(BAR_LINING, patch=scene.window_wall)
    BuildUpFixing.objects.filter(build_up__key=BAR_LINING, screw_length_mm=42).update(screw_length_mm=50)

    told = taken_off(scene)

    assert "50 mm screw bridges the bar" in face(told, "Window wall")["problem"]
    assert told["problems"][0]["face"] == "A Window wall"
    assert told["totals"]["materials_cost"] == "0.00"
    assert told["labour"] == []


def test_a_joist_longer_than_any_in_the_catalogue_is_told_and_the_rest_is_taken_off():
    scene = bedroom()
    surface = scene.ceiling.surface
    surface.height_mm, surface.length_mm = 5000, 6000
    surface.save()
    scene.build(CEILING_LINING, patch=scene.ceiling)
    scene.build(BAR_LINING, patch=scene.window_wall)

    told = taken_off(scene)

    assert face(told, "Ceiling")["problem"] == (
        "E Ceiling: Graded joist 47 × 147 must be 4,984 mm long here and comes no longer than 4,200 mm. "
        "Add a longer one to the catalogue, or choose another build-up."
    )
    assert face(told, "Window wall")["problem"] is None
    assert not any("joist" in bought["material_key"] for bought in told["buy"])


def test_a_build_up_deeper_than_the_survey_gives_is_told():
    scene = bedroom()
    scene.build(BAR_LINING, patch=scene.window_wall)
    scene.window_wall.depth_limit_mm = 30
    scene.window_wall.save()

    assert "needs 49.1 mm and 30 mm is given" in face(taken_off(scene), "Window wall")["problem"]


def test_a_side_path_without_its_length_is_told():
    scene = bedroom()
    scene.void.length_mm = None
    scene.void.save()
    scene.build(EDGE, side_path=scene.void)

    assert "its length" in face(taken_off(scene), "void")["problem"]


def test_a_leak_is_taken_off_by_the_length_of_its_gap():
    scene = bedroom()
    leak = SidePathFactory(room=scene.room, kind="leak", name="Gap at skirting", length_mm=None, open_area_mm2=5000)
    scene.build("gap-sealing", side_path=leak)

    assert face(taken_off(scene), "Gap")["quantity"] == "2.50"  # 5,000 mm2 of a gap 2 mm wide

    leak.length_mm = 4150
    leak.save()

    assert face(taken_off(scene), "Gap")["quantity"] == "4.15"


def test_a_material_without_a_price_is_told():
    Material.objects.filter(key="mineral-wool-50").update(price=None)
    scene = bedroom()
    Material.objects.filter(key="mineral-wool-50").update(price=None)
    scene.build(FRAME_LINING, patch=scene.alcoves)

    assert any("has no price" in problem["text"] for problem in taken_off(scene)["problems"])


# Sharing out the cost


@given(
    hundredths=st.lists(st.integers(1, 50_000), min_size=1, max_size=9),
    pence=st.integers(0, 9_999_999),
)
def test_any_cost_is_shared_out_to_the_penny(hundredths, pence):
    quantities, cost = [Decimal(q) / 100 for q in hundredths], Decimal(pence) / 100
    material = Material(key="m", name="M")
    needs = [Need(face_key=f"f{i}", material=material, quantity=q, unit="m2") for i, q in enumerate(quantities)]

    shares = _shared(needs, cost)

    assert sum(share for _, _, share in shares) == cost
    assert all(abs(share - cost * q / sum(quantities)) < Decimal("0.01") for _, q, share in shares)


# The page


def test_page_shows_what_to_buy_and_how_to_cut(office):
    scene = bedroom()
    scene.build_all()

    html = office.get(reverse("rooms:takeoff", args=[scene.scheme.pk])).content.decode()

    assert "Materials, ex VAT" in html
    assert "L1-B1-01" in html
    assert "How the sheets are cut" in html
    assert "illustrative" in html


def test_page_of_an_empty_option_offers_the_next_step(office):
    scene = bedroom()

    html = office.get(reverse("rooms:takeoff", args=[scene.scheme.pk])).content.decode()

    assert "builds nothing yet" in html


def test_page_tells_problems(office):
    scene = bedroom()
    scene.build(BAR_LINING, patch=scene.window_wall)
    BuildUpFixing.objects.filter(build_up__key=BAR_LINING, screw_length_mm=42).update(screw_length_mm=50)

    html = office.get(reverse("rooms:takeoff", args=[scene.scheme.pk])).content.decode()

    assert "Not complete" in html
    assert "bridges the bar" in html


def test_page_queries_do_not_grow_with_faces(office, count_queries):
    scene = bedroom()
    scene.build(BAR_LINING, patch=scene.window_wall)
    url = reverse("rooms:takeoff", args=[scene.scheme.pk])
    office.get(url)
    one = count_queries(office, url)
    scene.build(FRAME_LINING, patch=scene.alcoves)
    scene.build(BREAST_LINING, patch=scene.breast)
    office.get(url)

    assert count_queries(office, url) == one


def test_a_narrow_breast_whose_joints_are_free_keeps_the_widths_and_the_stagger():
    """1,300 of front: joints 600 apart with no piece under 150 (common practice) exist off a grid of 600."""
    scene = bedroom()
    scene.breast.width_mm = 1300
    scene.breast.save()
    scene.build(BREAST_LINING, patch=scene.breast)
    told = taken_off(scene)
    fronts = [f for f in told["faces"] if "front" in f["label"]]
    assert fronts
    widths = [p["width_mm"] for f in fronts for layer in f["layers"] for p in layer["pieces"]]
    assert min(widths) >= 150
    assert not [n["text"] for n in told["notices"] if "narrower" in n["text"]]
