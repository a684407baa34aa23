"""What was counted of a line against what was asked for. Pure.

Every count says how many packs are on site now in all, so two people who count the same ten boards make ten of them, not
twenty; the count that was made last stands, and all of them are kept and shown. A count errs low rather than high: what
nobody saw stays outstanding.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from contractor.common.packs import pack_words
from contractor.orders.models import CheckOff, FromVan, OrderedLine, UsedMaterial


@dataclass(frozen=True, kw_only=True)
class Counted:
    """An ordered line, or a row out of the van, with its counts, the earliest first."""

    row: OrderedLine | FromVan
    counts: Sequence[CheckOff]

    @property
    def is_van(self) -> bool:
        return isinstance(self.row, FromVan)

    @property
    def key(self) -> str:
        """How a phone names it."""
        return f"van-{self.row.pk}" if self.is_van else str(self.row.pk)

    @property
    def material_key(self) -> str:
        return self.row.material.key if self.is_van else self.row.material_key

    @property
    def name(self) -> str:
        return self.row.material.name if self.is_van else self.row.name

    @property
    def packs(self) -> int:
        return self.row.packs

    @property
    def standing(self) -> CheckOff | None:
        return self.counts[-1] if self.counts else None

    @property
    def sound(self) -> int:
        return self.standing.sound if self.standing else 0

    @property
    def missing(self) -> int:
        """Packs that did not come, or came damaged."""
        return max(self.packs - self.sound, 0)

    @property
    def is_disputed(self) -> bool:
        """Whether two people counted differently and nobody has looked at it."""
        return any(count.act.outcome == "conflict" and count.act.looked_at is None for count in self.counts)

    @property
    def seen(self) -> str:
        """How a page names the count that it shows."""
        return str(self.standing.pk) if self.standing else ""

    @property
    def words(self) -> str:
        return self.words_of(self.packs)

    @property
    def missing_words(self) -> str:
        return self.words_of(self.missing)

    def words_of(self, packs: int) -> str:
        size = self.row.material if self.is_van else self.row
        return pack_words({"packs": packs, "pack_unit": size.pack_unit, "pack_quantity": size.pack_quantity})


def counted(row: OrderedLine | FromVan, counts: Iterable[CheckOff]) -> Counted:
    return Counted(row=row, counts=sorted(counts, key=lambda count: (count.at, count.pk)))


@dataclass(frozen=True, kw_only=True)
class Goods:
    """One material of a job over all its orders and the van: packs asked for, packs that came sound, and what was said
    of its use. What nobody has counted is taken to have come as it was asked for."""

    number: int
    key: str
    name: str
    pack_words: str
    asked: int
    came: int
    said: UsedMaterial | None

    @property
    def used(self) -> Decimal:
        """Packs: all that came, less what was left over, and what was bought besides."""
        if self.said is None:
            return Decimal(self.came)
        return self.came + self.said.bought - self.said.left_over

    @property
    def initial(self) -> dict:
        said = (
            {
                "left_over": f"{self.said.left_over.normalize():f}",
                "bought": f"{self.said.bought.normalize():f}",
                "note": self.said.note,
            }
            if self.said
            else {}
        )
        return {"material": self.key} | said


def goods_of(lines: Iterable[Counted], said: Mapping[str, UsedMaterial]) -> list[Goods]:
    """By material, in order of name."""
    by_key: dict[str, list[Counted]] = {}
    for line in lines:
        by_key.setdefault(line.material_key, []).append(line)
    rows = sorted(by_key.items(), key=lambda pair: (pair[1][0].name.lower(), pair[0]))
    return [
        Goods(
            number=number,
            key=key,
            name=same[0].name,
            pack_words=same[0].words_of(sum(line.packs for line in same)),
            asked=sum(line.packs for line in same),
            came=sum(line.sound if line.standing else line.packs for line in same),
            said=said.get(key),
        )
        for number, (key, same) in enumerate(rows, start=1)
    ]
