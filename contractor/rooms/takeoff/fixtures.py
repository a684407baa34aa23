"""What hangs on a treated face and must come off, or off and on again: hours by the catalogue's allowances."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from shapely import Polygon
from shapely.affinity import translate

from contractor.common.templatetags.wording import mm
from contractor.rooms.models import Fixture
from contractor.rooms.takeoff.faces import Face

Kind, Fate = Fixture.Kind, Fixture.Fate


@dataclass(frozen=True, kw_only=True)
class Handling:
    """A labour allowance by its key, per piece or per metre, and why. Common practice in the trade."""

    allowance_key: str
    reason: str
    is_by_metre: bool = False


OFF_AND_ON = Handling(
    allowance_key="radiator-off-and-on",
    reason="off, and on again on the new face: its tails move by the depth of the lining. Heating is drained and"
    " filled by someone competent.",
)
OFF = Handling(allowance_key="radiator-off-and-on", reason="off for good; its pipes are capped by someone competent.")
HANDLING: dict[tuple[str, str], tuple[Handling, ...]] = {
    (Kind.RADIATOR, Fate.MOVES): (OFF_AND_ON,),
    (Kind.RADIATOR, Fate.COMES_OFF): (OFF,),
    (Kind.SKIRTING, Fate.MOVES): (
        Handling(
            allowance_key="take-off-skirting", reason="off, for the lining runs down behind it.", is_by_metre=True
        ),
    ),
    (Kind.SKIRTING, Fate.COMES_OFF): (
        Handling(allowance_key="take-off-skirting", reason="off for good.", is_by_metre=True),
    ),
    (Kind.CORNICE, Fate.MOVES): (
        Handling(allowance_key="take-off-coving", reason="off, for the lining goes all the way up.", is_by_metre=True),
        Handling(allowance_key="fit-coving", reason="fitted anew to the new face.", is_by_metre=True),
    ),
    (Kind.CORNICE, Fate.COMES_OFF): (
        Handling(allowance_key="take-off-coving", reason="off, for the lining goes all the way up.", is_by_metre=True),
    ),
}


def handling_of(faces: Iterable[Face]) -> list[tuple[Face, Handling, Decimal, str]]:
    """For each fixture once, with the first treated face on which it lies: the work, how much of it, and why. Reads
    the surfaces' fixtures."""
    found, seen = [], set()
    for face in faces:
        if face.surface is None or face.is_cheek:
            continue
        shape = translate(Polygon(face.outline_mm), face.at_x_mm, face.at_y_mm)
        for fixture in face.surface.fixtures.all():
            if fixture.pk in seen or not shape.intersects(fixture.outline.shape):
                continue
            seen.add(fixture.pk)
            for work in HANDLING.get((fixture.kind, fixture.fate), ()):
                quantity = Decimal(fixture.width_mm) / 1000 if work.is_by_metre else Decimal(1)
                found.append((face, work, quantity, f"{fixture} at {mm(fixture.x_mm)}: {work.reason}"))
    return found
