"""What a supplier's price list changes: rows of text in, new prices by material out. Pure.

A row is found by the article number kept with a material, or else by the very name. What is dear by mistake is dear
for every quote after it, so a price that changes by much is shown but not ticked.
"""

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from math import log

from contractor.catalogue.models import Material
from contractor.common.tables import LOOK_AHEAD, CannotRead, cells

CODE, NAME, PRICE, PER = "code", "name", "price", "per"
HINTS = (
    (PER, re.compile(r"^per$|\b(price unit|priced per|price for|unit quantity)\b")),
    (PRICE, re.compile(r"£|\b(price|net|cost|gbp)\b")),
    (NAME, re.compile(r"\b(description|name|title)\b")),
    (CODE, re.compile(r"\b(code|article|art|item|sku|part|ref|number|no)\b")),
    (NAME, re.compile(r"\b(product|material)\b")),
)
MUCH_PERCENT = 25
LIKELY = 4
LARGEST_PRICE = Decimal("99999999.99")
_CURRENCY = re.compile(r"[£€$\s\u00a0]|GBP|EUR", re.IGNORECASE)
_NUMBER = re.compile(r"[0-9][0-9.,]*")
_DECIMAL_COMMA = re.compile(r",\d{1,2}$")


@dataclass(frozen=True, kw_only=True)
class List:
    """`rows` keep the file's line numbers; `header` names the columns."""

    header: list[str]
    rows: list[tuple[int, list[str]]]

    def column(self, place: int | None) -> Iterable[str]:
        return (_cell(row, place) for _, row in self.rows)


@dataclass(frozen=True, kw_only=True)
class Columns:
    """Which column holds what; None where the list has no such column. `price` is always there."""

    price: int
    code: int | None = None
    name: int | None = None
    per: int | None = None


@dataclass(frozen=True, kw_only=True)
class Change:
    """A price that a list gives for a material, the line it stands in, and the article number there."""

    material: Material
    line: int
    code: str
    price: Decimal

    @property
    def percent(self) -> int | None:
        """By how much it changes; None where there was no price."""
        was = self.material.price
        return round((self.price - was) / was * 100) if was else None

    @property
    def is_new(self) -> bool:
        return self.price != self.material.price

    @property
    def is_much(self) -> bool:
        """A change that somebody should look at. An illustrative price says nothing of the true one."""
        was_real = not self.material.price_is_illustrative
        return was_real and self.percent is not None and abs(self.percent) > MUCH_PERCENT

    @property
    def key(self) -> str:
        """Says of which price it is a change, so that another's in the meantime is not overwritten."""
        return f"{self.material.pk}:{self.material.price}:{self.price}"


@dataclass(frozen=True, kw_only=True)
class Found:
    """What a list says of the firm's materials. `refused` are (line, what, why); `absent` stand in no row."""

    changes: list[Change]
    refused: list[tuple[int, str, str]]
    absent: list[Material]
    others: int
    has_decimal_comma: bool

    @property
    def new(self) -> list[Change]:
        return [change for change in self.changes if change.is_new]

    @property
    def same(self) -> list[Change]:
        return [change for change in self.changes if not change.is_new]


def read_list(text: str) -> List:
    """The titles and the rows under them. Raises CannotRead."""
    lines = cells(text, may_be_spaced=False)
    for place, (_, row) in enumerate(lines[:LOOK_AHEAD]):
        titles = [guess(cell) for cell in row]
        if PRICE in titles and len(set(titles) - {""}) > 1:
            width = max(len(other) for _, other in lines[place:])
            return List(header=row + [""] * (width - len(row)), rows=lines[place + 1 :])
    width = max(len(row) for _, row in lines)
    if width < 2:
        raise CannotRead("Only one column is found. A price list needs an article number or a name, and a price.")
    return List(header=[""] * width, rows=lines)


def guess(title: str) -> str:
    """What a column holds, by its title; "" where the title does not say."""
    plain = re.sub(r"[_\-/]+", " ", title.lower())
    return next((role for role, hint in HINTS if hint.search(plain)), "")


def guessed_columns(header: Sequence[str]) -> dict[str, int]:
    """The first column that seems to hold each."""
    found: dict[str, int] = {}
    for place, title in enumerate(header):
        if role := guess(title):
            found.setdefault(role, place)
    return found


def compare(read: List, columns: Columns, materials: Sequence[Material]) -> Found:
    """The prices that the list gives for `materials`; of 10,000 rows only those that are ours are looked at closely."""
    by_code = {same(m.supplier_code): m for m in materials if m.supplier_code}
    by_name = {same(m.name): m for m in materials}
    comma = has_decimal_comma(read.column(columns.price))
    met: dict[int, list[tuple[int, list[str]]]] = {}
    others = 0
    for line, row in read.rows:
        material = by_code.get(same(_cell(row, columns.code))) or by_name.get(same(_cell(row, columns.name)))
        if material is None:
            others += 1
        else:
            met.setdefault(material.pk, []).append((line, row))
    changes, refused = [], []
    for material in materials:
        if rows := met.get(material.pk):
            try:
                changes.append(_change(material, rows, columns, comma))
            except CannotRead as error:
                refused.append((rows[0][0], material.name, str(error)))
    absent = [material for material in materials if material.pk not in met]
    return Found(changes=changes, refused=sorted(refused), absent=absent, others=others, has_decimal_comma=comma)


def _change(material: Material, rows: list[tuple[int, list[str]]], columns: Columns, comma: bool) -> Change:
    prices = {_price(material, row, columns, comma): (line, row) for line, row in reversed(rows)}
    if len(prices) > 1:
        lines = " and ".join(f"{line:,}" for line, _ in rows)
        raise CannotRead(f"It stands there more than once with different prices: rows {lines}.")
    ((price, (line, row)),) = prices.items()
    return Change(material=material, line=line, code=_cell(row, columns.code)[:40], price=price)


def _price(material: Material, row: list[str], columns: Columns, comma: bool) -> Decimal:
    """For one of our packs. Raises CannotRead."""
    cell = _cell(row, columns.price)
    price = amount(cell, comma)
    if price is None:
        raise CannotRead(f"“{cell[:30]}” is no price." if cell else "The price is empty.")
    if columns.per is not None:
        per_cell = _cell(row, columns.per)
        per = amount(per_cell, comma)
        if not per:
            raise CannotRead(f"Priced for “{per_cell[:20]}”: that is no number of pieces.")
        price = price * material.pack_quantity / per
    price = price.quantize(Decimal("0.01"), ROUND_HALF_UP)
    if not 0 < price <= LARGEST_PRICE:
        raise CannotRead(f"“{cell[:30]}” is no price: expected more than nothing.")
    return price


def amount(cell: str, has_decimal_comma: bool) -> Decimal | None:
    """A sum as a list writes it: 1,234.50 or £1 234.50, or with a decimal comma 1.234,50. None for anything else."""
    plain = _CURRENCY.sub("", cell)
    if not _NUMBER.fullmatch(plain):
        return None
    thousands, mark = (".", ",") if has_decimal_comma else (",", ".")
    plain = plain.replace(thousands, "").replace(mark, ".")
    return None if plain.count(".") > 1 else Decimal(plain)


def has_decimal_comma(column: Iterable[str]) -> bool:
    """Whether the sums of a column end in a comma and pence: of one list all are written alike."""
    ends = [bool(_DECIMAL_COMMA.search(_CURRENCY.sub("", cell))) for cell in column if any(map(str.isdigit, cell))]
    return sum(ends) * 2 > len(ends)


def same(words: str) -> str:
    """Two codes or names are the same whatever their capitals and spaces."""
    return " ".join(words.split()).casefold()


def _cell(row: Sequence[str], place: int | None) -> str:
    return row[place] if place is not None and place < len(row) else ""


def likely_rows(read: List, columns: Columns, materials: Sequence[Material]) -> dict[int, list[tuple[str, str]]]:
    """By material id the (article number, name) of the few rows whose names share most with the material's own.

    A word counts the more the fewer rows hold it (the usual inverse document frequency); a number counts as a word.
    """
    rows_of: dict[str, list[int]] = {}
    for place, (_, row) in enumerate(read.rows):
        for word in _words(_cell(row, columns.name)):
            rows_of.setdefault(word, []).append(place)
    found = {}
    for material in materials:
        scores: Counter[int] = Counter()
        for word in _words(material.name):
            places = rows_of.get(word, [])
            for place in places:
                scores[place] += log(1 + len(read.rows) / len(places))
        rows = [read.rows[place][1] for place, _ in scores.most_common(LIKELY)]
        found[material.pk] = [(_cell(row, columns.code), _cell(row, columns.name)) for row in rows]
    return found


def _words(name: str) -> set[str]:
    return set(re.findall(r"[a-z]{2,}|\d+(?:\.\d+)?", name.lower()))


def ticked(found: Found, keys: Iterable[str]) -> tuple[list[Change], list[Change]]:
    """Of the changes those whose keys are among `keys`, and those asked for whose old price is another by now."""
    wanted = {key.partition(":")[0]: key for key in keys}
    asked = [change for change in found.changes if str(change.material.pk) in wanted]
    taken = [change for change in asked if wanted[str(change.material.pk)] == change.key]
    return taken, [change for change in asked if change not in taken]
