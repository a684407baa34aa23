"""Checks on finished plans, written apart from the solvers: nothing of theirs is imported.

Every function returns a list of plain sentences, one for each fault; an empty list is a clean plan.
"""

from itertools import combinations, pairwise

from shapely.geometry import LineString, Polygon, box
from shapely.ops import unary_union


def sheet_faults(sheet, kerf_mm=0):
    """Pieces inside and apart; the cuts, made in order edge to edge, free every piece exactly."""
    faults = []
    for p in sheet.placed:
        if p.x_mm < 0 or p.y_mm < 0 or p.x_mm + p.width_mm > sheet.width_mm or p.y_mm + p.height_mm > sheet.height_mm:
            faults.append(f"{p.label} leaves sheet {sheet.number}")
    for a, b in combinations(sheet.placed, 2):
        apart_x = a.x_mm + a.width_mm + kerf_mm <= b.x_mm or b.x_mm + b.width_mm + kerf_mm <= a.x_mm
        apart_y = a.y_mm + a.height_mm + kerf_mm <= b.y_mm or b.y_mm + b.height_mm + kerf_mm <= a.y_mm
        if not (apart_x or apart_y):
            faults.append(f"{a.label} and {b.label} overlap on sheet {sheet.number}")
    parts = [(0, 0, sheet.width_mm, sheet.height_mm)]
    lost = 0
    for expected, cut in enumerate(sheet.cuts, start=1):
        if cut.order != expected:
            faults.append(f"sheet {sheet.number}: cut {cut.order} stands in place {expected}")
        part = next((p for p in parts if _edge_to_edge(cut, p)), None)
        if part is None:
            faults.append(f"sheet {sheet.number}: cut {cut.order} does not run from edge to edge of a part")
            continue
        parts.remove(part)
        x, y, w, h = part
        if cut.x1_mm == cut.x2_mm:
            at = cut.x1_mm - x
            halves = [(x, y, at, h), (x + at + kerf_mm, y, w - at - kerf_mm, h)]
            lost += min(kerf_mm, w - at) * h
        else:
            at = cut.y1_mm - y
            halves = [(x, y, w, at), (x, y + at + kerf_mm, w, h - at - kerf_mm)]
            lost += min(kerf_mm, h - at) * w
        parts += [half for half in halves if half[2] > 0 and half[3] > 0]
    for p in sheet.placed:
        rect = (p.x_mm, p.y_mm, p.width_mm, p.height_mm)
        if rect in parts:
            parts.remove(rect)
        else:
            faults.append(f"{p.label} is not freed by the cuts of sheet {sheet.number}")
    offcuts = sorted((o.x_mm, o.y_mm, o.width_mm, o.height_mm) for o in sheet.offcuts)
    if sorted(parts) != offcuts:
        faults.append(f"sheet {sheet.number}: what is left is not what is listed as offcuts")
    area = sum(p.width_mm * p.height_mm for p in sheet.placed) + sum(w * h for _, _, w, h in offcuts) + lost
    if area != sheet.width_mm * sheet.height_mm:
        faults.append(f"sheet {sheet.number}: area is not conserved ({area})")
    return faults


def _edge_to_edge(cut, part):
    x, y, w, h = part
    if cut.x1_mm == cut.x2_mm:
        return x < cut.x1_mm < x + w and cut.y1_mm == y and cut.y2_mm == y + h
    return y < cut.y1_mm < y + h and cut.x1_mm == x and cut.x2_mm == x + w


def layout_faults(layout, surfaces, rules, board=None):
    """Coverage, sheets, joints, stagger and corners of a whole layout."""
    faults = []
    for sheet in layout.sheets:
        faults += sheet_faults(sheet, rules.kerf_mm)
    faults += _labels_faults(layout) + cutout_faults(layout)
    if layout.count != sum(not sheet.from_offcut for sheet in layout.sheets):
        faults.append("the count is not the number of new sheets")
    if layout.count < layout.lower_bound:
        faults.append("fewer sheets than the lower bound")
    for surface in surfaces:
        faults += surface_faults(layout, surface, rules)
    return faults


def cutout_faults(layout):
    """A cut-out used as stock lies wholly in what its piece is not, and its piece is cut before it."""
    faults, number_of = [], {p.label: s.number for s in layout.sheets for p in s.placed}
    for sheet in layout.sheets:
        if not sheet.cut_out:
            continue
        piece = next(p for p in layout.pieces() if p.label == sheet.from_offcut)
        shape = Polygon(piece.outline_mm, piece.cutouts_mm)
        away = box(*shape.bounds).difference(shape)
        sizes = [(sheet.width_mm, sheet.height_mm), (sheet.height_mm, sheet.width_mm)]
        corners = [c for part in getattr(away, "geoms", [away]) for c in part.exterior.coords]
        if not any(box(x, y, x + w, y + h).difference(away).area < 1 for x, y in corners for w, h in sizes):
            faults.append(f"the cut-out of {piece.label} does not hold {sizes[0]}")
        if number_of[piece.label] >= sheet.number:
            faults.append(f"the cut-out of {piece.label} is used before the piece is cut")
    taken = [(s.from_offcut, s.width_mm, s.height_mm) for s in layout.sheets if s.cut_out]
    for label in {t[0] for t in taken}:
        piece = next(p for p in layout.pieces() if p.label == label)
        shape = Polygon(piece.outline_mm, piece.cutouts_mm)
        if sum(w * h for each, w, h in taken if each == label) > box(*shape.bounds).area - shape.area + 1:
            faults.append(f"more is cut from the cut-outs of {label} than there is")
    return faults


def _labels_faults(layout):
    faults = []
    labels = [piece.label for piece in layout.pieces()]
    cut = [p.label for sheet in layout.sheets for p in sheet.placed]
    if len(set(labels)) != len(labels):
        faults.append("two pieces carry one label")
    if sorted(labels) != sorted(cut):
        faults.append("the cut list and the layout do not hold the same pieces")
    spots = {p.label: (sheet, p) for sheet in layout.sheets for p in sheet.placed}
    for piece in layout.pieces():
        if piece.label not in spots:
            continue
        sheet, placed = spots[piece.label]
        size = (piece.height_mm, piece.width_mm) if piece.turned else (piece.width_mm, piece.height_mm)
        if (placed.width_mm, placed.height_mm) != size:
            faults.append(f"{piece.label} is cut to another size than it is drawn")
        if (sheet.number, placed.x_mm, placed.y_mm) != (piece.sheet, piece.x_in_sheet_mm, piece.y_in_sheet_mm):
            faults.append(f"{piece.label} says it comes from another place than the sheet does")
    return faults


def surface_faults(layout, surface, rules):
    faults, rules = [], surface.rules or rules
    outline = Polygon(surface.outline_mm)
    openings = [Polygon(ring) for ring in surface.openings_mm]
    field = _field(outline, surface.gaps_mm)
    if openings:
        grown = [o.buffer(surface.gaps_mm.openings_mm, join_style="mitre") for o in openings]
        field = field.difference(unary_union(grown))
    eased = {notice.code for notice in layout.notices if notice.surface == surface.name}
    joints_of = []
    for layer in layout.of_surface(surface.name):
        name = f"{surface.name} layer {layer.layer}"
        pieces = [Polygon(p.outline_mm, p.cutouts_mm) for p in layer.pieces]
        slack = 1.0 * (outline.length + sum(o.length for o in openings)) if _sloped(surface) else 1e-6
        for one, other in combinations(pieces, 2):
            if one.intersection(other).area > slack:
                faults.append(f"{name}: pieces overlap")
        union = unary_union(pieces)
        if union.symmetric_difference(field).area > slack:
            faults.append(f"{name}: covers {union.area:.0f} mm2, the field is {field.area:.0f} mm2")
        joints = _joints(pieces)
        joints_of.append(joints)
        faults += _support_faults(name, surface, joints)
        if "joint_at_corner" not in eased:
            faults += _corner_faults(name, surface, openings, joints, rules)
        if "narrow_piece" not in eased:
            faults += _width_faults(name, surface, joints, field, rules)
            faults += _narrow_faults(name, surface, pieces, rules)
        if "course_stagger_eased" not in eased:
            faults += _course_faults(name, surface, joints, layer.orientation, rules)
        faults += _box_faults(name, surface, layer, pieces, rules)
    if "stagger_eased" not in eased:
        for low, high in pairwise(joints_of):
            faults += _stagger_faults(surface, low, high, rules)
    return faults


def _sloped(surface):
    rings = [surface.outline_mm, *surface.openings_mm]
    return any(a[0] != b[0] and a[1] != b[1] for ring in rings for a, b in zip(ring, ring[1:] + ring[:1], strict=True))


def _field(outline, gaps):
    """The outline less its gaps: moved copies of the outline keep what every edge allows.

    A shift of the outline by (+side, 0) keeps points at least `side` right of each left edge, and so on
    for the other ways: right for outlines with level and upright edges; sloping edges count as top or
    bottom and are checked by their square distance instead.
    """
    corners = list(outline.exterior.coords)
    if not any(a[0] != b[0] and a[1] != b[1] for a, b in pairwise(corners)):
        from shapely.affinity import translate

        field = outline
        for dx in (-gaps.sides_mm, 0, gaps.sides_mm):
            for dy in (-gaps.top_mm, 0, gaps.bottom_mm):
                field = field.intersection(translate(outline, dx, dy))
        return field
    ccw = corners if outline.exterior.is_ccw else corners[::-1]
    taken = []
    for (ax, ay), (bx, by) in pairwise(ccw):
        gap = gaps.bottom_mm if bx > ax else gaps.top_mm if bx < ax else gaps.sides_mm
        if gap:
            taken.append(LineString([(ax, ay), (bx, by)]).buffer(gap, cap_style="square", join_style="mitre"))
    return outline.difference(unary_union(taken)) if taken else outline


def _joints(pieces):
    """Where two pieces meet: (upright?, at, low, high)."""
    found = []
    for one, other in combinations(pieces, 2):
        met = one.boundary.intersection(other.boundary)
        for line in getattr(met, "geoms", [met]):
            if line.geom_type not in ("LineString", "LinearRing"):
                continue
            coords = list(line.coords)
            for (ax, ay), (bx, by) in pairwise(coords):
                if abs(ax - bx) < 0.5 and abs(ay - by) > 2:
                    found.append((True, ax, min(ay, by), max(ay, by)))
                elif abs(ay - by) < 0.5 and abs(ax - bx) > 2:
                    found.append((False, ay, min(ax, bx), max(ax, bx)))
    return found


def _support_faults(name, surface, joints):
    upright = surface.supports.direction == "vertical"
    first, spacing = surface.supports.first_mm, surface.supports.spacing_mm
    return [
        f"{name}: a joint at {at:.0f} is on no support"
        for way, at, _, _ in joints
        if way == upright and (at < first or (at - first) % spacing)
    ]


def _corner_faults(name, surface, openings, joints, rules):
    grown = [o.buffer(surface.gaps_mm.openings_mm, join_style="mitre") for o in openings]
    corners = [c for o in grown for c in list(o.exterior.coords)[:-1]]
    faults = []
    for way, at, low, high in joints:
        for cx, cy in corners:
            across, along = (cx, cy) if way else (cy, cx)
            if abs(at - across) < rules.corner_clear_mm and low - 0.5 <= along <= high + 0.5:
                faults.append(f"{name}: a joint at {at:.0f} runs to the corner of an opening at {across:.0f}")
    return faults


def _width_faults(name, surface, joints, field, rules):
    """Joints along the supports keep off each other and off the ends of the field."""
    upright = surface.supports.direction == "vertical"
    mine = [j for j in joints if j[0] == upright]
    faults = []
    for (_, a, low, high), (_, b, low2, high2) in combinations(mine, 2):
        if 0 < abs(a - b) < rules.min_width_mm and min(high, high2) - max(low, low2) > 2:
            between = box(min(a, b), max(low, low2), max(a, b), min(high, high2))
            if not upright:
                between = box(max(low, low2), min(a, b), min(high, high2), max(a, b))
            if between.difference(field).area < 1:
                faults.append(f"{name}: a piece narrower than {rules.min_width_mm} between {a:.0f} and {b:.0f}")
    return faults


def _narrow_faults(name, surface, pieces, rules):
    """On a plain rectangle no piece is narrower than asked, unless the surface itself is."""
    if surface.openings_mm or _sloped(surface) or len(surface.outline_mm) != 4 or surface.layer_runs_mm:
        return []
    least = rules.min_width_mm
    x0, y0, x1, y1 = unary_union(pieces).bounds
    sides = [(p.bounds[2] - p.bounds[0], p.bounds[3] - p.bounds[1]) for p in pieces]
    return [
        f"{name}: a piece of {w:.0f} x {h:.0f}"
        for w, h in sides
        if (w < least and x1 - x0 >= least) or (h < least and y1 - y0 >= least)
    ]


def _course_faults(name, surface, joints, orientation, rules):
    """Joints that end at one line from either side keep apart: no four corners meet.

    Of courses these are the joints on supports, of columns the level seams.
    """
    on_supports = surface.supports.direction == "vertical"
    mine = [j for j in joints if (j[0] == on_supports) == (orientation == "across")]
    return [
        f"{name}: joints of neighbouring courses at {a:.0f} and {b:.0f}"
        for (_, a, low, high), (_, b, low2, high2) in combinations(mine, 2)
        if (abs(high - low2) < 1 or abs(high2 - low) < 1) and abs(a - b) < rules.course_stagger_mm
    ]


def _box_faults(name, surface, layer, pieces, rules):
    """Each box of the layer is cut out of the pieces it falls on, so much larger on every side, and no more."""
    wanted = [
        box(b.x_mm - c, b.y_mm - c, b.x_mm + b.width_mm + c, b.y_mm + b.height_mm + c)
        for b in surface.boxes
        if not b.layers or layer.layer in b.layers
        for c in [rules.box_clear_mm]
    ]
    floor, cut = min(y for _, y in surface.outline_mm), []
    for piece, shape in zip(layer.pieces, pieces, strict=True):
        left, bottom = shape.bounds[:2]
        for c in piece.box_cuts:
            x, y = left + c.from_left_mm, bottom + c.from_bottom_mm
            cut.append(box(x, y, x + c.width_mm, y + c.height_mm))
            if abs(y - floor - c.above_floor_mm) > 0.5:
                return [f"{name}: a box's height above the floor is not where it is cut"]
    asked = unary_union(wanted).intersection(unary_union(pieces)) if wanted else None
    if (asked is None or asked.is_empty) != (not cut):
        return [f"{name}: boxes wanted and boxes cut differ"]
    if cut and unary_union(cut).symmetric_difference(asked).area > 1:
        return [f"{name}: a box is cut where there is none"]
    return []


def _stagger_faults(surface, low, high, rules):
    upright = surface.supports.direction == "vertical"
    faults = []
    for way, at, a, b in low:
        for way2, at2, a2, b2 in high:
            apart = rules.stagger_mm if way == upright else rules.seam_stagger_mm
            if way == way2 and abs(at - at2) < apart and min(b, b2) - max(a, a2) > 3:
                faults.append(f"{surface.name}: joints of neighbouring layers at {at:.0f} and {at2:.0f}")
    return faults


def length_faults(plan, stock, pieces, kerf_mm, trim_mm):
    """Every piece once, inside its length with its kerfs, and no more of a stock than there is."""
    faults = []
    wanted = sorted((p.label, p.length_mm) for p in pieces for _ in range(p.quantity))
    made = sorted((c.label, c.length_mm) for used in plan.used for c in used.cuts)
    if wanted != made:
        faults.append("the pieces cut are not the pieces wanted")
    for used in plan.used:
        need = trim_mm + sum(c.length_mm for c in used.cuts) + kerf_mm * (len(used.cuts) - 1)
        if need > used.length_mm:
            faults.append(f"a length of {used.length_mm} is asked for {need}")
        if used.left_mm != max(0, used.length_mm - need - kerf_mm):
            faults.append(f"a length of {used.length_mm} leaves {used.left_mm}")
        if not used.cuts:
            faults.append("a length is bought and not cut")
    for each in stock:
        used = sum(1 for u in plan.used if u.length_mm == each.length_mm)
        total = sum(s.available if s.available is not None else 10**9 for s in stock if s.length_mm == each.length_mm)
        if used > total:
            faults.append(f"{used} of {each.length_mm} are used, {total} are there")
    if plan.cost < plan.lower_bound or (plan.optimal and plan.cost != plan.lower_bound):
        faults.append("cost and bound do not agree")
    return faults
