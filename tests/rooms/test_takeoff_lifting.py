"""What the take-off page says of weights: who lifts what, how much lies in one place, and the order of cuts."""

import json
from pathlib import Path

import pytest
from django.urls import reverse

from contractor.rooms.takeoff.lifting import heavy_pieces, heavy_sheets
from tests.factories import JobFactory
from tests.quotes.results import calculated_scheme

TAKEOFF = json.loads((Path(__file__).parent.parent / "fitting" / "takeoff.json").read_text())


def sheets_of(mass_kg: str, packs: int = 6):
    line = {"material_key": "board", "material": "Board", "packs": packs, "mass_kg": mass_kg}
    sheet = {"material_key": "board", "width_mm": 1200, "height_mm": 2400}
    return heavy_sheets({"buy": [line], "sheets": [sheet, sheet]})


def test_a_stack_stays_below_what_a_floor_of_a_home_is_designed_for():
    """EN 1991-1-1 category A, 1.5 kN/m² (from memory): 36.9 kg over 2.88 m² is 12.8 kg/m², so eleven are 141."""
    (sheet,) = sheets_of("221.4")
    assert (sheet["count"], float(sheet["mass_kg"]), sheet["lift"]) == (6, 36.9, "Two people")
    assert sheet["stack"] == 11


def test_a_sheet_heavier_than_any_floor_bears_lies_alone_and_one_without_weight_is_left_out():
    assert sheets_of("3000.0")[0]["stack"] == 1
    assert sheets_of("0.0") == []


def test_heavy_pieces_are_named_and_every_piece_overhead():
    def face(kind, *masses):
        pieces = [{"label": f"L1-{i}", "mass_kg": mass} for i, mass in enumerate(masses)]
        return {"label": kind, "surface_kind": kind, "layers": [{"pieces": pieces}]}

    told = heavy_pieces({"faces": [face("wall", "19.9", "20.0", "41.0"), face("ceiling", "5.0"), face("floor", "3.0")]})
    assert [(f["label"], [(p["label"], p["is_too_heavy"]) for p in f["pieces"]]) for f in told] == [
        ("wall", [("L1-1", False), ("L1-2", True)]),
        ("ceiling", [("L1-0", False)]),
    ]


@pytest.mark.django_db
def test_the_page_tells_cuts_in_order_and_who_lifts(office, monkeypatch):
    monkeypatch.setattr("contractor.rooms.services.calculate", lambda *, scheme: scheme.calculation)
    scheme = calculated_scheme(JobFactory(), takeoff_json=TAKEOFF | {"notices": []})
    page = office.get(reverse("rooms:takeoff", args=[scheme.pk])).content.decode()
    cut = next(sheet["cuts"][0] for sheet in TAKEOFF["sheets"] if sheet["cuts"])
    where = f"{cut[0]:,} mm from the left" if cut[0] == cut[2] else f"{cut[1]:,} mm up"
    assert where in page
    assert "Weight and lifting" in page and "in one stack" in page
    assert reverse("orders:orders", args=[scheme.job.number]) in page
