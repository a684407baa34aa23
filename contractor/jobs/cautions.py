"""What can hurt someone on a job: a short caution, and who is competent to deal with it.

General cautions of the trade (common practice). They give no limit and clear nothing: the local code where the home
stands and the licensed person decide.
"""

from collections.abc import Callable
from dataclasses import dataclass

from contractor.customers.models import Property
from contractor.jobs.models import Gate, Job
from contractor.jobs.selectors import gates_of


@dataclass(frozen=True, kw_only=True)
class Caution:
    """`who` is empty for everyday cautions; `is_open` is True while the caution stops work from being booked."""

    kind: str
    title: str
    text: str
    who: str = ""
    is_open: bool = False


KIND = Gate.Kind

GATE_TEXTS: dict[str, tuple[str, str]] = {
    KIND.ASBESTOS: (
        "Homes built before 2000 may hold asbestos in textured coating, board, floor tiles, lagging and flues. A "
        "refurbishment survey or sampling comes before any fabric is disturbed. If something suspect turns up: stop, "
        "leave the room, close it, and do not sample it yourself.",
        "An accredited asbestos surveyor; what is found is dealt with by a licensed asbestos contractor.",
    ),
    KIND.STRUCTURE: (
        "New linings add weight to joists and beams, and a chimney breast, beam or lintel may carry more than it shows. "
        "Nothing is notched, cut or taken out, and no heavy ceiling or floor is hung or laid, before it has been checked.",
        "A chartered structural engineer; building control where the local code asks for it.",
    ),
    KIND.FLUE: (
        "Never block a flue, an air brick, a permanent vent or the air that an appliance burns. An appliance or a live "
        "flue near treated work is looked at first, and a carbon monoxide alarm stays working.",
        "A registered gas engineer for gas; a registered installer for oil or solid fuel.",
    ),
    KIND.ELECTRICS: (
        "Sockets, switches, lights and cables are moved by a competent person, isolated and proved dead first. Cables "
        "in insulation may need a lower rating; lights in a ceiling need clearance for heat and fire.",
        "A registered electrician, who leaves a certificate to the local wiring code.",
    ),
    KIND.VENTILATION: (
        "Air bricks and the void under a suspended floor stay open and clear: timber without air rots. The void is "
        "never filled, and a damp wall or floor has its cause found before it is lined.",
        "A building surveyor or damp specialist; building control where the local code asks for it.",
    ),
    KIND.FIRE: (
        "No lining may lower fire resistance, block an escape window or door, or leave foam or membrane on show. Cavity "
        "barriers, collars on pipes and rated lights stay whole; in flats the building's fire strategy comes first.",
        "The building's responsible person or a fire engineer; building control.",
    ),
    KIND.CONSENT: (
        "A lease, a tenancy, a listing or a shared wall may need someone's written consent before work starts; flats "
        "may have rules on hard floors.",
        "The freeholder or landlord; the local planning authority; a party wall surveyor where notice may be due.",
    ),
}

EVERYDAY = [
    Caution(
        kind="dust",
        title="Dust",
        text="Drilling, chasing and stripping brick, mortar and plaster makes silica dust. Take it off at the tool or "
        "damp it down, wear a fitted mask of the right class, and close the room off from the household. In older "
        "homes paint may hold lead: no dry sanding or burning.",
    ),
    Caution(
        kind="lifting",
        title="Lifting and carrying",
        text="Dense boards are heavy. Two people to a full board, a lift or props for ceilings, the way through the "
        "house cleared first, and stacks kept low and spread so that the floor is not overloaded.",
    ),
    Caution(
        kind="fire_on_site",
        title="Fire and escape while we work",
        text="Keep the way out clear, no naked flame near foam, wool wrap or solvent, and put every smoke alarm that "
        "was covered back to work at the end of the day.",
    ),
    Caution(
        kind="solvents",
        title="Adhesives and solvents",
        text="Read the label, open the windows, no flame or spark, gloves on, and keep children and pets out of the room.",
    ),
    Caution(
        kind="noise",
        title="Noise and vibration",
        text="Wear hearing protection by the breaker, the saw and the nailer; take turns on tools that shake.",
    ),
    Caution(
        kind="height",
        title="Working off the floor",
        text="A podium or a proper deck, not a chair or the top of a step; a deck over the stairs before work above them.",
    ),
]

FLATS = {Property.Kind.PURPOSE_BUILT, Property.Kind.CONVERSION, Property.Kind.MAISONETTE}


def reasons_for_need(home: Property) -> dict[str, str]:
    """Gate kind -> why the facts of the home alone make it needed (common practice).

    A kind that is missing is not cleared by that: nobody knows yet.
    """
    reasons = {}
    if home.may_hold_asbestos:
        known = home.built != Property.Built.UNKNOWN
        reasons[KIND.ASBESTOS] = (
            "The home was built before 2000." if known else "It is not known when the home was built."
        )
    consents = {
        Property.Tenure.LEASEHOLD: "The home is leasehold.",
        Property.Tenure.TENANT: "The customer is a tenant.",
    }
    if home.tenure in consents:
        reasons[KIND.CONSENT] = consents[home.tenure]
    if home.is_listed:
        listed = "The home is listed or in a conservation area."
        reasons[KIND.CONSENT] = f"{reasons.get(KIND.CONSENT, '')} {listed}".strip()
    if home.kind in FLATS:
        reasons[KIND.FIRE] = "The home is a flat in a building with others."
    return reasons


_found: list[Callable[[Job], dict[str, list[str]]]] = []


def add_reasons(find: Callable[[Job], dict[str, list[str]]]) -> None:
    """Called from an app's ready(): `find` tells for a job which gates it needs and why, from what that app knows."""
    _found.append(find)


def reasons_for(job: Job) -> dict[str, list[str]]:
    """Gate kind -> every reason why it is needed on this job: the home's, then what the floors above have found."""
    reasons = {kind: [text] for kind, text in reasons_for_need(job.property).items()}
    for find in _found:
        for kind, texts in find(job).items():
            reasons[kind] = list(dict.fromkeys([*reasons.get(kind, []), *texts]))
    return reasons


def who_for(kind: str) -> str:
    """The kind of competent or licensed person to ask about a gate."""
    return GATE_TEXTS[kind][1]


def caution_for(gate: Gate) -> Caution:
    text, who = GATE_TEXTS[gate.kind]
    return Caution(kind=gate.kind, title=gate.get_kind_display(), text=text, who=who, is_open=gate.is_open)


def cautions_for(job: Job) -> list[Caution]:
    """The job's gates, less those found not needed, then the everyday cautions. One query."""
    shown = [caution_for(g) for g in gates_of(job) if g.need != Gate.Need.NOT_NEEDED]
    return shown + EVERYDAY
