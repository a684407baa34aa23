"""A surveyed bedroom with everything a survey can hold, and an option that treats it. All of it invented."""

from dataclasses import dataclass

from contractor.catalogue.models import BuildUp, Construction
from contractor.catalogue.seeding import load_seed
from contractor.jobs.models import NoiseHeard
from contractor.rooms.models import Patch, Room, Scheme, SidePath, Treatment
from tests.factories import (
    OpeningFactory,
    PatchFactory,
    RoomFactory,
    SchemeFactory,
    SidePathFactory,
    SurfaceFactory,
    TreatmentFactory,
)

FRAME_LINING, BAR_LINING, BREAST_LINING = (
    "independent-steel-lining-95",
    "slim-bar-lining-50",
    "chimney-breast-lining-50",
)
CEILING_LINING, DECK, EDGE = "independent-ceiling-205", "floating-deck-32", "floor-void-sealing"


@dataclass(kw_only=True)
class Scene:
    room: Room
    scheme: Scheme
    alcoves: Patch
    breast: Patch
    window_wall: Patch
    ceiling: Patch
    floor: Patch
    void: SidePath

    def build(self, key: str, *, patch: Patch | None = None, side_path: SidePath | None = None, **facts) -> Treatment:
        build_up = BuildUp.objects.get(key=key)
        return TreatmentFactory(scheme=self.scheme, patch=patch, side_path=side_path, build_up=build_up, **facts)

    def build_all(self) -> None:
        self.build(FRAME_LINING, patch=self.alcoves)
        self.build(BREAST_LINING, patch=self.breast)
        self.build(BAR_LINING, patch=self.window_wall)
        self.build(CEILING_LINING, patch=self.ceiling)
        self.build(DECK, patch=self.floor)
        self.build(EDGE, side_path=self.void)


def bedroom(job=None, name: str = "Back bedroom") -> Scene:
    """4.2 x 3.6 x 2.4 m: party wall with a chimney breast and a fireplace, window wall, ceiling, floor, a void."""
    load_seed()
    room = RoomFactory(name=name, **({"job": job} if job else {}))
    brick = Construction.objects.get(key="one-brick-plastered")
    floor_of = Construction.objects.get(key="timber-floor-board-ceiling")
    party = SurfaceFactory(room=room, letter="B", name="Party wall", length_mm=4200, height_mm=2400, boxes=3)
    alcoves = PatchFactory(surface=party, name="Alcoves", construction=brick, depth_limit_mm=150)
    breast = PatchFactory(
        surface=party,
        name="Chimney breast",
        is_rest=False,
        x_mm=1400,
        width_mm=1400,
        height_mm=2400,
        projection_mm=350,
        construction=brick,
        depth_limit_mm=60,
    )
    OpeningFactory(surface=party, kind="fireplace", x_mm=1750, y_mm=0, width_mm=700, height_mm=900)
    window_wall = SurfaceFactory(
        room=room,
        letter="A",
        name="Window wall",
        role="flanking",
        junction="rigid_t",
        junction_length_mm=2400,
        length_mm=3600,
        height_mm=2400,
    )
    ceiling = _level(room, "E", "Ceiling", "ceiling")
    floor = _level(room, "F", "Floor", "floor")
    OpeningFactory(surface=window_wall)
    return Scene(
        room=room,
        scheme=SchemeFactory(job=room.job),
        alcoves=alcoves,
        breast=breast,
        window_wall=PatchFactory(surface=window_wall, construction=brick, depth_limit_mm=100),
        ceiling=PatchFactory(surface=ceiling, name="Whole ceiling", construction=floor_of, depth_limit_mm=250),
        floor=PatchFactory(surface=floor, name="Whole floor", construction=floor_of, depth_limit_mm=100),
        void=SidePathFactory(room=room),
    )


def _level(room: Room, letter: str, name: str, face: str):
    return SurfaceFactory(
        room=room,
        letter=letter,
        name=name,
        face=face,
        role="flanking",
        junction="rigid_cross",
        junction_length_mm=4200,
        length_mm=4200,
        height_mm=3600,
    )


def heard(scene: Scene, kind: str) -> NoiseHeard:
    return NoiseHeard.objects.create(job=scene.room.job, kind=kind)
