"""What changes a work pack and its ticks."""

from django.db import transaction
from django.utils import timezone

from contractor.accounts.models import User
from contractor.accounts.services import record
from contractor.fitting.bridge import CannotReplan, can_remeasure, remeasured
from contractor.fitting.left import as_left
from contractor.fitting.models import Tick, WorkPack
from contractor.fitting.pack import keys_of, pack_document, rows_of
from contractor.fitting.selectors import holds_of
from contractor.jobs.models import Job, Stage
from contractor.jobs.selectors import open_gates
from contractor.jobs.services import stage_change
from contractor.offcuts import services as offcuts
from contractor.quotes.models import Revision
from contractor.rooms import services as rooms
from contractor.rooms.models import Scheme

__all__ = ["CannotReplan", "can_remeasure"]


class PackInUse(Exception):
    """Work on the pack has begun; it is made again only when that is asked for."""

    def __init__(self, ticks: int):
        self.ticks = ticks
        super().__init__(f"{ticks} steps or pieces are ticked already.")


class NothingToMake(Exception):
    """There is no take-off to make a pack from; the message says what to do."""


def make_pack(
    *,
    job: Job,
    revision: Revision,
    scheme: Scheme | None,
    option: str = "",
    user: User | None = None,
    remake: bool = False,
) -> WorkPack:
    """Freeze steps and cut list of the accepted option: from the take-off as it was sent, or with `remake` as it is now.

    Sizes measured on site stand, unless the survey of their surface was changed since.
    `option` names it where its scheme is gone since. Raises PackInUse when something is ticked and `remake` is not set.
    Remade, ticks stay on whatever reads exactly as before, and the record says how many did not.
    """
    option = option or (scheme.name if scheme else "")
    takeoff = None if remake and scheme else _takeoff_as_sent(revision, option)
    if takeoff is None:
        if scheme is None:
            raise NothingToMake("The accepted option is gone from the treatment page, and its quote kept no take-off.")
        takeoff = rooms.calculate(scheme=scheme).takeoff
        if takeoff.get("is_preview"):
            raise NothingToMake("A better take-off is being worked out. Make the pack when it is there, in a moment.")
    document = with_sizes_of(WorkPack.objects.filter(job=job).first(), pack_document(takeoff))
    document["extras"] = _extras_chosen(revision)
    rows = rows_of(document)
    steps = sum(key.startswith("step:") for key in rows)
    with transaction.atomic():
        Job.objects.select_for_update(of=("self",)).get(pk=job.pk)
        before = WorkPack.objects.filter(job=job).first()
        ticked = Tick.objects.filter(pack=before).count() if before else 0
        if ticked and not remake:
            raise PackInUse(ticked)
        old_rows = rows_of(before.document) if before else {}
        pack, _ = WorkPack.objects.update_or_create(
            job=job, defaults={"revision": revision, "option": option, "document": document, "step_count": steps}
        )
        kept = [tick for key, row in rows.items() if old_rows.get(key) == row for tick in keys_of(key)]
        dropped, _ = pack.ticks.exclude(key__in=kept).delete()
        action = "Work pack made again" if before else "Work pack made"
        record(user=user, action=action, subject=job, quote=revision.number, option=option, ticks_dropped=dropped)
    return pack


def with_sizes_of(before: WorkPack | None, document: dict) -> dict:
    """The fresh document, its surfaces at the sizes that were measured on site for the pack before.

    A surface whose survey has changed since keeps the survey's size. One that cannot be boarded at its measured size
    stays as surveyed, and says so.
    """
    old = {f["key"]: f for f in before.document["faces"] if f.get("remeasured")} if before else {}
    if not old:
        return document
    done, old_rows = _done_keys(before), rows_of(before.document)
    for key in [face["key"] for face in document["faces"] if face["key"] in old and can_remeasure(face)]:
        face = next(face for face in document["faces"] if face["key"] == key)
        told = old[key]["remeasured"]
        if [face["width_mm"], face["height_mm"]] != told["was_mm"]:
            continue
        rows = rows_of(document)
        same = {tick for tick in done if old_rows.get(keys_of(tick)[0]) == rows.get(keys_of(tick)[0])}
        try:
            document, now = remeasured(document, key, *told["is_mm"], same)
        except CannotReplan as problem:
            face["problem"] = f"Measured again on site as {told['is_mm'][0]:,} × {told['is_mm'][1]:,}. {problem}"
            continue
        face = next(face for face in document["faces"] if face["key"] == key)
        now.pop("ticks")
        face["remeasured"] = now | {name: told[name] for name in ("by", "at", "was_mm")}
    return document


def _extras_chosen(revision: Revision) -> list[dict]:
    """The optional extras that the homeowner ordered with the quote, without their prices."""
    decision = getattr(revision, "decision", None)
    extras = decision.extras if decision else []
    return [{name: extra[name] for name in ("description", "about", "quantity", "unit")} for extra in extras]


def _takeoff_as_sent(revision: Revision, option: str) -> dict | None:
    for sent in revision.internal.get("options", []):
        if sent["name"] == option:
            return sent.get("takeoff")
    return None


class RowGone(Exception):
    """The pack has no such row, or none any more since a surface was measured again."""


class Closed(Exception):
    """The row lies behind a hold point that is not settled yet."""

    def __init__(self, hold: dict):
        super().__init__(f"Stopped at the hold point: {hold['title']} Photographs and its tick first, or say why not.")


@transaction.atomic
def set_tick(*, pack: WorkPack, key: str, is_done: bool, user: User) -> Tick:
    """Say that a row of the pack is done, or not. Saying the same again changes nothing, not even who and when.

    What is fixed is cut; what is to be made again is neither. Cutting into a stored offcut takes it out of the store.
    The first thing done takes a scheduled job on site. The pack is locked, so that no surface is measured again
    meanwhile. Raises RowGone, and Closed for work behind a hold point.
    """
    locked = WorkPack.objects.select_for_update(of=("self",)).select_related("job").get(pk=pack.pk)
    keys = keys_of(key)
    if key not in keys or keys[0] not in rows_of(locked.document):
        raise RowGone(f"The work pack has no row {key} now.")
    if is_done:
        closed_by = holds_of(locked, {t.key: t for t in locked.ticks.all()}).locks.get(keys[0])
        if closed_by:
            raise Closed(closed_by)
    kind = key.partition(":")[0]
    if kind == "fix" and is_done:
        _set(locked, keys[0], True, user)
    if (kind == "again" and is_done) or (kind == "cut" and not is_done):
        others = Tick.objects.filter(pack=locked, key__in=keys[:2], is_done=True).exclude(key=key)
        others.update(is_done=False, by=user, at=timezone.now())
    tick, is_new = _set(locked, key, is_done, user)
    if is_done:
        offcuts.use(job=locked.job, labels=_offcuts_under(locked.document, key), by=user)
        _is_here(locked, keys[0].rpartition(":")[2])
    job = locked.job
    if is_new and is_done and job.stage == Stage.SCHEDULED and not open_gates(job):
        stage_change(job=job, to_stage=Stage.ON_SITE, by=user, note="Work has begun")
    return tick


def _is_here(pack: WorkPack, label: str) -> None:
    """What a piece is cut from was bought, wherever it was to be bought."""
    awaited = [
        s for s in pack.document["sheets"] if s.get("is_to_buy") and any(p["label"] == label for p in s["placed"])
    ]
    for sheet in awaited:
        sheet["is_to_buy"] = False
    if awaited:
        pack.save(update_fields=["document"])


def _set(pack: WorkPack, key: str, is_done: bool, user: User) -> tuple[Tick, bool]:
    tick, is_new = Tick.objects.get_or_create(pack=pack, key=key, defaults={"is_done": is_done, "by": user})
    if not is_new and tick.is_done != is_done:
        tick.is_done, tick.by = is_done, user
        tick.save()
    return tick, is_new


def _offcuts_under(document: dict, key: str) -> list[str]:
    """Labels of the stored offcuts that the piece of that key comes from."""
    kind, _, piece = key.partition(":")
    if kind not in ("cut", "fix"):
        return []
    label = piece.rpartition(":")[2]
    parts = [(sheet["placed"], sheet) for sheet in document["sheets"]]
    parts += [(length["cuts"], length) for length in document["lengths"]]
    return [
        s["from_offcut"] for placed, s in parts if s.get("from_offcut") and any(p["label"] == label for p in placed)
    ]


class ChangedMeanwhile(Exception):
    """Somebody cut or measured in the meantime."""

    def __init__(self):
        super().__init__("Somebody ticked or measured something meanwhile. Look again, then take the new size.")


def remeasured_pack(*, pack: WorkPack, face_key: str, width_mm: int, height_mm: int) -> tuple[dict, dict]:
    """(the pack's document with that face at its new size, what became of its pieces); nothing is kept yet.

    Raises CannotReplan.
    """
    return remeasured(pack.document, face_key, width_mm, height_mm, _done_keys(pack))


def remeasure(*, pack: WorkPack, face_key: str, width_mm: int, height_mm: int, user: User) -> WorkPack:
    """Take a surface at the size it was built: what is not cut yet is planned anew, the rest used where it still fits.

    Ticks of pieces that must be trimmed are taken back. Raises CannotReplan, or ChangedMeanwhile.
    """
    done, before = _done_keys(pack), pack.document
    document, told = remeasured(before, face_key, width_mm, height_mm, done)  # takes a moment: outside the transaction
    ticks = told.pop("ticks")
    face = next(face for face in document["faces"] if face["key"] == face_key)
    face["remeasured"] = told | {"by": user.display_name, "at": timezone.now().isoformat()}
    with transaction.atomic():
        locked = WorkPack.objects.select_for_update(of=("self",)).get(pk=pack.pk)
        if locked.document != before or _done_keys(locked) != done:
            raise ChangedMeanwhile
        locked.document = document
        locked.save(update_fields=["document"])  # made_at still tells when it was made from the quote
        for key, is_done in ticks.items():
            Tick.objects.update_or_create(pack=locked, key=key, defaults={"is_done": is_done, "by": user})
        undone = [keys_of(key)[1] for key, is_done in ticks.items() if not is_done]
        Tick.objects.filter(pack=locked, key__in=undone, is_done=True).update(is_done=False, by=user)
        offcuts.give_back(job=pack.job, labels=_stored(before) - _stored(document), by=user)
        detail = {"surface": face["label"], "was_mm": told["was_mm"], "is_mm": told["is_mm"]}
        record(user=user, action="Surface measured again", subject=pack.job, **detail)
    return locked


def _stored(document: dict) -> set[str]:
    """Labels of the stored offcuts that the document cuts up."""
    return {each["from_offcut"] for each in [*document["sheets"], *document["lengths"]] if each.get("from_offcut")}


def store_left_over(*, pack: WorkPack, rows: list[dict], conditions: dict[str, str], user: User) -> list[str]:
    """Put parts of `left_over` into the store, each in its condition by label; the labels of those that are new there."""
    return [offcut.label for offcut in offcuts.keep(job=pack.job, left=as_left(rows, conditions), by=user)]


def _done_keys(pack: WorkPack) -> set[str]:
    return set(Tick.objects.filter(pack=pack, is_done=True).values_list("key", flat=True))
