"""A spoiled board cut from somewhere else: what is offered for it, and taking one of that."""

from django.db import transaction

from contractor.accounts.models import User
from contractor.accounts.services import record
from contractor.catalogue.models import Material
from contractor.fitting.models import Tick, WorkPack
from contractor.fitting.pack import keys_of
from contractor.fitting.swaps import Choice, NotOffered, Stored, choices, swappable, swapped
from contractor.jobs.models import Job
from contractor.offcuts import selectors as store
from contractor.offcuts import services as offcuts
from contractor.offcuts.models import Offcut
from contractor.offcuts.services import store_label


def offers_for(pack: WorkPack, face_key: str) -> list[tuple[dict, list[Choice]]]:
    """(piece, what it can be cut from) of each board of a surface. A fixed number of queries."""
    pieces = [piece for face, piece in swappable(pack.document) if face["key"] == face_key]
    stored, gone, full = _stored(pack.job), _out_of_reach(pack.job), _full_sizes(pack.document)
    return [
        (piece, choices(pack.document, piece, stored, gone, full.get(_board_of(pack.document, piece))))
        for piece in pieces
    ]


def swap(*, pack: WorkPack, key: str, take: str, user: User) -> Choice:
    """Cut the board of that key from `take`, one of its choices' values; it is to be cut again, where the list says now.

    An offcut out of the store is reserved for the job. Raises NotOffered.
    """
    with transaction.atomic():
        locked = WorkPack.objects.select_for_update(of=("self",)).select_related("job").get(pk=pack.pk)
        face_key = key.split(":")[1] if key.count(":") >= 3 else ""
        offers = {piece["key"]: (piece, found) for piece, found in offers_for(locked, face_key)}
        piece, found = offers.get(keys_of(key)[0], (None, []))
        choice = next((each for each in found if each.value == take), None)
        if piece is None:
            raise NotOffered("The cut list has no such board now.")
        if choice is None:
            raise NotOffered(f"{piece['label']}: what it was to be cut from is gone by now or no longer large enough.")
        if take.startswith("store:"):
            _reserve(locked.job, take.partition(":")[2], user)
        full_mm = _full_sizes(locked.document).get(_board_of(locked.document, piece))
        locked.document = swapped(locked.document, key, choice, _stored(locked.job), full_mm)
        locked.save(update_fields=["document"])
        cut, fix, again = keys_of(key)
        Tick.objects.filter(pack=locked, key__in=[cut, fix], is_done=True).update(is_done=False, by=user)
        Tick.objects.update_or_create(pack=locked, key=again, defaults={"is_done": True, "by": user})
        record(user=user, action="Spoiled board swapped", subject=locked.job, piece=piece["label"], take=choice.title)
    pack.document = locked.document
    return choice


def _reserve(job: Job, label: str, user: User) -> None:
    """Beside what the job has reserved already."""
    own = Offcut.objects.filter(reserved_for=job, state=Offcut.State.IN_STORE)
    try:
        offcuts.reserve(job=job, offcuts=[*own, *Offcut.objects.filter(label=label)], by=user)
    except offcuts.Taken as taken:
        raise NotOffered(str(taken)) from taken


def _stored(job: Job) -> list[Stored]:
    return [
        Stored(label=o.label, material_key=o.material.key, short_mm=o.width_mm, long_mm=o.length_mm)
        for o in store.free_for(job)
        if o.width_mm
    ]


def _out_of_reach(job: Job) -> set[str]:
    """Left-overs of the job by the pack's own labels that went into the store: from there they are offered, or gone."""
    prefix = store_label(job, "")
    return {label.removeprefix(prefix) for label in job.offcuts_left.values_list("label", flat=True)}


def _board_of(document: dict, piece: dict) -> str:
    return document["sheets"][piece["sheet_place"]]["material_key"]


def _full_sizes(document: dict) -> dict[str, tuple[int, int]]:
    """The catalogue's size of a whole sheet of each board of the pack."""
    keys = {sheet["material_key"] for sheet in document["sheets"]}
    rows = Material.objects.filter(key__in=keys, width_mm__gt=0, length_mm__gt=0)
    return {m.key: tuple(sorted((m.width_mm, m.length_mm))) for m in rows}
