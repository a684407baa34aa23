"""The firm's rules as pages: read, changed, added to, put back."""

import pytest
from django.urls import reverse

from contractor.accounts.models import AuditEntry
from contractor.catalogue.services import load_seed
from contractor.rooms.models import Rule
from contractor.rooms.rules.book import rulebook, shipped
from contractor.rooms.rules.wording import said_condition

pytestmark = pytest.mark.django_db
RULES = reverse("rooms:rules")


def page(key):
    return reverse("rooms:rule", args=[key])


def in_force(key):
    return next(rule for rule in rulebook() if rule.key == key)


def typed(form):
    """What a browser would send of the form as it stands."""
    data = {}
    for part in (form, *form.condition_rows, *form.work_rows):
        for bound in part:
            value = bound.value()
            if value is True:
                data[bound.html_name] = "on"
            elif value not in (None, False):
                data[bound.html_name] = str(value)
    return data


@pytest.fixture(autouse=True)
def catalogue():
    load_seed()


@pytest.mark.parametrize("key", shipped())
def test_a_shipped_rule_saved_as_it_stands_says_the_same(office, key):
    response = office.get(page(key))
    saved = office.post(page(key), typed(response.context["form"]))
    assert saved.status_code == 302, saved.context["form"].errors
    row, before = in_force(key), shipped()[key]
    assert row.is_changed and row == before


def test_a_threshold_is_moved(office):
    key = "unsound-plaster-off"
    data = typed(office.get(page(key)).context["form"])
    bound = next(name for name, value in data.items() if value == "20" and data[name[:2] + "-fact"] == "hollow_percent")
    office.post(page(key), data | {bound: "25"})
    assert {"fact": "hollow_percent", "is": "over", "value": "25", "any": True} in in_force(key).conditions
    assert "Changed by you" in office.get(RULES).content.decode()
    assert AuditEntry.objects.get(action="Survey rule changed").user == office.user

    office.post(reverse("rooms:rule-restore", args=[key]))
    assert in_force(key) == shipped()[key] and not Rule.objects.exists()


def test_a_rule_of_ones_own(office):
    data = {
        "name": "Old lime plaster", "effect": "work", "is_active": "on", "reason": "Lime is kept where it holds.",
        "fabric": "broken", "origin": "Our own", "c0-fact": "condition=sound", "c0-how": "is",
        "c1-fact": "depth_given_mm", "c1-how": "at_least", "c1-bound": "1,000", "c1-joined": "any",
        "w0-allowance": "patch-hollow-plaster", "w0-amount": "0.25", "w0-of": "hollow",
    }  # fmt: skip
    assert office.post(reverse("rooms:rule-new"), data).url == RULES
    rule = in_force("old-lime-plaster")
    assert rule.conditions == (
        {"fact": "condition", "is": "is", "value": "sound"},
        {"fact": "depth_given_mm", "is": "at_least", "value": "1000", "any": True},
    )
    assert rule.works == ({"allowance": "patch-hollow-plaster", "amount": "0.25", "of": "hollow"},)
    assert "Your own" in office.get(RULES).content.decode()
    office.post(reverse("rooms:rule-restore", args=["old-lime-plaster"]))
    assert not Rule.objects.exists()


@pytest.mark.parametrize(
    "changes, field, message",
    [
        ({"c0-fact": ""}, None, "at least one condition"),
        ({"c0-fact": "depth_mm", "c0-how": "over", "c0-bound": "much"}, "bound", "Give a number"),
        ({"c0-fact": "depth_mm", "c0-how": "is", "c0-bound": "5"}, "how", "has a bound"),
        ({"c0-how": "over"}, "how", "is given or is not"),
        ({"effect": "work"}, "effect", "at least one work"),
        ({"effect": "gate"}, "gate", "Choose the caution"),
        ({"w0-allowance": "skim", "w0-amount": "1"}, "effect", "Only preparation work"),
        ({"w0-allowance": "skim"}, "amount", "how much"),
        ({"reason": ""}, "reason", "required"),
    ],
)
def test_mistakes_are_said_and_what_was_typed_stays(office, changes, field, message):
    data = {
        "name": "Mine", "effect": "warn", "is_active": "on", "reason": "Look.", "fabric": "stays",
        "c0-fact": "condition=sound", "c0-how": "is",
    } | changes  # fmt: skip
    response = office.post(reverse("rooms:rule-new"), data)
    assert response.status_code == 200 and not Rule.objects.exists()
    form = response.context["form"]
    forms = (form, *form.condition_rows, *form.work_rows)
    said = [e for part in forms for e in (part.errors.get(field, []) if field else part.non_field_errors())]
    assert any(message in text for text in said), said
    assert 'value="Mine"' in response.content.decode()


def test_a_firm_rule_keeps_in_force_whatever_is_sent(office):
    key = "air-brick-stays-clear"
    data = typed(office.get(page(key)).context["form"]) | {"effect": "warn", "reason": "Mind the vent."}
    data.pop("is_active", None)
    office.post(page(key), data)
    rule = in_force(key)
    assert (rule.is_active, rule.effect, rule.is_firm, rule.reason) == (True, "block", True, "Mind the vent.")


def test_every_rule_stands_on_the_page_in_words(office):
    shown = office.get(RULES).content.decode()
    for rule in shipped().values():
        assert page(rule.key) in shown
    assert "Hollow when knocked on: more than 20 %" in shown
    assert "Depth of the build-up: more than clear beside a window or door frame" in shown
    assert "Strip plaster to the masonry" in shown


def test_conditions_in_words():
    assert said_condition({"fact": "salts", "is": "is", "value": "yes"}) == "Salts on the face"
    assert said_condition({"fact": "salts", "is": "is", "value": "no"}) == "Not: salts on the face"
    assert said_condition({"fact": "face", "is": "is_not", "value": "ceiling"}) == "It is a: not ceiling"


def test_putting_back_what_was_never_changed_says_so(office):
    response = office.post(reverse("rooms:rule-restore", args=["little-depth"]), follow=True)
    assert "stands as it was shipped" in response.content.decode()


def test_an_unknown_rule_is_not_found(office):
    assert office.get(page("no-such-rule")).status_code == 404


def test_rules_add_no_queries(office, count_queries):
    one = count_queries(office, RULES)
    for n in range(3):
        Rule.objects.create(key=f"own-{n}", name=f"Own {n}", effect="warn", reason="Look.")
    assert count_queries(office, RULES) == one
