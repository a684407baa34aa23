"""The page of what was found on a surface: the tap test, what the rules make of it, and a rule set aside."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from contractor.accounts.models import AuditEntry
from contractor.rooms import services
from contractor.rooms.models import Finding, RuleOverride
from contractor.rooms.rules import rule_sheet, verdicts
from contractor.rooms.rules.book import shipped
from contractor.rooms.tap_drawing import grid_of, shares_of, tap_drawing
from tests.factories import OpeningFactory, PatchFactory, PhotoFactory, RoomFactory, SurfaceFactory, UserFactory

pytestmark = pytest.mark.django_db


def page(surface):
    return reverse("rooms:condition", args=[surface.pk])


def aside(patch, key):
    return reverse("rooms:rule-aside", args=[patch.surface_id, patch.pk, key])


@pytest.fixture
def patch():
    wall = SurfaceFactory(room=RoomFactory(name="Study"), letter="B", length_mm=3100, height_mm=2400)
    return PatchFactory(surface=wall)


class TestTheTapTest:
    def test_what_is_marked_is_kept_and_shown_again(self, office, patch):
        wall = patch.surface
        data = {"hollow": ["0-0", "1-0", "0-1"], "damp": ["0-0"], "skipped": ["10-7"], "moisture_percent": "17.5"}
        assert office.post(page(wall), data | {"has_salts": "on", "note": "Salts low down"}).url == page(wall)

        found = Finding.objects.get()
        assert found.was_tapped  # marks were made, so it was
        assert sorted(found.marks["hollow"]) == [[0, 0], [0, 1], [1, 0]] and found.marks["skipped"] == [[10, 7]]
        assert (found.moisture_percent, found.has_salts, found.note) == (Decimal("17.5"), True, "Salts low down")
        shown = office.get(page(wall)).content.decode()
        assert 'name="hollow" value="1-0" aria-label="Column 2, row 1 up: hollow" checked' in shown
        assert shown.count(" checked>") == 5 + 1 + 2  # cells, the way to mark, and two boxes

    def test_the_grid_stands_as_the_wall_is_seen_and_leaves_openings_out(self, patch):
        OpeningFactory(surface=patch.surface, kind="door", x_mm=0, y_mm=0, width_mm=900, height_mm=2100)
        rows = grid_of(patch.surface, {"hollow": ["0-7"]})
        assert [len(rows), len(rows[0])] == [8, 11]
        assert rows[0][0].key == "0-7" and rows[0][0].marks["hollow"]
        assert [cell.is_there for cell in rows[-1]] == [False] * 3 + [True] * 8
        assert rows[-1][10].key == "10-0"  # the narrow one at the end

    def test_all_sound_is_said_by_a_tick_alone(self, office, patch):
        office.post(page(patch.surface), {"was_tapped": "on"})
        assert Finding.objects.get().was_tapped
        (share,) = shares_of(patch.surface, Finding.objects.get())
        assert (share.hollow_percent, share.damp_percent) == (0, 0)

    def test_cells_that_are_not_there_are_refused_and_what_was_typed_stays(self, office, patch):
        response = office.post(
            page(patch.surface), {"hollow": ["0-0", "99-0"], "moisture_percent": "much", "note": "Kept"}
        )
        errors = response.context["form"].errors
        assert set(errors) == {"hollow", "moisture_percent"} and not Finding.objects.exists()
        shown = response.content.decode()
        assert 'value="0-0" aria-label="Column 1, row 1 up: hollow" checked' in shown and "Kept" in shown

    def test_the_drawing_is_made_anew_while_cells_are_marked_and_nothing_is_saved(self, office, patch):
        headers = {"HX-Request": "true", "HX-Target": "drawing"}
        response = office.post(page(patch.surface), {"hollow": ["0-0", "1-0"]}, headers=headers)
        shown = response.content.decode()
        assert shown.count("<polygon") >= 2 and "2 % hollow, the largest place 0.18 m²" in shown
        assert "<form" not in shown and not Finding.objects.exists()

    def test_the_drawing_tells_in_words_what_it_shows(self, patch):
        found = Finding(surface=patch.surface, was_tapped=True, marks={"hollow": [[0, 0], [1, 0]], "skipped": [[2, 0]]})
        drawing = tap_drawing(patch.surface, found)
        assert drawing.text == "Tap test in cells of 300 mm: 2 hollow, 1 not reached."
        assert [cell.mark for cell in drawing.cells] == ["H", "H", "?"]

    def test_a_second_first_saving_replaces_the_first(self, patch):
        for note in ("one", "two"):
            services.finding_save(finding=Finding(surface=patch.surface, note=note))
        assert Finding.objects.get().note == "two"


class TestWhatFollows:
    def test_each_rule_stands_with_its_reason_and_what_met_it(self, office, patch):
        office.post(page(patch.surface), {"hollow": [f"{c}-{r}" for c in range(10) for r in range(3)]})
        shown = office.get(page(patch.surface)).content.decode()
        assert "Unsound plaster comes off masonry" in shown and "Hollow when knocked on: 36.3 %" in shown
        assert reverse("jobs:gate", args=[patch.surface.room.job.number, "asbestos"]) in shown
        surface_page = office.get(reverse("rooms:surface", args=[patch.surface_id])).content.decode()
        assert "all of it comes off" in surface_page and "by the tap test 36 % hollow" in surface_page

    def test_a_patch_on_which_nothing_is_built_gets_no_verdicts(self, office, patch):
        patch.depth_limit_mm = None
        patch.save()
        assert "Nothing is to be built here." in office.get(page(patch.surface)).content.decode()

    def test_its_photos_stand_on_the_page(self, office, patch):
        photo = PhotoFactory(room=patch.surface.room, surface=patch.surface)
        PhotoFactory(room=patch.surface.room)
        shown = office.get(page(patch.surface)).content.decode()
        assert shown.count("<img") == 1 and reverse("rooms:photo-small", args=[photo.pk]) in shown

    def test_patches_and_photos_add_no_queries(self, office, count_queries, patch):
        wall = patch.surface
        one = count_queries(office, page(wall))
        for n in range(3):
            PatchFactory(surface=wall, is_rest=False, x_mm=600 * n, width_mm=500, height_mm=500)
            PhotoFactory(room=wall.room, surface=wall)
        assert count_queries(office, page(wall)) == one


class TestSettingAside:
    @pytest.fixture
    def boarded(self, patch):
        patch.condition = "board_on_dabs"
        patch.save()
        return patch

    def test_it_takes_a_reason_and_keeps_who_and_when(self, office, boarded):
        address = aside(boarded, "board-on-dabs-off")
        response = office.post(address, {"reason": "  "})
        assert response.context["form"].errors["reason"] and not RuleOverride.objects.exists()
        office.post(address, {"reason": "The landlord forbids it"})

        kept = RuleOverride.objects.get()
        assert (kept.patch, kept.reason, kept.by) == (boarded, "The landlord forbids it", office.user) and kept.at
        line = AuditEntry.objects.get(action="Rule set aside")
        assert line.detail["reason"] == "The landlord forbids it" and line.user == office.user
        shown = office.get(page(boarded.surface)).content.decode()
        assert "Set aside by" in shown and "The landlord forbids it" in shown

    def test_it_can_be_withdrawn_and_stays_to_be_read(self, office, boarded):
        office.post(aside(boarded, "board-on-dabs-off"), {"reason": "The landlord forbids it"})
        office.post(reverse("rooms:override-withdraw", args=[RuleOverride.objects.get().pk]))
        assert RuleOverride.objects.get().withdrawn_at
        found = verdicts(boarded, sheet=rule_sheet(boarded.surface.room.job))
        assert next(v for v in found if v.rule == "board-on-dabs-off").counts
        assert "in force again" in office.get(page(boarded.surface)).content.decode()

    def test_setting_aside_again_takes_the_place_of_the_first(self, office, boarded):
        for reason in ("First", "Second"):
            office.post(aside(boarded, "board-on-dabs-off"), {"reason": reason})
        kept = [(o.reason, o.withdrawn_at is None) for o in RuleOverride.objects.all()]
        assert kept == [("First", False), ("Second", True)]

    @pytest.mark.parametrize("key", ["air-brick-stays-clear", "ceiling-load"])
    def test_a_firm_rule_cannot_be_set_aside(self, office, patch, key):
        assert "cannot be set aside" in office.get(aside(patch, key)).content.decode()
        office.post(aside(patch, key), {"reason": "I say so"})
        with pytest.raises(ValidationError):
            services.rule_set_aside(place=patch, rule=shipped()[key], reason="I say so", by=UserFactory())
        assert not RuleOverride.objects.exists()

    def test_unknown_rules_and_patches_of_other_surfaces_are_not_found(self, office, patch):
        other = PatchFactory()
        assert office.get(aside(patch, "no-such-rule")).status_code == 404
        wrong = reverse("rooms:rule-aside", args=[patch.surface_id, other.pk, "little-depth"])
        assert office.get(wrong).status_code == 404
