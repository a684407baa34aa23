"""From chosen plans and packed sheets to the Layout that is shown, stored and cut."""

from __future__ import annotations

from collections import defaultdict

from shapely.geometry import Polygon, box

from acoustics.takeoff.cuts import cut_order, offcuts_of
from acoustics.takeoff.geometry import Shape, cut_out
from acoustics.takeoff.layer import LayerPlan
from acoustics.takeoff.model import (
    BoardPiece,
    BoardRules,
    BoxCut,
    CutSheet,
    Joint,
    LayerLayout,
    Layout,
    Notice,
    Placed,
    Ring,
)
from acoustics.takeoff.stack import Stack

TWO_PEOPLE_KG = 20.0  # common practice: one person below, two up to 40 kg, a lift above
LIFT_KG = 40.0
WIDEST_SUPPORTS_MM = 600  # common practice for boards on walls


def assemble(stacks, plans, packed, bounds, rules: BoardRules, offcuts=None) -> Layout:
    labels = _labels(stacks, plans)
    round_way = {key: plans[key[0]][key[1]].turned != stacks[key[0]].fields[key[1]].mirrored for key in labels}
    sheets, spots = _sheets(packed, labels, round_way, rules, offcuts or {})
    layers, notices = [], []
    for number, (stack, chosen) in enumerate(zip(stacks, plans, strict=True)):
        for layer, plan in enumerate(chosen):
            pieces = _layer_pieces(stack, layer, plan, number, labels, spots, rules)
            layers.append(
                LayerLayout(
                    surface=stack.surface.name,
                    layer=layer + 1,
                    board=stack.boards[layer].name,
                    orientation=plan.orientation,
                    pieces=pieces,
                    joints=joints_of(stack, layer, plan),
                )
            )
            notices += piece_notices(stack, pieces, rules) + box_notices(stack, layers[-1], rules)
        notices += stagger_notices(stack, rules) + support_notices(stack)
    counts: dict[str, int] = {}
    for board, boxes in packed.items():
        bought = sum(each[0] is None for each in boxes)
        counts[board.name] = counts.get(board.name, 0) + bought
    lowest: dict[str, int] = {}
    for board, bound in bounds.items():
        lowest[board.name] = lowest.get(board.name, 0) + bound
    return Layout(
        layers=tuple(layers),
        sheets=sheets,
        count=sum(counts.values()),
        lower_bound=sum(lowest.values()),
        counts=counts,
        lower_bounds=lowest,
        area_m2=sum(s.area for chosen in plans for plan in chosen for s in plan.shapes) / 1e6,
        gross_area_m2=sum(s.width_mm * s.height_mm for s in sheets if not s.from_offcut) / 1e6,
        mass_kg=sum(piece.mass_kg for layer in layers for piece in layer.pieces),
        notices=tuple(notices),
    )


def _labels(stacks: list[Stack], plans) -> dict[tuple[int, int, int], str]:
    """Label of each piece: layer, letter of the surface, number in the order it is fixed."""
    labels = {}
    for number, (stack, chosen) in enumerate(zip(stacks, plans, strict=True)):
        for layer, plan in enumerate(chosen):
            order = sorted(range(len(plan.shapes)), key=lambda i: fixing_order(plan, plan.shapes[i]))
            for place, index in enumerate(order, start=1):
                labels[number, layer, index] = f"L{layer + 1}-{stack.letter}-{place:02d}"
    return labels


def fixing_order(plan: LayerPlan, shape: Shape) -> tuple[int, int]:
    return (shape.y0, shape.x0) if plan.turned else (shape.x0, shape.y0)


def _sheets(packed, labels, round_way, rules: BoardRules, offcuts):
    """Numbered sheets, those needed first (lowest layer) first; and each piece's place in them."""
    boxes = [(board, *each) for board, sheets in packed.items() for each in sheets]

    def first_piece(box) -> tuple:
        return min((key[1], key[0], labels[key]) for key, *_ in box[4])

    # a cut-out can only be used once the piece it comes from is cut, so it follows that piece's sheet
    bought = sorted((b for b in boxes if not isinstance(b[1], tuple)), key=lambda b: (first_piece(b), b[0].name))
    waiting = [b for b in boxes if isinstance(b[1], tuple)]
    ordered: list = []
    for sheet in bought:
        ordered.append(sheet)
        for key, *_ in sheet[4]:
            ordered += [each for each in waiting if each[1][:3] == key]
    sheets, spots = [], {}
    for number, (board, origin, width, height, pieces) in enumerate(ordered, start=1):
        cut_out = isinstance(origin, tuple)
        source = labels[origin[:3]] if cut_out else offcuts[board][origin].label if origin is not None else ""
        pieces = [(key, x, y, w, h, turned != round_way[key]) for key, x, y, w, h, turned in pieces]
        if all(turned for *_, turned in pieces):
            width, height = height, width
            pieces = [(key, y, x, h, w, False) for key, x, y, w, h, _ in pieces]
        placed = tuple(
            Placed(label=labels[key], x_mm=x, y_mm=y, width_mm=w, height_mm=h, turned=turned)
            for key, x, y, w, h, turned in sorted(pieces, key=lambda p: (p[1], p[2]))
        )
        cuts, parts = cut_order(width, height, placed, rules.kerf_mm)
        sheets.append(
            CutSheet(
                number=number,
                board=board.name,
                width_mm=width,
                height_mm=height,
                placed=placed,
                cuts=cuts,
                offcuts=offcuts_of(number, parts, rules.keep_short_mm, rules.keep_long_mm),
                from_offcut=source,
                cut_out=cut_out,
            )
        )
        for key, x, y, _, _, turned in pieces:
            spots[key] = (number, x, y, turned)
    return tuple(sheets), spots


def _layer_pieces(stack, layer, plan, number, labels, spots, rules) -> tuple[BoardPiece, ...]:
    field = stack.fields[layer]
    made = []
    for index, shape in enumerate(plan.shapes):
        key = (number, layer, index)
        ring, holes = field.outward(shape.ring), tuple(field.outward(hole) for hole in shape.holes)
        made.append(board_piece(stack, layer, ring, holes, labels[key], spots[key], rules))
    return tuple(sorted(made, key=lambda piece: piece.label))


def board_piece(
    stack: Stack,
    layer: int,
    ring: Ring,
    holes: tuple[Ring, ...],
    label: str,
    spot: tuple[int, int, int, bool],
    rules: BoardRules,
) -> BoardPiece:
    """One piece as fixed; spot is (sheet, x, y, turned)."""
    sheet, x, y, turned = spot
    xs, ys = [p[0] for p in ring], [p[1] for p in ring]
    mass = round(Polygon(ring, holes).area * stack.boards[layer].mass_kg_m2 / 1e6, 2)
    return BoardPiece(
        label=label,
        surface=stack.surface.name,
        layer=layer + 1,
        outline_mm=ring,
        cutouts_mm=holes,
        width_mm=max(xs) - min(xs),
        height_mm=max(ys) - min(ys),
        sheet=sheet,
        x_in_sheet_mm=x,
        y_in_sheet_mm=y,
        turned=turned,
        mass_kg=mass,
        lift_people=1 if mass < TWO_PEOPLE_KG else 2,
        shape_offsets=_offsets(ring, min(xs), min(ys)) if not _plain(ring, holes) else (),
        cutout_offsets=tuple(_offsets(hole, min(xs), min(ys)) for hole in holes),
        box_cuts=_box_cuts(stack, layer, Polygon(ring, holes), (stack.surface.rules or rules).box_clear_mm),
    )


def _box_cuts(stack: Stack, layer: int, piece: Polygon, clear: int) -> tuple[BoxCut, ...]:
    """Cut-outs that fall on this piece; a box on a joint is cut partly from each piece it touches."""
    left, bottom = (round(v) for v in piece.bounds[:2])
    floor = min(y for _, y in stack.surface.outline_mm)
    found = []
    for each in (b for b in stack.surface.boxes if b.goes_through(layer + 1)):
        hole = box(*cut_out(each, clear)).intersection(piece)
        if hole.area < 1:
            continue
        x0, y0, x1, y1 = (round(v) for v in hole.bounds)
        found.append(
            BoxCut(
                from_left_mm=x0 - left,
                from_bottom_mm=y0 - bottom,
                above_floor_mm=y0 - floor,
                width_mm=x1 - x0,
                height_mm=y1 - y0,
            )
        )
    return tuple(found)


def _plain(ring: Ring, holes: tuple[Ring, ...]) -> bool:
    return not holes and len(ring) == 4 and len({x for x, _ in ring}) == 2 and len({y for _, y in ring}) == 2


def _offsets(ring: Ring, x0: int, y0: int) -> Ring:
    return tuple((x - x0, y - y0) for x, y in ring)


def joints_of(stack: Stack, layer: int, plan: LayerPlan) -> tuple[Joint, ...]:
    mirrored = stack.fields[layer].mirrored
    found = []
    for spans, upright in ((plan.joints, True), (plan.seams, False)):
        for at, low, high in spans:
            ends = (at, low, at, high) if upright != mirrored else (low, at, high, at)
            found.append(Joint(x1_mm=ends[0], y1_mm=ends[1], x2_mm=ends[2], y2_mm=ends[3], on_support=upright))
    return tuple(found)


def stagger_notices(stack: Stack, rules: BoardRules) -> list[Notice]:
    kept, rules = stack.stagger, stack.surface.rules or rules
    if not kept.eased:
        return []
    name, told = stack.surface.name, []
    if stack.surface.layers > 1 and kept.layers < rules.stagger_mm:
        told.append(
            ("stagger_eased", f"joints of neighbouring layers are kept {kept.layers} mm apart, not {rules.stagger_mm}.")
        )
    if kept.courses < rules.course_stagger_mm:
        told.append(
            ("course_stagger_eased", f"joints of neighbouring courses are kept {kept.courses} mm apart at least.")
        )
    if not kept.corner:
        told.append(
            ("joint_at_corner", "no layout keeps every joint clear of the openings' corners; check for cracking.")
        )
    if kept.min_width < rules.min_width_mm:
        told.append(("narrow_piece", f"pieces narrower than {rules.min_width_mm} mm could not be avoided."))
    return [Notice(code=code, surface=name, text=f"{name}: {text}") for code, text in told]


def support_notices(stack: Stack) -> list[Notice]:
    name, spacing = stack.surface.name, stack.surface.supports.spacing_mm
    if spacing <= WIDEST_SUPPORTS_MM:
        return []
    text = f"{name}: supports at {spacing} mm are wider than the usual {WIDEST_SUPPORTS_MM}; ask the board's maker."
    return [Notice(code="wide_supports", surface=name, text=text)]


def piece_notices(stack: Stack, pieces, rules: BoardRules) -> list[Notice]:
    name = stack.surface.name
    notices = []
    heavy = [p.label for p in pieces if p.mass_kg > LIFT_KG]
    if heavy:
        text = f"{name}: {_some(heavy)} over {LIFT_KG:.0f} kg; use a board lift or trolley, or a smaller sheet."
        notices.append(Notice(code="heavy_piece", surface=name, text=text))
    fragile = [p.label for p in pieces if p.shape_offsets and _fragile(p, rules.fragile_leg_mm)]
    if fragile:
        text = f"{name}: {_some(fragile)} with a leg under {rules.fragile_leg_mm} mm; two people, support the leg."
        notices.append(Notice(code="fragile_leg", surface=name, text=text))
    return notices


def box_notices(stack: Stack, laid: LayerLayout, rules: BoardRules) -> list[Notice]:
    """Boxes that a joint of the layer runs through, or too near to."""
    rules, name = stack.surface.rules or rules, stack.surface.name
    notices = []
    for number, each in enumerate(stack.surface.boxes, start=1):
        if not each.goes_through(laid.layer):
            continue
        cut = cut_out(each, rules.box_clear_mm)
        wide = cut_out(each, rules.box_clear_mm + rules.box_edge_mm)
        which = f"{name}: box {number}, {each.x_mm} across and {each.y_mm} up, stands"
        if any(_meets(joint, cut) for joint in laid.joints):
            text = f"{which} on a joint of layer {laid.layer}; move it or cut it from both boards."
            notices.append(Notice(code="box_on_joint", surface=name, text=text))
        elif any(_meets(joint, wide) for joint in laid.joints):
            text = f"{which} under {rules.box_edge_mm} mm from a joint of layer {laid.layer}; back the strip between."
            notices.append(Notice(code="box_near_joint", surface=name, text=text))
    return notices


def _meets(joint: Joint, area: tuple[int, int, int, int]) -> bool:
    x0, y0, x1, y1 = area
    xs, ys = sorted((joint.x1_mm, joint.x2_mm)), sorted((joint.y1_mm, joint.y2_mm))
    return xs[0] < x1 and x0 < xs[1] and ys[0] < y1 and y0 < ys[1]


def _some(labels: list[str]) -> str:
    groups = defaultdict(list)
    for label in labels:
        groups[label].append(label)
    names = list(groups)
    return ", ".join(names[:4]) + (f" and {len(names) - 4} more" if len(names) > 4 else "")


def _fragile(piece: BoardPiece, leg_mm: int) -> bool:
    polygon = Polygon(piece.outline_mm, piece.cutouts_mm)
    half = leg_mm / 2 - 0.5
    sturdy = polygon.buffer(-half, join_style="mitre").buffer(half, join_style="mitre")
    return any(
        part.area > leg_mm * leg_mm / 2
        for part in getattr(polygon.difference(sturdy), "geoms", [polygon.difference(sturdy)])
    )
