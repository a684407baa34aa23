"""An L-shaped loft room with a sloped ceiling, drawn by walking round it: sockets, a radiator, a nib, a strip."""

from contractor.accounts.models import User
from contractor.catalogue.models import Construction
from contractor.jobs.models import Job
from contractor.rooms import services
from contractor.rooms.models import Fixture, Opening, Patch, Room, SidePath, Surface
from contractor.rooms.walk import Diagonal, HeightAt, Leg, Walk

# Length, degrees turned at its end, and height at its left end.
WALLS = [(4210, 90, 2400), (2000, 90, 2400), (1500, -90, 2400), (1600, 90, 2400), (2705, 90, 1400), (3600, 90, 1400)]
WALK = Walk(
    corner="By the party gable, under the skylight",
    legs=tuple(Leg(length_mm=length, turn_deg=turn, height_mm=height) for length, turn, height in WALLS),
    heights=(
        HeightAt(wall=4, at_mm=600, height_mm=2400, fold=1),
        HeightAt(wall=6, at_mm=1000, height_mm=2400, fold=1),
    ),
    diagonals=(Diagonal(from_corner=2, to_corner=6, length_mm=5538),),
)
# By letter: name, role, construction, condition, depth the customer will give, junction.
SURFACES = {
    "A": ("Outside wall", "flanking", "external-cavity", "sound", None, "rigid_t"),
    "B": ("Wall to the stair", "other", "stud-partition", "board", None, ""),
    "C": ("Cupboard front", "other", "stud-partition", "board", None, ""),
    "D": ("Cupboard side", "other", "stud-partition", "board", None, ""),
    "E": ("Knee wall to the eaves", "flanking", "stud-partition", "board", 60, "lightweight_facade"),
    "F": ("Party gable", "separating", "one-brick-plastered", "sound", 110, ""),
    "G": ("Level ceiling", "flanking", "loft-ceiling-board", "board", None, "lightweight_facade"),
    "H": ("Sloped ceiling", "flanking", "loft-ceiling-board", "board", None, "lightweight_facade"),
    "I": ("Floor", "flanking", "timber-floor-board-ceiling", "boards", None, "rigid_cross"),
}
OPENINGS = [("A", "window", 1500, 900, 1200, 1050, "window-double"), ("B", "door", 300, 0, 762, 1981, None)]
# Surface, kind, from the left, from the floor, width, height, stands out, what becomes of it, back to back.
FIXTURES = [
    ("F", "socket", 700, 450, 146, 86, 0, "moves", True),
    ("F", "socket", 2700, 450, 146, 86, 0, "moves", False),
    ("F", "radiator", 1300, 150, 1000, 600, 100, "moves", False),
    ("F", "nib", 3420, 0, 180, 2400, 140, "stays", False),
    ("F", "skirting", 0, 0, 3420, 120, 20, "comes_off", False),
    ("E", "pipe", 2200, 0, 110, 1400, 130, "stays", False),
    ("B", "switch", 1200, 1200, 86, 86, 0, "stays", False),
    ("G", "light", 2000, 1200, 250, 250, 0, "moves", False),
]


def loft_room(job: Job, user: User) -> Room:
    room = services.room_walk(room=Room(job=job, name="Loft bedroom"), walk=WALK, drawn=[None] * len(WALLS), user=user)
    surfaces = {surface.letter: surface for surface in room.surfaces.all()}
    # The separating one first: the others take their usual junctions from it.
    for letter in sorted(SURFACES, key=lambda letter: SURFACES[letter][1] != "separating"):
        _survey(surfaces[letter], *SURFACES[letter])
    for letter, kind, x, y, wide, high, built in OPENINGS:
        made_of = Construction.objects.get(key=built) if built else None
        opening = Opening(surface=surfaces[letter], kind=kind, construction=made_of)
        opening.x_mm, opening.y_mm, opening.width_mm, opening.height_mm = x, y, wide, high
        services.opening_save(opening=opening)
    for letter, kind, x, y, wide, high, out, fate, back_to_back in FIXTURES:
        fixture = Fixture(surface=surfaces[letter], kind=kind, fate=fate, is_back_to_back=back_to_back)
        fixture.x_mm, fixture.y_mm, fixture.width_mm, fixture.height_mm, fixture.projection_mm = x, y, wide, high, out
        services.fixture_save(fixture=fixture)
    nib = Fixture.objects.get(surface=surfaces["F"], kind="nib")
    gable = surfaces["F"].patches.get(is_rest=True)
    services.strip_save(patch=gable, place=f"fixture-{nib.pk}", clear_mm=60, reason=Patch.StripReason.NIB, user=user)
    services.side_path_save(
        side_path=SidePath(room=room, kind="roof_void", name="Eaves joined with next door", length_mm=3600)
    )
    return room


def _survey(surface: Surface, name: str, role: str, built: str, condition: str, depth, junction: str) -> None:
    surface.name, surface.role, surface.junction = name, role, junction
    services.surface_save(
        surface=surface,
        construction=Construction.objects.get(key=built),
        condition=condition,
        depth_limit_mm=depth,
    )
