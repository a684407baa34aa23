"""Where jobs stand and what became of proposals. Pure."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from statistics import median

from contractor.jobs.models import Stage
from contractor.learning.differences import FEWEST
from contractor.quotes.models import Revision


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """The last quote sent of a job, and what came of it."""

    job_id: int
    stage: str
    status: str
    valid_until: date
    sent_at: datetime
    answered_at: datetime | None
    value: Decimal | None

    def outcome(self, today: date) -> str:
        """won, declined, expired, or open. A job given up while its proposal waited counts as declined."""
        if self.status == Revision.Status.ACCEPTED:
            return "won"
        if self.status == Revision.Status.DECLINED or self.stage == Stage.LOST:
            return "declined"
        return "expired" if self.valid_until < today else "open"

    @property
    def days_to_answer(self) -> float | None:
        return (self.answered_at - self.sent_at).total_seconds() / 86400 if self.answered_at else None


@dataclass(frozen=True, kw_only=True)
class StageRow:
    value: str
    label: str
    count: int
    quoted_count: int
    money: Decimal


def stage_rows(counts: Sequence[tuple[str, str, int]], proposals: Iterable[Proposal]) -> list[StageRow]:
    """Each stage with its jobs, how many of them have a quote, and what those come to."""
    values: dict[str, list[Decimal]] = {}
    for proposal in proposals:
        if proposal.value is not None:
            values.setdefault(proposal.stage, []).append(proposal.value)
    return [
        StageRow(value=v, label=label, count=n, quoted_count=len(values.get(v, [])), money=sum(values.get(v, []), Decimal(0)))
        for v, label, n in counts
    ]  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Outcomes:
    """How many proposals went which way, and the days from sent to answer of those answered, shortest first."""

    counts: Mapping[str, int]
    days: Sequence[float]

    @property
    def settled(self) -> int:
        return sum(self.counts[name] for name in ("won", "declined", "expired"))

    @property
    def win_rate(self) -> float | None:
        """Accepted of those answered, given up or run out; None of too few."""
        return self.counts["won"] / self.settled if self.settled >= FEWEST else None

    @property
    def median_days(self) -> float | None:
        return median(self.days) if len(self.days) >= FEWEST else None


def outcomes(proposals: Iterable[Proposal], today: date) -> Outcomes:
    counts = dict.fromkeys(("won", "declined", "expired", "open"), 0)
    days = []
    for proposal in proposals:
        counts[proposal.outcome(today)] += 1
        if proposal.days_to_answer is not None:
            days.append(proposal.days_to_answer)
    return Outcomes(counts=counts, days=sorted(days))


def value_of(options: Iterable[tuple[str | None, str | None]], accepted: str) -> Decimal | None:
    """The accepted option's total, else that of the cheapest; `options` are (name, total)."""
    totals = [(name, Decimal(total)) for name, total in options if total is not None]
    for name, total in totals:
        if accepted and name == accepted:
            return total
    return min((total for _, total in totals), default=None)
