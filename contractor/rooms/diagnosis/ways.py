"""The ways in with their shares of one noise, each with what it is in the survey."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from math import log10

from contractor.rooms.diagnosis.bridge import FOOTSTEPS, shares_of
from contractor.rooms.inputs import Inputs
from contractor.rooms.models import Opening, Patch, Room, SidePath, Surface
from contractor.rooms.prediction.patches import opening_name, patch_name


@dataclass(frozen=True, kw_only=True)
class Way:
    """`share` before and after; `is_treated` when the work changes it. One of patch, opening and side path is set,
    or none where the survey has lost it since."""

    name: str
    kind: str
    before: float
    after: float
    is_treated: bool
    surface: Surface | None = None
    patch: Patch | None = None
    opening: Opening | None = None
    side_path: SidePath | None = None

    def share(self, *, after: bool) -> float:
        return self.after if after else self.before

    @property
    def before_in_words(self) -> str:
        return share_in_words(self.before)

    @property
    def after_in_words(self) -> str:
        return share_in_words(self.after)


def share_in_words(share: float) -> str:
    """0.274 -> 27 %. What is there is never said to be nothing."""
    return "under 1 %" if 0 < share < 0.005 else f"{share * 100:.0f} %"


def ways_of(told: Mapping, room: Room, noise: str, treated: Collection[str]) -> list[Way]:
    """Every way of a prediction's JSON, largest as it is first. Footsteps: the ceilings alone, no shares are known.

    `treated` names the ways on which something is built; others may change too, since a lined wall hears less.
    """
    things = _things(room)
    if noise == FOOTSTEPS:
        return _stepped(told, room)
    shares = shares_of(told["paths"], noise)
    found = [
        Way(
            name=path["name"],
            kind=path["kind"],
            before=before,
            after=after,
            is_treated=path["name"] in treated,
            **things.get(path["name"], {}),
        )
        for path, (before, after) in zip(told["paths"], shares, strict=True)
    ]
    return sorted(found, key=lambda way: -way.before)


def treated_in(inputs: Inputs, room: Room) -> set[str]:
    """Names of the ways of a room on which `inputs` build something."""
    found = {
        patch_name(surface, patch)
        for surface in room.surfaces.all()
        for patch in surface.patches.all()
        if patch.pk in inputs.on_patch
    }
    found |= {
        opening_name(surface, opening)
        for surface in room.surfaces.all()
        for opening in surface.openings.all()
        if opening.pk in inputs.on_opening
    }
    return found | {path.name for path in room.side_paths.all() if path.pk in inputs.on_side_path}


def limit_of(ways: list[Way], *, after: bool) -> str:
    """What limits the result, in one sentence."""
    if not ways:
        return ""
    most = max(ways, key=lambda way: way.share(after=after))
    share = most.share(after=after)
    when = "After the work" if after else "As it is"
    if share > 0.995:
        return f"{when}, all of it comes by way of {most.name}: nothing done elsewhere would be heard."
    rest_db = -10.0 * log10(max(share, 1e-9))
    gain_db = -10.0 * log10(max(1.0 - share, 1e-9))
    part = "most of it" if share > 0.5 else "the largest part of it"
    return (
        f"{when}, {part} comes by way of {most.name} ({share * 100:.0f} %): whatever is done to all the others "
        f"gains at most {rest_db:.1f} dB, and whatever is done to it alone at most {gain_db:.1f} dB."
    )


def _things(room: Room) -> dict[str, dict]:
    """What a path's name stands for in the survey."""
    found: dict[str, dict] = {}
    for surface in room.surfaces.all():
        for opening in surface.openings.all():
            found[opening_name(surface, opening)] = {"surface": surface, "opening": opening}
        for patch in surface.patches.all():
            found[patch_name(surface, patch)] = {"surface": surface, "patch": patch}
    return found | {path.name: {"side_path": path} for path in room.side_paths.all()}


def _stepped(told: Mapping, room: Room) -> list[Way]:
    impact = told.get("impact")
    if not impact or "before" not in impact:
        return []
    above = [
        (surface, patch)
        for surface in room.surfaces.all()
        if surface.role == Surface.Role.SEPARATING and surface.face == Surface.Face.CEILING
        for patch in surface.patches.all()
        if patch.is_rest
    ]
    is_treated = impact["before"]["standardized_db"] != impact["after"]["standardized_db"]
    return [
        Way(
            name=patch_name(surface, patch),
            kind="direct",
            before=1.0 / len(above),
            after=1.0 / len(above),
            is_treated=is_treated,
            surface=surface,
            patch=patch,
        )
        for surface, patch in above
    ]
