"""A rule's conditions and works as a person reads them."""

import re
from collections.abc import Mapping

from contractor.rooms.rules.book import RuleText
from contractor.rooms.rules.facts import FACTS, YES

HOW = {
    "is": "is",
    "is_not": "is not",
    "over": "more than",
    "at_least": "at least",
    "under": "less than",
    "at_most": "at most",
}


def said_condition(condition: Mapping) -> str:
    """Such as "Hollow when knocked on: more than 20 %" or "Plaster crumbles"."""
    fact = FACTS.get(condition["fact"])
    if fact is None:
        return f"{condition['fact']} (no longer known)"
    how, value = condition["is"], condition["value"]
    if fact.is_number:
        if (how, value) == ("over", "0"):
            return f"{fact.label}: any"
        other = FACTS.get(value)
        bound = other.label.lower() if other else f"{value} {fact.unit}".rstrip()
        return f"{fact.label}: {HOW[how]} {bound}"
    chosen = dict(fact.choices).get(value, value)
    if {key for key, _ in fact.choices} == {"yes", "no"}:
        return fact.label if (value == YES) == (how == "is") else f"Not: {fact.label.lower()}"
    return f"{fact.label}: {'' if how == 'is' else 'not '}{chosen.lower()}"


def said_rule(rule: RuleText) -> dict[str, list[str]]:
    """Conditions that must all hold, and those of which one is enough."""
    return {
        "all": [said_condition(c) for c in rule.conditions if not c.get("any")],
        "any": [said_condition(c) for c in rule.conditions if c.get("any")],
    }


def said_reason(reason: str) -> str:
    """The reason with the places where a measure is filled in left open."""
    return re.sub(r"\{\w+\}", "…", reason)
