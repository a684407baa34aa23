"""A pack and its ticks as the pages and the paper show them."""

from dataclasses import dataclass
from decimal import Decimal

from contractor.common.boards import BoardDrawing, boards_drawing, sheet_drawing
from contractor.common.geometry import Box, box_round, cut_outs
from contractor.fitting.models import Tick, WorkPack
from contractor.jobs.cautions import Caution, cautions_for
from contractor.jobs.models import Job

# Common practice for a lift in the open with a clear way; a bad back, a stair or a bad grip asks for more people.
ONE_PERSON_KG, TWO_PEOPLE_KG = Decimal(20), Decimal(40)

ON_PHONE = {"box": (348, 460), "lettering": 13}
ON_PAPER = {"box": (174, 128), "lettering": 3.4}
SHEET_ON_PHONE = {"box": (165, 330), "lettering": 12}
SHEET_ON_PAPER = {"box": (40, 66), "lettering": 2.8}


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
class PieceRow(Row):
    sheet: dict | None

    @property
    def shape(self) -> str:
        """What comes out of the rectangle, in words; empty for a plain rectangle."""
        return shape_words(self.data["outline_mm"])

    @property
    def lift(self) -> str:
        return lift_words(Decimal(self.data["mass_kg"]))


@dataclass(frozen=True, kw_only=True)
class CutRow(Row):
    lengths: list[dict]


@dataclass(frozen=True, kw_only=True)
class LayerShown:
    data: dict
    pieces: list[PieceRow]
    cuts: list[CutRow]


@dataclass(frozen=True, kw_only=True)
class Section:
    """A drawing and the layers that are cut by it: a frame's studs bring their track along, a board layer stands alone.

    `sheets` are those it is cut from, for the phone; on paper all sheets of the job stand together.
    """

    title: str
    drawing: BoardDrawing | None
    layers: list[LayerShown]
    sheets: list[tuple[dict, BoardDrawing]]


@dataclass(frozen=True, kw_only=True)
class FaceShown:
    data: dict
    steps: list[Row]
    sections: list[Section]


def pack_words(row: dict) -> str:
    """How many of a material should be on site: "6 sheets", "1 pack of 12 slabs"."""
    unit, quantity = row["pack_unit"], row["pack_quantity"]

    def some(number: int, word: str) -> str:
        return f"{number:,} {word}" if number == 1 or word == "m2" else f"{number:,} {word}s"

    if quantity == 1:
        return f"{row['packs']:,}" if unit == "each" else some(row["packs"], unit).replace("m2", "m²")
    return f"{some(row['packs'], 'pack')} of {some(quantity, unit) if unit != 'each' else quantity}"


def materials_shown(pack: WorkPack) -> list[tuple[str, dict]]:
    """(how many, the material's row) of everything that should be on site."""
    return [(pack_words(row), row) for row in pack.document["materials"]]


def lift_words(mass_kg: Decimal) -> str:
    if mass_kg < ONE_PERSON_KG:
        return "One person"
    if mass_kg <= TWO_PEOPLE_KG:
        return "Two people"
    return "Over 40 kg: a smaller sheet, or a trolley and a lift"


def shape_words(outline: list[list[int]]) -> str:
    """How a piece differs from its rectangle, with what to take out and from where, measured on the piece itself."""
    if any(a[0] != b[0] and a[1] != b[1] for a, b in zip(outline, outline[1:] + outline[:1], strict=True)):
        return "Sloping edge: mark it from the drawing."
    whole, parts = box_round(outline), cut_outs(outline)
    if not parts:
        return ""
    name = "L" if len(parts) == 1 and _corner(parts[0], whole) else "U" if len(parts) == 1 else "Shaped"
    return f"{name}: " + "; ".join(_cut_out_words(part, whole) for part in parts) + "."


def _corner(part: Box, whole: Box) -> str:
    side = "left" if part.x_mm == 0 else "right" if part.right_mm == whole.width_mm else ""
    end = "bottom" if part.y_mm == 0 else "top" if part.top_mm == whole.height_mm else ""
    return f"{end} {side}" if side and end else ""


def _cut_out_words(part: Box, whole: Box) -> str:
    size = f"cut {part.width_mm:,} wide × {part.height_mm:,} high out"
    if corner := _corner(part, whole):
        return f"{size} at the {corner}"
    if part.x_mm == 0 or part.right_mm == whole.width_mm:
        side = "left" if part.x_mm == 0 else "right"
        return f"{size} of the {side} edge, from {part.y_mm:,} up"
    if part.y_mm == 0 or part.top_mm == whole.height_mm:
        end = "bottom" if part.y_mm == 0 else "top"
        return f"{size} of the {end} edge, from {part.x_mm:,} in from the left"
    return f"{size}, from {part.x_mm:,} in from the left and {part.y_mm:,} up"


def steps_shown(pack: WorkPack, ticks: dict[str, Tick]) -> list[FaceShown]:
    """The faces with their steps only."""
    return [
        FaceShown(data=face, steps=[_row(step, ticks) for step in face["steps"]], sections=[])
        for face in pack.document["faces"]
    ]


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


def row_of(pack: WorkPack, key: str, tick: Tick | None) -> Row | None:
    """The one row of that key, with its tick; None where the pack has no such row."""
    for face in pack.document["faces"]:
        for step in face["steps"]:
            if step["key"] == key:
                return Row(key=key, data=step, tick=tick)
        for layer in face["layers"]:
            for piece in layer["pieces"]:
                if piece["key"] == key:
                    return _piece(pack.document, piece, {key: tick})
            for cut in layer["cuts"]:
                if cut["key"] == key:
                    return _cut(pack.document, cut, {key: tick})
    return None


def _row(data: dict, ticks: dict[str, Tick]) -> Row:
    return Row(key=data["key"], data=data, tick=ticks.get(data["key"]))


def _piece(document: dict, piece: dict, ticks: dict[str, Tick]) -> PieceRow:
    place = piece["sheet_place"]
    sheet = None if place is None else document["sheets"][place]
    return PieceRow(key=piece["key"], data=piece, tick=ticks.get(piece["key"]), sheet=sheet)


def _cut(document: dict, cut: dict, ticks: dict[str, Tick]) -> CutRow:
    lengths = [document["lengths"][place] for place in cut["length_places"]]
    return CutRow(key=cut["key"], data=cut, tick=ticks.get(cut["key"]), lengths=lengths)


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
        drawing=boards_drawing(face, drawn, **(ON_PAPER if on_paper else ON_PHONE)) if has_drawing else None,
        layers=[
            LayerShown(
                data=layer,
                pieces=[_piece(document, piece, ticks) for piece in layer["pieces"]],
                cuts=[_cut(document, cut, ticks) for cut in layer["cuts"]],
            )
            for layer in layers
        ],
        sheets=[] if on_paper else _sheets(document, drawn),
    )


def _sheets(document: dict, layer: dict) -> list[tuple[dict, BoardDrawing]]:
    """The sheets that a layer is cut from; on them, what belongs to other layers is darker."""
    places = dict.fromkeys(p["sheet_place"] for p in layer["pieces"] if p["sheet_place"] is not None)
    ours = {piece["label"] for piece in layer["pieces"]}
    sheets = [(place, document["sheets"][place]) for place in places]
    return [
        (sheet, sheet_drawing(sheet, ours=ours, key=f"sheet-{layer['order']}-{place}", **SHEET_ON_PHONE))
        for place, sheet in sheets
    ]


def sheets_by_material(pack: WorkPack) -> dict[str, list[tuple[dict, BoardDrawing]]]:
    """Every sheet of the job, drawn for paper, under the name of its material."""
    by_material: dict[str, list[tuple[dict, BoardDrawing]]] = {}
    for place, sheet in enumerate(pack.document["sheets"]):
        drawing = sheet_drawing(sheet, key=f"sheet-{place}", **SHEET_ON_PAPER)
        by_material.setdefault(sheet["material"], []).append((sheet, drawing))
    return by_material
