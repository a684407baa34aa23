"""Weigh the rules on a patch, an opening or a side path, and on what would be built there."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from contractor.catalogue.models import BuildUp
from contractor.rooms.models import Opening, Patch, Rule, RuleOverride, SidePath
from contractor.rooms.rules.book import RuleText
from contractor.rooms.rules.facts import (
    FACTS,
    NO,
    OF_HOME,
    OPENING,
    WAY,
    YES,
    facts_of_build_up,
    facts_of_opening,
    facts_of_patch,
    facts_of_way,
)
from contractor.rooms.rules.sheet import RuledPlace, RuleSheet, place_key

WHOLE, HOLLOW = "whole", "hollow"
ASKED_OF = {Opening: OPENING, SidePath: WAY}  # the fact that a rule must ask to be weighed there
COMPARE = {
    "over": lambda found, bound: found > bound,
    "at_least": lambda found, bound: found >= bound,
    "under": lambda found, bound: found < bound,
    "at_most": lambda found, bound: found <= bound,
}


@dataclass(frozen=True, kw_only=True)
class Work:
    """A labour allowance of the catalogue by its key, how much of it for each m² of the patch, and why."""

    allowance_key: str
    quantity_per_m2: Decimal
    reason: str


@dataclass(frozen=True, kw_only=True)
class Override:
    """Why a rule was set aside on a place, by whom and when; `pk` finds the row again."""

    pk: int
    reason: str
    by: str
    at: object


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """What one rule says. `kind` is an effect of Rule: work, block, warn, advise or gate.

    `is_of_home`: the rule asks nothing of the place. `found` says in words what met the rule's alternatives and bounds, such as "Hollow when knocked on: 32 %".
    With an `override` it does not count; it is shown with the reason given.
    """

    kind: str
    rule: str
    name: str
    reason: str
    found: tuple[str, ...] = ()
    works: tuple[Work, ...] = ()
    gate: str = ""
    origin: str = ""
    is_firm: bool = False
    is_of_home: bool = False
    takes_off: bool = False
    override: Override | None = None

    @property
    def counts(self) -> bool:
        return self.override is None


def verdicts(place: RuledPlace, build_up: BuildUp | None = None, *, sheet: RuleSheet) -> list[Verdict]:
    """Every rule in force that applies to the place, in order, and to the build-up where one is given.

    On an opening or a side path only rules that ask for its kind are weighed; preparation work is by the m² of a patch.

    Makes no query where the survey is loaded as rooms.inputs.surveyed_rooms loads it.
    """
    facts = dict(_place_facts(place, sheet))
    if build_up is not None:
        facts |= _build_up_facts(build_up, place, sheet)
        if facts.get("takes_face_down") == YES:
            facts |= {"disturbed": YES, "light_leaf": NO, "plastered": NO, "hollow_percent": None}
    found = []
    for rule in sheet.in_force:
        if _is_for(rule, place) and applies(rule, facts):
            verdict = _verdict(rule, facts, sheet.override_on(place, rule.key))
            found.append(verdict)
            _carry_out(rule, verdict, facts)
    return found


def blocks(found: Iterable[Verdict]) -> list[Verdict]:
    """Those that forbid the build-up and were not set aside."""
    return [verdict for verdict in found if verdict.kind == Rule.Effect.BLOCK and verdict.counts]


def works(found: Iterable[Verdict]) -> list[Work]:
    """The preparation that counts, in order."""
    return [work for verdict in found if verdict.counts for work in verdict.works]


def applies(rule: RuleText, facts: Mapping[str, object]) -> bool:
    """All conditions hold, and of those marked `any` at least one. A rule without conditions never applies."""
    either = False, False  # whether any is asked for, and met
    for condition in rule.conditions:
        is_met = holds(condition, facts)
        if condition.get("any"):
            either = True, either[1] or is_met
        elif not is_met:
            return False
    return bool(rule.conditions) and either in ((False, False), (True, True))


def holds(condition: Mapping, facts: Mapping[str, object]) -> bool:
    """Whether one condition is met; what is not known meets none."""
    key = condition["fact"]
    found = facts.get(key)
    if found is None or key not in FACTS:
        return False
    how, value = condition["is"], condition["value"]
    if how in COMPARE:
        bound = _bound(value, facts)
        return bound is not None and COMPARE[how](found, bound)
    met = value in found if isinstance(found, set) else found == value
    return met if how == "is" else not met


def _bound(value: str, facts: Mapping[str, object]) -> float | None:
    """A number, or another fact's where the value names one, such as depth_mm over frame_clear_mm."""
    if value in FACTS:
        other = facts.get(value)
        return None if other is None else float(other)
    return float(value)


def in_words(reason: str, facts: Mapping[str, object]) -> str:
    """The reason with each {fact} in it replaced by what was found; one that is not known stays away."""

    def told(match: re.Match) -> str:
        found = facts.get(match[1])
        return _figure(found) if isinstance(found, (int, float)) else str(found or "some")

    return re.sub(r"\{(\w+)\}", told, reason)


def what_met(rule: RuleText, facts: Mapping[str, object]) -> tuple[str, ...]:
    """The measured facts, and the alternatives, that a rule was met by."""
    said = []
    for condition in rule.conditions:
        fact = FACTS[condition["fact"]]
        if fact.is_number and holds(condition, facts):
            if fact.key != "depth_given_mm" or condition["value"] != "0":  # that it is built on at all
                said.append(f"{fact.label}: {_figure(facts[fact.key])} {fact.unit}".rstrip())
        elif condition.get("any") and holds(condition, facts):
            chosen = dict(fact.choices)[condition["value"]]
            said.append(fact.label if condition["value"] == YES else f"{fact.label}: {chosen.lower()}")
    return tuple(dict.fromkeys(said))


def _figure(number: float) -> str:
    return f"{number:,.1f}".removesuffix(".0")


def _is_for(rule: RuleText, place: RuledPlace) -> bool:
    asked = ASKED_OF.get(type(place))
    return asked is None or (
        rule.effect != Rule.Effect.WORK and any(condition["fact"] == asked for condition in rule.conditions)
    )


def _place_facts(place: RuledPlace, sheet: RuleSheet) -> dict[str, object]:
    key = place_key(place)
    known = sheet.known.get(key)
    if known is None:
        around = {"home": sheet.home, "noises": sheet.noises}
        if isinstance(place, Patch):
            known = facts_of_patch(place, finding=sheet.findings.get(place.surface_id), **around)
        else:
            known = facts_of_opening(place, **around) if isinstance(place, Opening) else facts_of_way(place, **around)
        if place.pk is not None:
            sheet.known[key] = known
    return known


def _build_up_facts(build_up: BuildUp, place: RuledPlace, sheet: RuleSheet) -> dict[str, object]:
    if not isinstance(place, Patch):
        return {"treated": YES, "depth_mm": float(build_up.depth_mm)}
    key = (build_up.pk, place.construction_id)
    if key not in sheet.known_build_ups:
        sheet.known_build_ups[key] = facts_of_build_up(build_up, place)
    return sheet.known_build_ups[key]


def _verdict(rule: RuleText, facts: Mapping[str, object], override: RuleOverride | None) -> Verdict:
    verdict = Verdict(
        kind=rule.effect,
        rule=rule.key,
        name=rule.name,
        reason=in_words(rule.reason, facts),
        found=what_met(rule, facts),
        works=tuple(_work(rule, work, facts) for work in rule.works) if rule.effect == Rule.Effect.WORK else (),
        gate=rule.gate,
        origin=rule.origin,
        is_firm=rule.is_firm,
        is_of_home=all(condition["fact"] in OF_HOME for condition in rule.conditions),
        takes_off=rule.fabric == Rule.Fabric.OFF,
    )
    if override is None or rule.is_firm:
        return verdict
    why = Override(pk=override.pk, reason=override.reason, by=override.by.display_name, at=override.at)
    return replace(verdict, override=why)


def _work(rule: RuleText, work: Mapping, facts: Mapping[str, object]) -> Work:
    amount = Decimal(str(work["amount"]))
    if work.get("of") == HOLLOW:
        amount *= Decimal(str(round(float(facts.get("hollow_percent") or 0), 1))) / 100
    reason = in_words(work.get("why") or rule.reason, facts)
    return Work(allowance_key=work["allowance"], quantity_per_m2=amount, reason=reason)


def _carry_out(rule: RuleText, verdict: Verdict, facts: dict[str, object]) -> None:
    """What the rules that follow find, once this one's work is done."""
    if verdict.kind != Rule.Effect.WORK or not verdict.counts:
        return
    if rule.fabric != Rule.Fabric.STAYS:
        facts["disturbed"] = YES
    if rule.fabric == Rule.Fabric.OFF:
        bare = YES if facts["base"] == "masonry" and facts["face"] == "wall" else NO
        facts |= {"bare": bare, "light_leaf": NO, "plastered": NO, "hollow_percent": None}
