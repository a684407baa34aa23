"""What was promised: the accepted option of each job as it was frozen when the quote was sent."""

from collections.abc import Iterable

from contractor.quotes.models import Decision


def accepted_options(job_ids: Iterable[int]) -> dict[int, dict]:
    """By job, the office's own copy of the option accepted last: `predictions` and `takeoff`. One query.

    Read a few at a time and without the letter, since each is large.
    """
    decisions = (
        Decision.objects.filter(revision__job__in=set(job_ids), answer=Decision.Answer.ACCEPTED)
        .select_related("revision")
        .only("option", "revision__job_id", "revision__internal")
        .order_by("at", "pk")
    )
    found = {}
    for decision in decisions.iterator(chunk_size=20):
        for option in decision.revision.internal.get("options", []):
            if option["name"] == decision.option:
                found[decision.revision.job_id] = {
                    "predictions": option.get("predictions", {}),
                    "faces": option.get("takeoff", {}).get("faces", []),
                    "buy": option.get("takeoff", {}).get("buy", []),
                }
    return found
