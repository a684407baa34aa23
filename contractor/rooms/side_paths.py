"""What to look for on each way round, and what must be measured of it. Common practice in the trade."""

from dataclasses import dataclass

from contractor.rooms.models import SidePath


@dataclass(frozen=True, kw_only=True)
class Guide:
    """`length_label` and `area_label` are empty where that measure is not asked for."""

    kind: str
    name: str
    look_for: str
    care: str = ""
    length_label: str = ""
    area_label: str = ""


GUIDES = {
    guide.kind: guide
    for guide in (
        Guide(
            kind=SidePath.Kind.VOID,
            name="Joined floor void",
            look_for="Lift a board by the wall. Look for joists that share a pocket with next door, holes and missing"
            " mortar below the boards. A noise that is clearest near the skirting comes this way.",
            care="Air bricks stay open and the void is never filled: it dries the timber.",
            length_label="Length of floor edge along the wall",
        ),
        Guide(
            kind=SidePath.Kind.BEAM,
            name="Boxing round a beam",
            look_for="A boxed steel that runs into the wall is a hollow duct. Knock on it: a hollow ring, and the noise"
            " is heard there first.",
            care="The casing may be the beam's fire protection: ask before it is opened.",
            length_label="Length of boxing in this room",
        ),
        Guide(
            kind=SidePath.Kind.FLUE,
            name="Chimney flue",
            look_for="A flue in the party wall leaves half a brick or less. Note a vent, an open throat, and whether"
            " the breast was removed above. Heard in the room above too: the chimney carries it.",
            care="A flue in use, and its air, belong to a registered engineer. Never block it.",
        ),
        Guide(
            kind=SidePath.Kind.ROOF_VOID,
            name="Joined roof void",
            look_for="From the loft: does the wall reach the underside of the roof? Look for missing bricks and gaps"
            " round purlins.",
            length_label="Length of wall top in the loft",
        ),
        Guide(
            kind=SidePath.Kind.LEAK,
            name="Gaps and leaks",
            look_for="Sockets back to back, unpointed brick, gaps at skirting, ceiling and window frame. If every word"
            " is understood, look here first.",
            area_label="Open area: 2,000 mm² is a gap of 2 mm, 1 m long",
        ),
        Guide(
            kind=SidePath.Kind.PIPE,
            name="Pipes and wastes",
            look_for="Where a pipe or waste passes a wall, floor or ceiling: is it tight, is it sealed? Heard only when"
            " next door flushes: the stack.",
            care="Keep collars and access eyes where a pipe passes a floor between homes.",
            length_label="Length of run to be boxed",
        ),
    )
}
