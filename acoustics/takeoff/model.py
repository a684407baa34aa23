"""Inputs and results of the board layout: frozen records, whole millimetres, Decimal money."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

Point = tuple[int, int]
Ring = tuple[Point, ...]


@dataclass(frozen=True, kw_only=True)
class Supports:
    """Studs, bars or joists behind the boards.

    `direction` is the way each support runs: "vertical" studs stand at
    x = first_mm + k * spacing_mm; "horizontal" bars lie at y = first_mm + k * spacing_mm.
    """

    spacing_mm: int = 600
    first_mm: int = 0
    direction: Literal["vertical", "horizontal"] = "vertical"


@dataclass(frozen=True, kw_only=True)
class Gaps:
    """Perimeter gaps left for sealant, mm (common practice: 5, and 10 at a floor)."""

    sides_mm: int = 5
    top_mm: int = 5
    bottom_mm: int = 10
    openings_mm: int = 0


@dataclass(frozen=True, kw_only=True)
class Board:
    """One kind of board as bought. width_mm is the short side, height_mm the long side."""

    name: str = "board"
    width_mm: int = 1200
    height_mm: int = 2400
    mass_kg_m2: float = 0.0
    thickness_mm: float | None = None
    price: Decimal = Decimal(0)


@dataclass(frozen=True, kw_only=True)
class SocketBox:
    """An electrical box through the boards: its lower left corner on the surface and its size, mm.

    layers: numbers, from 1, of the layers it is cut through; left empty, every layer.
    """

    x_mm: int
    y_mm: int
    width_mm: int
    height_mm: int
    layers: tuple[int, ...] = ()

    def goes_through(self, layer: int) -> bool:
        return not self.layers or layer in self.layers


@dataclass(frozen=True, kw_only=True)
class BoxCut:
    """A cut-out for a box in one piece: from the piece's left edge and bottom, and above the floor line."""

    from_left_mm: int
    from_bottom_mm: int
    above_floor_mm: int
    width_mm: int
    height_mm: int


@dataclass(frozen=True, kw_only=True)
class Surface:
    """One wall, ceiling or floor to be boarded.

    outline_mm and openings_mm are rings of (x, y), x right and y up from the bottom left seen from
    inside the room. `boards` names a board for each layer, first layer first; left empty, every layer
    is of the board given to the layout. `letter` stands in the labels ("L1-B-03"). layer_runs_mm gives
    for each layer how far its boards run past the gapped edge at the left and at the right, as they do
    at an outside corner. boxes are cut out with box_clear_mm of the rules on each side.
    rules, where given, stand for this surface in place of the job's (kerf and turning stay the job's).
    """

    name: str
    outline_mm: Ring
    openings_mm: tuple[Ring, ...] = ()
    supports: Supports = Supports()
    layers: int = 1
    gaps_mm: Gaps = Gaps()
    boards: tuple[Board, ...] = ()
    letter: str = ""
    layer_runs_mm: tuple[tuple[int, int], ...] = ()
    boxes: tuple[SocketBox, ...] = ()
    rules: BoardRules | None = None


@dataclass(frozen=True, kw_only=True)
class BoardRules:
    """Rules of the layout, mm. The defaults are common practice in the trade.

    min_width_mm: least width of a piece between joints, of a course and of what a seam cuts off
    (ceilings 200); target_width_mm: pieces narrower than this are avoided at the same number of sheets.
    min_height_mm: least height over and under openings.
    stagger_mm: least distance between joints of neighbouring layers; course_stagger_mm: between
    joints of neighbouring courses; seam_stagger_mm: between level seams of neighbouring layers. Where
    a surface cannot keep one of them it is eased, never below 200, and a notice says so.
    orientation: "upright" (long side along the supports), "across", or "auto".
    gap_most_mm: the widest perimeter gap that sealant bridges, for pieces used again after a change.
    keep_short_mm x keep_long_mm: the least offcut worth keeping, and the least that is used again; a
    surface's own rules say how small an offcut its pieces may come from. reuse_cutouts: what is cut out
    of a board at an opening, if that large, is used for first-layer pieces like any kept offcut.
    box_clear_mm: how much larger than its box a cut-out is on each side; box_edge_mm: joints keep this far
    from a cut-out where they can, as the strip between would break.
    """

    min_width_mm: int = 150
    target_width_mm: int = 300
    min_height_mm: int = 100
    stagger_mm: int = 600
    course_stagger_mm: int = 600
    seam_stagger_mm: int = 300
    corner_clear_mm: int = 150
    kerf_mm: int = 0
    orientation: Literal["auto", "upright", "across"] = "auto"
    may_turn: bool = False
    gap_most_mm: int = 10
    box_clear_mm: int = 2
    box_edge_mm: int = 50
    keep_short_mm: int = 300
    keep_long_mm: int = 600
    reuse_cutouts: bool = False
    fragile_leg_mm: int = 100


@dataclass(frozen=True, kw_only=True)
class Notice:
    """Something the reader must know: a stable code, the surface it is about, plain words."""

    code: str
    surface: str
    text: str


@dataclass(frozen=True, kw_only=True)
class Cut:
    """A straight cut from edge to edge of the part in hand, from (x1, y1) to (x2, y2) on the sheet."""

    order: int
    x1_mm: int
    y1_mm: int
    x2_mm: int
    y2_mm: int


@dataclass(frozen=True, kw_only=True)
class Offcut:
    """A rectangle left of a sheet; `keep` when it is large enough to be used again."""

    label: str
    x_mm: int
    y_mm: int
    width_mm: int
    height_mm: int
    keep: bool


@dataclass(frozen=True, kw_only=True)
class StoredOffcut:
    """A rectangle kept from an earlier job: `label` is written on it, `board` names the board it is of."""

    label: str
    board: str
    width_mm: int
    height_mm: int


@dataclass(frozen=True, kw_only=True)
class OffcutUse:
    """A stored offcut that a layout uses: its label, its number among the sheets, and what is cut from it."""

    label: str
    board: str
    sheet: int
    pieces: tuple[str, ...]
    surfaces: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Placed:
    """A rectangle cut from a sheet, at (x, y) from the sheet's bottom left corner."""

    label: str
    x_mm: int
    y_mm: int
    width_mm: int
    height_mm: int
    turned: bool = False


@dataclass(frozen=True, kw_only=True)
class CutSheet:
    """One sheet and what is cut from it; `cuts` in the order they can be made.

    from_offcut: empty for a new sheet; else the label of a stored offcut, or of the piece whose cut-out
    this is (cut_out True).
    """

    number: int
    board: str
    width_mm: int
    height_mm: int
    placed: tuple[Placed, ...]
    cuts: tuple[Cut, ...]
    offcuts: tuple[Offcut, ...]
    from_offcut: str = ""
    cut_out: bool = False


@dataclass(frozen=True, kw_only=True)
class BoardPiece:
    """One piece of board as fixed.

    outline_mm: on the surface, counter-clockwise. cutouts_mm: holes wholly inside the piece.
    shape_offsets: the corners seen from the piece's own bottom left corner, empty for a plain
    rectangle. width_mm x height_mm is the rectangle to cut from the sheet before shaping, as it hangs
    on the surface; `turned` when it lies a quarter turn round in the sheet. trimmed_from_mm: the size it
    was already cut to, where a piece cut before a change of size is used again.
    """

    label: str
    surface: str
    layer: int
    outline_mm: Ring
    cutouts_mm: tuple[Ring, ...] = ()
    width_mm: int
    height_mm: int
    sheet: int
    x_in_sheet_mm: int
    y_in_sheet_mm: int
    turned: bool = False
    mass_kg: float = 0.0
    lift_people: int = 1
    shape_offsets: Ring = ()
    cutout_offsets: tuple[Ring, ...] = ()
    trimmed_from_mm: tuple[int, int] | None = None
    box_cuts: tuple[BoxCut, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Joint:
    """A joint between pieces, from (x1, y1) to (x2, y2) on the surface; backed = lies along a support."""

    x1_mm: int
    y1_mm: int
    x2_mm: int
    y2_mm: int
    on_support: bool


@dataclass(frozen=True, kw_only=True)
class LayerLayout:
    surface: str
    layer: int
    board: str
    orientation: str
    pieces: tuple[BoardPiece, ...]
    joints: tuple[Joint, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Layout:
    """Boards laid on one or more surfaces.

    layers: per surface and layer, in the order given. sheets: numbered from 1 over the whole layout.
    count: whole new sheets; lower_bound: no layout under any rule needs fewer. counts and
    lower_bounds give the same per board name.
    """

    layers: tuple[LayerLayout, ...]
    sheets: tuple[CutSheet, ...]
    count: int
    lower_bound: int
    counts: dict[str, int] = field(default_factory=dict)
    lower_bounds: dict[str, int] = field(default_factory=dict)
    area_m2: float = 0.0
    gross_area_m2: float = 0.0
    mass_kg: float = 0.0
    notices: tuple[Notice, ...] = ()

    @property
    def optimal(self) -> bool:
        return self.count == self.lower_bound

    def pieces(self) -> tuple[BoardPiece, ...]:
        return tuple(piece for layer in self.layers for piece in layer.pieces)

    @property
    def offcuts_used(self) -> tuple[OffcutUse, ...]:
        """Stored offcuts in use, each with the pieces and surfaces it serves."""
        surface_of = {piece.label: piece.surface for piece in self.pieces()}
        return tuple(
            OffcutUse(
                label=sheet.from_offcut,
                board=sheet.board,
                sheet=sheet.number,
                pieces=tuple(p.label for p in sheet.placed),
                surfaces=tuple(sorted({surface_of[p.label] for p in sheet.placed})),
            )
            for sheet in self.sheets
            if sheet.from_offcut and not sheet.cut_out
        )

    def of_surface(self, name: str) -> tuple[LayerLayout, ...]:
        return tuple(layer for layer in self.layers if layer.surface == name)
