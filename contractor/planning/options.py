"""Three options from the front of a plan: which sets they are, and how they become schemes of the job."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field

from django.db import transaction

from contractor.accounts.models import User
from contractor.jobs.models import Job
from contractor.rooms import services as rooms
from contractor.rooms.inputs import Choice
from contractor.rooms.models import PlanOption, Room, Scheme, Treatment
from contractor.rooms.planning.bridge import Plan, SetOfTreatments, choices_of_set

HALF = 0.5  # of what the recommended set gains is what the lesser must gain at least
NEARLY_DB = 0.5  # what the greater one may lack of the best, rather than pay for tenths of a decibel


@dataclass(frozen=True)
class Made:
    """Options made, and names of earlier ones that were left alone since somebody had changed them."""

    schemes: list[Scheme] = field(default_factory=list)
    kept: list[str] = field(default_factory=list)


def three_of(plan: Plan) -> dict[str, SetOfTreatments]:
    """Recommended is the cheapest that reaches the target, or the best there is; the others lie on either side of it.

    Less is the cheapest that gains half as much, most the cheapest within half a decibel of the best. Options that
    would be the same are left out, and so is doing nothing.
    """
    nothing, best = plan.front[0], plan.best
    recommended = plan.cheapest or _cheapest(plan, best.score - NEARLY_DB)
    less = _cheapest(plan, nothing.score + HALF * (recommended.score - nothing.score))
    most = _cheapest(plan, max(best.score - NEARLY_DB, recommended.score))
    found: dict[str, SetOfTreatments] = {}
    if less.built and less.cost < recommended.cost:
        found[PlanOption.LESS] = less
    if recommended.built:
        found[PlanOption.RECOMMENDED] = recommended
    if most.built and most.cost > recommended.cost:
        found[PlanOption.MOST] = most
    return found


def _cheapest(plan: Plan, score: float) -> SetOfTreatments:
    return next(s for s in plan.front if s.score >= score - 1e-9)


def mark_of(treatments: list[tuple]) -> str:
    """A hash of what is built where, whatever the order."""
    return hashlib.sha256(json.dumps(sorted(map(str, treatments))).encode()).hexdigest()


def is_as_made(scheme: Scheme) -> bool:
    """Whether nobody has changed the treatments of an option since the plan made it."""
    return bool(scheme.plan_mark) and mark_of(_rows(scheme)) == scheme.plan_mark


@transaction.atomic
def options_make(
    *, job: Job, room: Room, sets: Mapping[str, SetOfTreatments], words: Mapping[str, str], user: User
) -> Made:
    """Make the sets the job's options Less, Recommended and Most, for one room; other rooms keep what they have.

    An option made before is made anew while its treatments are as the plan made them. One that was changed by hand is
    kept as it is, and a new one is put beside it. `words` are the summaries by option.
    """
    Job.objects.select_for_update().get(pk=job.pk)
    made = Made()
    for option, chosen in sets.items():
        earlier = _earlier(job, option)
        if earlier is not None and not is_as_made(earlier):
            made.kept.append(earlier.name)
            Scheme.objects.filter(pk=earlier.pk).update(plan_option="", plan_mark="")
            earlier = None
        name = earlier.name if earlier else _free_name(job, PlanOption(option).label)
        scheme = earlier or rooms.scheme_create(job=job, name=name, user=user)
        rooms.scheme_update(
            scheme=scheme,
            name=name,
            summary=words[option],
            **_with_other_rooms(scheme, room, chosen),
            user=user,
        )
        scheme.plan_option, scheme.plan_mark = option, mark_of(_rows(scheme))
        scheme.save(update_fields=["plan_option", "plan_mark"])
        made.schemes.append(scheme)
    return made


def _earlier(job: Job, option: str) -> Scheme | None:
    return Scheme.objects.filter(job=job, plan_option=option).order_by("-pk").first()


def _free_name(job: Job, name: str) -> str:
    taken = set(Scheme.objects.filter(job=job).values_list("name", flat=True))
    numbered = (f"{name} {number}" for number in range(2, 1000))
    return name if name not in taken else next(other for other in numbered if other not in taken)


def _with_other_rooms(scheme: Scheme, room: Room, chosen: SetOfTreatments) -> dict[str, dict[int, Choice]]:
    found = choices_of_set(chosen.built)
    rows = scheme.treatments.select_related("patch__surface", "opening__surface", "side_path", "build_up")
    for t in rows:
        choice = Choice(build_up=t.build_up, boards_run=t.boards_run)
        if t.patch_id and t.patch.surface.room_id != room.pk:
            found["on_patch"][t.patch_id] = choice
        if t.opening_id and t.opening.surface.room_id != room.pk:
            found["on_opening"][t.opening_id] = choice
        if t.side_path_id and t.side_path.room_id != room.pk:
            found["on_side_path"][t.side_path_id] = choice
    return found


def _rows(scheme: Scheme) -> list[tuple]:
    rows = Treatment.objects.filter(scheme=scheme)
    names = ("patch_id", "opening_id", "side_path_id", "build_up_id", "boards_run")
    return [tuple(row) for row in rows.values_list(*names)]
