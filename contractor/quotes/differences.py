"""What differs between two documents of a quote: lines, totals, predictions and words. Pure: works on frozen documents.

Options are the same when they come from the same scheme. Lines are the same by the key they carry; documents from before
lines carried keys are matched by section, description and place.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

OPTIONAL = "Optional extra, in no total"
SUMS = (("net", "Net"), ("vat_total", "VAT"), ("total", "Total"))
TEXTS = (
    ("opening", "Opening words"),
    ("wish", "What they wish for"),
    ("heard", "What they hear"),
    ("cautions", "Cautions"),
    ("needs", "What we need from them"),
    ("exclusions", "Exclusions"),
    ("terms", "Terms"),
    ("guarantee", "Guarantee"),
)


@dataclass(frozen=True, kw_only=True)
class LineChange:
    """`kind` is "added", "removed" or "changed"; the side that is missing is None."""

    kind: str
    section: str
    before: Mapping | None
    after: Mapping | None

    @property
    def line(self) -> Mapping:
        return self.after or self.before

    @property
    def net_change(self) -> Decimal:
        nets = [Decimal(side["net"]) if side else Decimal(0) for side in (self.before, self.after)]
        return nets[1] - nets[0]

    @property
    def moved(self) -> set[str]:
        """Names of the values that differ, where the line stands on both sides."""
        if not (self.before and self.after):
            return set()
        return {name for name in _told(self.after) if self.before.get(name) != self.after[name]}


@dataclass(frozen=True, kw_only=True)
class Change:
    """One value under its name, as it was and as it is; None where a side has none."""

    name: str
    before: object
    after: object

    @property
    def difference(self) -> Decimal:
        return Decimal(self.after or 0) - Decimal(self.before or 0)


@dataclass(frozen=True, kw_only=True)
class OptionChange:
    name: str
    kind: str
    lines: list[LineChange]
    sums: list[Change]
    rooms: list[Change]
    texts: list[Change]

    def __bool__(self) -> bool:
        return self.kind != "changed" or bool(self.lines or self.sums or self.rooms or self.texts)


@dataclass(frozen=True, kw_only=True)
class Differences:
    options: list[OptionChange]
    texts: list[Change]

    def __bool__(self) -> bool:
        return bool(self.options or self.texts)


def differences(before: Mapping, after: Mapping) -> Differences:
    """What has to change in the document `before` to make it say what `after` says.

    Only texts that both sides carry are compared, so that a document made of prices alone can be set against a whole one.
    """
    old = {option["scheme_id"]: option for option in before["options"]}
    new = {option["scheme_id"]: option for option in after["options"]}
    options = [_option(old.get(key), new.get(key)) for key in dict.fromkeys([*old, *new])]
    texts = [
        Change(name=name, before=words(before[key]), after=words(after[key]))
        for key, name in TEXTS
        if key in before and key in after and words(before[key]) != words(after[key])
    ]
    return Differences(options=[option for option in options if option], texts=texts)


def _option(before: Mapping | None, after: Mapping | None) -> OptionChange:
    kind = "added" if before is None else "removed" if after is None else "changed"
    old, new = before or {}, after or {}
    sums = [Change(name=name, before=old.get(key), after=new.get(key)) for key, name in SUMS]
    texts = [
        Change(name=name, before=words(old[key]), after=words(new[key]))
        for key, name in (("name", "Name"), ("summary", "Summary"), ("treatments", "What is built"))
        if key in old and key in new and words(old[key]) != words(new[key])
    ]
    return OptionChange(
        name=(after or before)["name"],
        kind=kind,
        lines=list(_lines(_sections(old), _sections(new))),
        sums=[change for change in sums if change.before != change.after],
        rooms=_rooms(old.get("rooms", []), new.get("rooms", [])),
        texts=texts,
    )


def _sections(option: Mapping) -> list[Mapping]:
    """The sections of an option, and its optional extras as one more."""
    return [*option.get("sections", []), {"label": OPTIONAL, "lines": option.get("extras", [])}]


def _lines(before: Iterable[Mapping], after: Iterable[Mapping]) -> Iterable[LineChange]:
    with_keys = all("key" in line for sections in (before, after) for section in sections for line in section["lines"])
    old, new = _by_key(before, with_keys), _by_key(after, with_keys)
    for key in dict.fromkeys([*old, *new]):
        (section, was), (other, now) = old.get(key, ("", None)), new.get(key, ("", None))
        if was is None or now is None:
            yield LineChange(
                kind="removed" if now is None else "added", section=other or section, before=was, after=now
            )
        elif _told(was) != _told(now):
            yield LineChange(kind="changed", section=other, before=was, after=now)


def _by_key(sections: Iterable[Mapping], with_keys: bool) -> dict[tuple, tuple[str, Mapping]]:
    """Lines with the label of their section; the second and third of the same key are counted apart."""
    found: dict[tuple, tuple[str, Mapping]] = {}
    for section in sections:
        for line in section["lines"]:
            key = (line["key"],) if with_keys else (section["label"], line["description"], line["where"])
            number = 1
            while (*key, number) in found:
                number += 1
            found[(*key, number)] = (section["label"], line)
    return found


def _told(line: Mapping) -> dict:
    return {name: value for name, value in line.items() if name != "key"}


def _rooms(before: Iterable[Mapping], after: Iterable[Mapping]) -> list[Change]:
    old, new = ({room["name"]: _predicted(room) for room in rooms} for rooms in (before, after))
    return [
        Change(name=name, before=old.get(name), after=new.get(name))
        for name in dict.fromkeys([*old, *new])
        if old.get(name) != new.get(name)
    ]


def _predicted(room: Mapping) -> str:
    was, now = room["prediction"]["before"], room["prediction"]["after"]
    return f"{was['weighted_db']} → {now['weighted_db']} dB ± {now['uncertainty_db']:.0f}"


def words(value: object) -> str:
    """A text, or a list of texts and of records, as lines to read; drawings are left out."""
    if isinstance(value, Mapping):
        return ". ".join(text for name, part in value.items() if name != "section" and (text := words(part)))
    if isinstance(value, list):
        return "\n".join(words(part) for part in value)
    return "" if isinstance(value, bool) or value is None else str(value).strip()
