"""The shipped catalogue: loads, loads again without undoing the office's work, and holds together as building."""

import json
from collections import Counter
from decimal import Decimal

import pytest
from django.core.management import call_command

from contractor.accounts.models import AuditEntry
from contractor.catalogue.models import (
    BuildUp,
    BuildUpLayer,
    Connection,
    Construction,
    LabourAllowance,
    LabourFactor,
    LabourRate,
    Material,
)
from contractor.catalogue.seeding import SEED_DIR, load_seed
from contractor.catalogue.services import material_delete

pytestmark = pytest.mark.django_db
LEAF_ROLES = {"membrane", "board", "damping"}
BAR_DEPTH_MM = 16  # common practice: the usual resilient bar


@pytest.fixture
def seed():
    return load_seed()


def test_loads_everything_once(seed):
    assert seed["materials"] == Material.objects.count() > 130
    assert seed["constructions"] == Construction.objects.count() >= 18
    assert seed["build-ups"] == BuildUp.objects.count() >= 25
    assert LabourRate.objects.count() and LabourAllowance.objects.count() and LabourFactor.objects.count()
    assert not any(load_seed().values())
    assert AuditEntry.objects.filter(action="catalogue loaded").count() == 1


def test_every_shipped_row_passes_its_own_validation(seed):
    for model in (Material, Construction, BuildUp, BuildUpLayer, LabourRate, LabourAllowance, LabourFactor):
        for row in model.objects.all():
            row.full_clean()


def test_a_second_load_keeps_edits_and_deletions(seed, office):
    Material.objects.filter(key="dense-board-15-1200x2400").update(price=Decimal("99.00"))
    build_up = BuildUp.objects.get(key="slim-bar-lining-50")
    build_up.layers.filter(role="finish").delete()
    material = Material.objects.get(key="mixed-skip-6yd")
    material_delete(material=material, by=office.user)
    call_command("load_catalogue", verbosity=0)
    assert Material.objects.get(key="dense-board-15-1200x2400").price == Decimal("99.00")
    assert not build_up.layers.filter(role="finish").exists()
    assert not Material.objects.filter(key="mixed-skip-6yd").exists()


def test_prices_are_marked_illustrative_and_dated(seed):
    bought = Material.objects.exclude(kind=Material.Kind.FABRIC)
    assert bought.filter(price__isnull=True).count() == 0
    assert bought.filter(price_is_illustrative=False).count() == 0
    assert bought.filter(price_set_on__isnull=True).count() == 0
    assert LabourRate.objects.filter(is_illustrative=False).count() == 0


def test_every_material_says_where_its_figures_come_from(seed):
    assert not Material.objects.filter(origin="").exists()
    assert not Construction.objects.filter(origin="").exists()
    assert not BuildUp.objects.filter(origin="").exists()


def test_each_depth_is_the_sum_of_its_layers(seed):
    for build_up in BuildUp.objects.prefetch_related("layers"):
        total = sum(layer.thickness_mm for layer in build_up.layers.all() if layer.counts_in_depth)
        assert abs(total - build_up.depth_mm) <= 1, build_up.key


def test_each_sheet_weighs_its_area(seed):
    for sheet in Material.objects.filter(form="sheet", mass_kg_each__isnull=False):
        area_m2 = sheet.length_mm * sheet.width_mm / 1e6
        assert float(sheet.mass_kg_each) == pytest.approx(float(sheet.mass_kg_m2) * area_m2, rel=0.03), sheet.key
        assert float(sheet.coverage) == pytest.approx(area_m2, rel=0.01), sheet.key


def test_dense_board_mass_is_that_of_the_type(seed):
    """EN 520 type D asks a density of at least 800 kg/m3 (from memory)."""
    for board in Material.objects.filter(key__startswith="dense-board-"):
        assert 800 <= board.density_kg_m3 <= 1000, board.key


def test_no_shipped_screw_bridges_or_falls_short(seed):
    """10 mm through steel, 25 mm into timber; at a resilient bar 2 mm short of what stands behind it.

    Common practice; the 10 mm and the warning about bridging are also in board makers' published guidance.
    """
    checked = 0
    for build_up in BuildUp.objects.prefetch_related("layers__material", "fixings__layer"):
        layers = list(build_up.layers.all())
        for fixing in build_up.fixings.all():
            if fixing.layer is None or fixing.layer.role != "board" or build_up.surface == "floor":
                continue
            through = sum(x.thickness_mm for x in layers if x.order <= fixing.layer.order and x.role in LEAF_ROLES and x.thickness_mm and x.counts_in_depth)  # fmt: skip
            support = [x for x in layers if x.role == "support" and x.order < fixing.layer.order][-1]
            least = 25 if support.material.density_kg_m3 < 1000 else 10
            assert fixing.screw_length_mm >= through + least, (build_up.key, fixing.layer.description)
            if support.connection == Connection.RESILIENT_BAR:
                assert fixing.screw_length_mm <= through + BAR_DEPTH_MM - 2, (build_up.key, fixing.layer.description)
            checked += 1
    assert checked >= 20


def test_shipped_screw_names_tell_their_length(seed):
    for build_up in BuildUp.objects.prefetch_related("fixings__material"):
        for fixing in build_up.fixings.all():
            if fixing.screw_length_mm:
                assert fixing.material.name.endswith(str(fixing.screw_length_mm)) or f"× {fixing.screw_length_mm}" in fixing.material.name  # fmt: skip


def test_layers_and_hold_points_are_in_order_and_tied(seed):
    for build_up in BuildUp.objects.prefetch_related("layers", "hold_points__after_layer"):
        orders = [layer.order for layer in build_up.layers.all()]
        assert orders == list(range(1, len(orders) + 1)), build_up.key
        points = list(build_up.hold_points.all())
        assert points, build_up.key
        after = [point.after_layer.order if point.after_layer else 0 for point in points]
        assert after == sorted(after), build_up.key
        assert build_up.plain_words, build_up.key


def test_supports_that_carry_boards_have_spacing_and_direction(seed):
    for build_up in BuildUp.objects.filter(surface__in=["wall", "ceiling"]).prefetch_related("layers"):
        boards = [x for x in build_up.layers.all() if x.role == "board"]
        support = [x for x in build_up.layers.all() if x.role == "support" and x.order < boards[0].order][-1]
        assert support.spacing_mm and support.direction, build_up.key


def test_two_board_wall_linings_meet_the_usual_mass(seed):
    """An independent lining of a conversion: at least 20 kg/m2 in two layers (Approved Document E section 4, from memory)."""
    for build_up in BuildUp.objects.filter(surface="wall").prefetch_related("layers__material"):
        boards = [x for x in build_up.layers.all() if x.role == "board"]
        if len(boards) == 2:
            mass = sum(x.material.mass_kg_m2 for x in boards)
            assert mass >= 20, build_up.key


def test_seed_keys_are_readable_slugs_and_unique():
    for name in ("materials.json", "constructions.json", "build_ups.json"):
        keys = [row["key"] for row in json.loads((SEED_DIR / name).read_text())]
        assert max(Counter(keys).values()) == 1
        assert all(key == key.lower() and "_" not in key for key in keys)
