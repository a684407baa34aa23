"""The rules in force: those that ship with the app, as the office has changed them, and the office's own."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from functools import cache
from pathlib import Path

from contractor.rooms.models import Rule

SHIPPED = Path(__file__).with_name("shipped.json")


@dataclass(frozen=True, kw_only=True)
class RuleText:
    """One rule as it is weighed and shown; the fields mean what those of the model Rule do."""

    key: str
    name: str
    position: int
    effect: str
    conditions: tuple[Mapping, ...]
    reason: str
    works: tuple[Mapping, ...] = ()
    fabric: str = "stays"
    gate: str = ""
    origin: str = ""
    is_active: bool = True
    is_firm: bool = False
    is_shipped: bool = field(default=False, compare=False)
    is_changed: bool = field(default=False, compare=False)


NAMES = [f.name for f in fields(RuleText) if f.compare]


@cache
def shipped() -> dict[str, RuleText]:
    rows = json.loads(SHIPPED.read_text(encoding="utf-8"))
    return {row["key"]: _rule_text(row | {"is_shipped": True}) for row in rows}


def rulebook() -> list[RuleText]:
    """Every rule, out of force ones too, in the order in which they are weighed. One query."""
    book = dict(shipped())
    for row in Rule.objects.all():
        values = {name: getattr(row, name) for name in NAMES}
        book[row.key] = _rule_text(values | {"is_shipped": row.key in book, "is_changed": row.key in book})
    return sorted(book.values(), key=lambda rule: (rule.position, rule.key))


def _rule_text(values: dict) -> RuleText:
    return RuleText(**values | {name: tuple(values.get(name, ())) for name in ("conditions", "works")})
