"""What the office should know of the rules before it sends a quote: what was set aside, and what must not be built."""

from collections.abc import Iterable, Iterator, Mapping

from django.urls import reverse

from contractor.jobs.models import Job
from contractor.rooms.gaps import Gap
from contractor.rooms.inputs import Choice, Inputs
from contractor.rooms.models import Opening, Patch, Scheme
from contractor.rooms.rules import Verdict, blocks, verdicts
from contractor.rooms.rules.sheet import RuledPlace, overrides_in_force


def page_of_rules(place: RuledPlace) -> str:
    """Where what the rules say of a place is shown."""
    if isinstance(place, Patch):
        return f"{reverse('rooms:condition', args=[place.surface_id])}#rules"
    return f"{reverse('rooms:opening' if isinstance(place, Opening) else 'rooms:side-path', args=[place.pk])}#rules"


def page_to_set_aside(place: RuledPlace, rule_key: str) -> str:
    if isinstance(place, Patch):
        return reverse("rooms:rule-aside", args=[place.surface_id, place.pk, rule_key])
    name = "rooms:opening-rule-aside" if isinstance(place, Opening) else "rooms:side-path-rule-aside"
    return reverse(name, args=[place.pk, rule_key])


def with_pages(place: RuledPlace, found: Iterable[Verdict]) -> list[tuple[Verdict, str]]:
    """Verdicts on a place, each with the page where it is set aside."""
    return [(verdict, page_to_set_aside(place, verdict.rule)) for verdict in found]


def overrides_of(job: Job) -> list[dict]:
    """Every rule set aside on the job as it stands, as JSON: rule, where, reason, by, at, page. One query."""
    return [
        {
            "rule": row.rule_name,
            "where": row.where,
            "reason": row.reason,
            "by": row.by.display_name,
            "at": row.at.isoformat(),
            "page": page_of_rules(row.place),
        }
        for row in overrides_in_force(job)
    ]


def set_aside(job: Job) -> list[Gap]:
    return [
        Gap(
            f"{row['where']}: “{row['rule']}” is set aside by {row['by']}: {row['reason']}",
            row["page"],
        )
        for row in overrides_of(job)
    ]


def ruled_out(inputs: Inputs) -> list[dict]:
    """What is chosen though a rule says that it must not be built, as JSON: place, build_up, reason, and the page where
    the rule can be set aside. No query."""
    return [
        {
            "place": where,
            "build_up": choice.build_up.name,
            "reason": verdict.reason,
            "page": page_to_set_aside(place, verdict.rule),
        }
        for place, where, choice in _chosen(inputs)
        for verdict in blocks(verdicts(place, choice.build_up, sheet=inputs.rules))
    ]


def _chosen(inputs: Inputs) -> Iterator[tuple[RuledPlace, str, Choice]]:
    for surface in inputs.surfaces:
        for things, chosen in ((surface.patches, inputs.on_patch), (surface.openings, inputs.on_opening)):
            yield from ((t, f"{surface}, {t}", chosen[t.pk]) for t in things.all() if t.pk in chosen)
    paths = (path for room in inputs.rooms for path in room.side_paths.all())
    yield from ((p, str(p), inputs.on_side_path[p.pk]) for p in paths if p.pk in inputs.on_side_path)


def must_not_be_built(scheme: Scheme, takeoff: Mapping) -> list[Gap]:
    """The same, from an option's take-off, with the page of each rule."""
    return [
        Gap(
            f"{scheme}. {row['place']}: {row['build_up']} must not be built here. {row['reason']}",
            row["page"],
        )
        for row in takeoff.get("ruled_out", ())
    ]
