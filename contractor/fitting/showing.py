"""A pack and its ticks as the pages and the paper show them."""

from dataclasses import dataclass, replace
from decimal import Decimal

from contractor.common.boards import BoardDrawing, boards_drawing, sheet_drawing
from contractor.common.geometry import box_round
from contractor.common.packs import TWO_PEOPLE_KG, lift_words, pack_words
from contractor.fitting.models import Tick, WorkPack
from contractor.fitting.pack import keys_of
from contractor.fitting.shapes import box_words, care_words, cuts_round, number_words, shape_words
from contractor.jobs.cautions import Caution, cautions_for
from contractor.jobs.models import Job
from contractor.rooms.graphs import lengths as length_bars

ON_PHONE = {"box": (348, 460), "lettering": 13}
ON_PAPER = {"box": (174, 122), "lettering": 3.4}
HALF_PAPER = {"box": (82, 98), "lettering": 3.4}
FRAME_ON_PAPER = {"box": (174, 100), "lettering": 3.4}
OVERHEAD = "Two people or a board lift"  # on a ceiling, whatever it weighs; common practice
HALF_WIDE = 0.7  # a face narrower than this share of its height leaves room for another beside it on paper
SHEET_ON_PHONE = {"box": (158, 330), "lettering": 12}
WIDE_SHEET_ON_PHONE = {"box": (340, 330), "lettering": 12}
SHEET_ON_PAPER = {"box": (40, 66), "lettering": 2.6}


@dataclass(frozen=True, kw_only=True)
class Cautions:
    """The job's cautions, those not yet cleared first, and the names of these in one phrase."""

    all: list[Caution]

    @property
    def not_cleared(self) -> str:
        return "; ".join(caution.title.lower() for caution in self.all if caution.is_open)


def cautions_shown(job: Job) -> Cautions:
    return Cautions(all=sorted(cautions_for(job), key=lambda caution: not caution.is_open))


@dataclass(frozen=True, kw_only=True)
class Row:
    """A line that is ticked. `data` is the row of the document."""

    key: str
    data: dict
    tick: Tick | None

    @property
    def is_done(self) -> bool:
        return self.tick is not None and self.tick.is_done

    @property
    def dom_id(self) -> str:
        return "row-" + self.key.replace(":", "-").replace(" ", "_")


@dataclass(frozen=True, kw_only=True)
class MadeRow(Row):
    """Something cut to size: ticked as cut, then as fixed; made again where it was spoiled."""

    fixed: Tick | None = None
    again: Tick | None = None

    @property
    def is_fixed(self) -> bool:
        return self.fixed is not None and self.fixed.is_done

    @property
    def is_made_again(self) -> bool:
        return self.again is not None and self.again.is_done

    @property
    def face_key(self) -> str:
        return self.key.split(":")[1]

    @property
    def fix_key(self) -> str:
        return keys_of(self.key)[1]

    @property
    def again_key(self) -> str:
        return keys_of(self.key)[2]


@dataclass(frozen=True, kw_only=True)
class PieceRow(MadeRow):
    sheet: dict | None
    place_mm: tuple[int, int] = (0, 0)
    is_overhead: bool = False

    @property
    def where(self) -> str:
        """Where it goes on the surface."""
        x_mm, y_mm = self.place_mm
        return f"{x_mm:,} from the left, {y_mm:,} up"

    @property
    def cuts(self) -> str:
        """The numbers of the sheet's cuts that free it, in order."""
        return number_words(cuts_round(self.sheet, self.data["label"])) if self.sheet else ""

    @property
    def boxes(self) -> list[str]:
        return [box_words(cut) for cut in self.data.get("box_cuts", [])]

    @property
    def shape(self) -> str:
        """What comes out of the rectangle, in words; empty for a plain rectangle."""
        return shape_words(self.data["outline_mm"], self.data["cutouts_mm"]) or self.data["note"]

    @property
    def lift(self) -> str:
        mass_kg = Decimal(self.data["mass_kg"])
        return OVERHEAD if self.is_overhead and mass_kg <= TWO_PEOPLE_KG else lift_words(mass_kg)

    @property
    def care(self) -> str:
        return care_words(self.data["outline_mm"])


@dataclass(frozen=True, kw_only=True)
class CutRow(MadeRow):
    lengths: list[dict]


@dataclass(frozen=True, kw_only=True)
class LayerShown:
    data: dict
    pieces: list[PieceRow]
    cuts: list[CutRow]


@dataclass(frozen=True, kw_only=True)
class Bar:
    """Lengths, or rolls, that are cut alike, and the drawing of one."""

    lengths: list[dict]
    drawing: dict

    @property
    def first(self) -> dict:
        return self.lengths[0]


@dataclass(frozen=True, kw_only=True)
class Section:
    """A drawing and the layers that are cut by it: a frame's studs bring their track along, a board layer stands alone.

    `sheets` are those it is cut from, for the phone; on paper all sheets of the job stand together.
    """

    title: str
    is_half: bool
    drawing: BoardDrawing | None
    layers: list[LayerShown]
    sheets: list[tuple[dict, BoardDrawing]]
    lengths: list[Bar]


@dataclass(frozen=True, kw_only=True)
class FaceShown:
    data: dict
    steps: list[Row]
    sections: list[Section]
    is_next: bool = False  # the first with a step left

    @property
    def is_done(self) -> bool:
        return bool(self.steps) and all(step.is_done for step in self.steps)

    @property
    def is_open(self) -> bool:
        """Whether the phone shows its steps at once: the next, what has been begun, what needs a call to the office."""
        begun = any(step.is_done for step in self.steps) and not self.is_done
        return self.is_next or begun or bool(self.data["problem"])


def materials_shown(pack: WorkPack) -> list[tuple[str, dict]]:
    """(how many, the material's row) of everything that should be on site."""
    return [(pack_words(row), row) for row in pack.document["materials"]]


def steps_shown(pack: WorkPack, ticks: dict[str, Tick]) -> list[FaceShown]:
    """The faces with their steps only."""
    faces = [
        FaceShown(data=face, steps=[_row(step, ticks) for step in face["steps"]], sections=[])
        for face in pack.document["faces"]
    ]
    current = next((face for face in faces if face.steps and not face.is_done), None)
    return [replace(face, is_next=face is current) for face in faces]


def cuts_shown(pack: WorkPack, ticks: dict[str, Tick], *, key: str = "", on_paper: bool = False) -> list[FaceShown]:
    """The faces for which something is cut, drawn for the phone or for paper; only the one of that `key` if given."""
    return [
        FaceShown(data=face, steps=[], sections=_sections(pack.document, face, ticks, on_paper=on_paper))
        for face in pack.document["faces"]
        if face["layers"] and key in ("", face["key"])
    ]


def cut_counts(pack: WorkPack, ticks: dict[str, Tick]) -> list[tuple[dict, int, int]]:
    """(face, rows cut, rows) of each face for which something is cut."""
    counts = []
    for face in pack.document["faces"]:
        keys = [row["key"] for layer in face["layers"] for row in [*layer["pieces"], *layer["cuts"]]]
        if keys:
            counts.append((face, sum(key in ticks and ticks[key].is_done for key in keys), len(keys)))
    return counts


def row_of(pack: WorkPack, key: str, ticks: dict[str, Tick]) -> Row | None:
    """The one row of that key, whichever of its ticks it is, with all of them; None where the pack has no such row."""
    key = keys_of(key)[0]
    for face in pack.document["faces"]:
        for step in face["steps"]:
            if step["key"] == key:
                return _row(step, ticks)
        for layer in face["layers"]:
            for piece in layer["pieces"]:
                if piece["key"] == key:
                    return _piece(pack.document, face, piece, ticks)
            for cut in layer["cuts"]:
                if cut["key"] == key:
                    return _cut(pack.document, cut, ticks)
    return None


def _row(data: dict, ticks: dict[str, Tick]) -> Row:
    return Row(key=data["key"], data=data, tick=ticks.get(data["key"]))


def _piece(document: dict, face: dict, piece: dict, ticks: dict[str, Tick]) -> PieceRow:
    place = piece["sheet_place"]
    sheet = None if place is None else document["sheets"][place]
    around, box = box_round(face["outline_mm"]), box_round(piece["outline_mm"])
    where = (box.x_mm - around.x_mm, box.y_mm - around.y_mm)
    is_overhead = face["surface_kind"] == "ceiling"
    return PieceRow(**_made(piece, ticks), sheet=sheet, place_mm=where, is_overhead=is_overhead)


def _made(data: dict, ticks: dict[str, Tick]) -> dict:
    cut, fixed, again = (ticks.get(key) for key in keys_of(data["key"]))
    return {"key": data["key"], "data": data, "tick": cut, "fixed": fixed, "again": again}


def _cut(document: dict, cut: dict, ticks: dict[str, Tick]) -> CutRow:
    lengths = [document["lengths"][place] for place in cut["length_places"]]
    return CutRow(**_made(cut, ticks), lengths=lengths)


def _sections(document: dict, face: dict, ticks: dict[str, Tick], *, on_paper: bool) -> list[Section]:
    """A section for each layer with something to draw; layers with nothing to draw join the next one."""
    groups: list[list[dict]] = [[]]
    for layer in face["layers"]:
        groups[-1].append(layer)
        if layer["pieces"] or layer["supports"]:
            groups.append([])
    return [_section(document, face, layers, ticks, on_paper=on_paper) for layers in groups if layers]


def _section(document: dict, face: dict, layers: list[dict], ticks: dict[str, Tick], *, on_paper: bool) -> Section:
    drawn = layers[-1]
    has_drawing = bool(drawn["pieces"] or drawn["supports"])
    return Section(
        title=drawn["description"],
        is_half=_is_half(face),
        drawing=boards_drawing(face, drawn, **_size_of(face, drawn, on_paper)) if has_drawing else None,
        layers=[
            LayerShown(
                data=layer,
                pieces=[_piece(document, face, piece, ticks) for piece in layer["pieces"]],
                cuts=[_cut(document, cut, ticks) for cut in layer["cuts"]],
            )
            for layer in layers
        ],
        sheets=[] if on_paper else _sheets(document, drawn),
        lengths=[] if on_paper else _lengths(document, layers),
    )


def _is_half(face: dict) -> bool:
    if not face["outline_mm"]:
        return False
    around = box_round(face["outline_mm"])
    return around.width_mm < HALF_WIDE * around.height_mm


def _size_of(face: dict, layer: dict, on_paper: bool) -> dict:
    if not on_paper:
        return ON_PHONE
    if _is_half(face):
        return HALF_PAPER
    return ON_PAPER if layer["pieces"] else FRAME_ON_PAPER


def _sheets(document: dict, layer: dict) -> list[tuple[dict, BoardDrawing]]:
    """The sheets that a layer is cut from; on them, what belongs to other layers is darker."""
    places = dict.fromkeys(p["sheet_place"] for p in layer["pieces"] if p["sheet_place"] is not None)
    ours = {piece["label"] for piece in layer["pieces"]}
    drawn = []
    for place in places:
        sheet = document["sheets"][place]
        size = WIDE_SHEET_ON_PHONE if sheet["width_mm"] > sheet["height_mm"] else SHEET_ON_PHONE
        drawn.append((sheet, sheet_drawing(sheet, ours=ours, key=f"sheet-{layer['order']}-{place}", **size)))
    return drawn


def _lengths(document: dict, layers: list[dict]) -> list[Bar]:
    """The lengths and rolls that layers are cut from."""
    places = sorted({place for layer in layers for cut in layer["cuts"] for place in cut["length_places"]})
    return _bars([document["lengths"][place] for place in places])


def lengths_by_material(pack: WorkPack) -> dict[str, list[Bar]]:
    """Every length and roll of the job, under the name of its material."""
    by_material: dict[str, list[dict]] = {}
    for length in pack.document["lengths"]:
        by_material.setdefault(length["material"], []).append(length)
    return {name: _bars(same) for name, same in by_material.items()}


def _bars(lengths: list[dict]) -> list[Bar]:
    """Those that are cut alike drawn once."""
    alike: dict[tuple, list[dict]] = {}
    for length in lengths:
        cuts = (
            length["material_key"],
            length["from_offcut"],
            length["length_mm"],
            *(c["length_mm"] for c in length["cuts"]),
        )
        alike.setdefault(cuts, []).append(length)
    drawings = length_bars([same[0] for same in alike.values()])
    return [Bar(lengths=same, drawing=drawing) for same, drawing in zip(alike.values(), drawings, strict=True)]


def sheets_by_material(pack: WorkPack) -> dict[str, list[tuple[dict, BoardDrawing]]]:
    """Every sheet of the job, drawn for paper, under the name of its material."""
    by_material: dict[str, list[tuple[dict, BoardDrawing]]] = {}
    for place, sheet in enumerate(pack.document["sheets"]):
        drawing = sheet_drawing(sheet, key=f"sheet-{place}", **SHEET_ON_PAPER)
        by_material.setdefault(sheet["material"], []).append((sheet, drawing))
    return by_material
