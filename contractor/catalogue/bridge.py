"""From catalogue rows to the engine's inputs: constructions become elements, build-ups become linings.

Layers run from the far side to the room. Everything here reads `.layers.all()` and each layer's `.material`:
load rows with `prefetch_related("layers__material")`.
"""

from dataclasses import replace
from functools import lru_cache
from typing import NamedTuple

from acoustics import Element, Gap, InputError, KnownElement, KnownLining, Leaf, Lining, predict_element
from acoustics.inputs import lined
from contractor.catalogue.layers.bridge import Bay, Plan, Row, Stuff, fill, plan_of, rows_of, solid_of, stuff_of, tie
from contractor.catalogue.models import BuildUp, Construction

FRAMED = {"timber_stud", "steel_stud", "joist", "resilient_bar", "staggered"}


@lru_cache(maxsize=1024)
def _moved(element: Element, known_weighted_db: float) -> KnownElement:
    """The predicted element, moved as a whole onto its known rating."""
    predicted = predict_element(element)
    shift_db = known_weighted_db - predicted.weighted_db
    return KnownElement(
        reduction_db=tuple(value + shift_db for value in predicted.reduction_db),
        surface_mass_kg_m2=predicted.surface_mass_kg_m2,
    )


def element_of(
    construction: Construction, *, size_m: tuple[float, float] | None = None, seen_from_above: bool = False
) -> Element | KnownElement:
    """The construction as the engine sees it, noise's side first.

    A floor is written boards first, ceiling last; `seen_from_above` turns it round for the room that stands on it.
    A known Rw anchors a single masonry leaf; any other construction is moved as a whole onto it.
    Raises InputError where a material lacks what the prediction needs.
    """
    element = as_built(construction, size_m=size_m, seen_from_above=seen_from_above)
    if construction.known_weighted_db is None or element.base_weighted_db is not None:
        return element
    return _moved(element, float(construction.known_weighted_db))


def flanking_element_of(construction: Construction, *, seen_from_above: bool = False) -> Element | KnownElement:
    """What carries sound past the separating surface: of a cavity wall in masonry, the leaf on the room's side.

    ISO 12354-1:2017 takes the inner leaf of a cavity wall for its flanking paths (from memory). Light frames and
    single leaves count whole.
    """
    built = as_built(construction, seen_from_above=seen_from_above)
    if built.gaps and built.leaves[-1].masonry:
        return _inner_leaf(built)
    return element_of(construction, seen_from_above=seen_from_above)


@lru_cache(maxsize=1024)
def _inner_leaf(built: Element) -> Element:
    return replace(built, leaves=built.leaves[-1:], gaps=())


def lining_of(
    build_up: BuildUp,
    *,
    on: Construction | None = None,
    seen_from_above: bool = False,
    face_comes_off: bool = False,
) -> Lining | KnownLining | None:
    """What the build-up adds on the room's side, or None where it forms no lining (a detail, a door, a seal).

    `on` is the construction it is built on. With it, what the work changes in the old construction counts too: the
    face that the build-up takes down, the face that the preparation strips (`face_comes_off`), and fill put into
    the old cavity; the lining is then given by what it makes of the whole, band by band.
    Raises InputError where a material lacks what the prediction needs.
    """
    rows = rows_of(build_up)
    if on is None:
        return plan_of(rows).lining()
    before = as_built(on, seen_from_above=seen_from_above)
    return _lining(rows, before, on.known_weighted_db is not None, build_up.replaces_face, face_comes_off)


@lru_cache(maxsize=1024)
def _lining(
    rows: tuple[Row, ...], before: Element, is_known: bool, takes_down: bool, strips: bool
) -> Lining | KnownLining | None:
    plan = plan_of(rows)
    lining = plan.lining()
    after = _after(before, plan, takes_down=takes_down, strips=strips)
    if after is None:
        if lining is None or not is_known or before.leaves[-1].masonry:
            return lining
        after = lined(before, lining)
    base, treated = predict_element(before), predict_element(after)
    gained = zip(treated.reduction_db, base.reduction_db, strict=True)
    return KnownLining(improvement_db=tuple(new - old for new, old in gained))


def opening_lining_of(build_up: BuildUp, *, on: Construction) -> Lining | KnownLining | None:
    """What the build-up does to a door or window: a pane before it is a lining; a new leaf takes the old one's place.

    A new leaf is counted by its boards alone. Seals close gaps, which the survey records as a leak of their own.
    Raises InputError where a material lacks what the prediction needs.
    """
    rows = rows_of(build_up)
    if plan_of(rows).lining() is not None:
        return lining_of(build_up, on=on)
    leaves = [bay.leaf() for bay in plan_of(rows).bays if bay.layers]
    if not leaves:
        return None
    before, after = element_of(on), Element(leaves=(leaves[-1],))
    old = before.reduction_db if isinstance(before, KnownElement) else predict_element(before).reduction_db
    gained = zip(predict_element(after).reduction_db, old, strict=True)
    return KnownLining(improvement_db=tuple(new - was for new, was in gained))


def treated_element(
    build_up: BuildUp, on: Construction, *, seen_from_above: bool = False, face_comes_off: bool = False
) -> Element | None:
    """The whole construction with the build-up in place, or None where it forms no lining and changes nothing."""
    before = as_built(on, seen_from_above=seen_from_above)
    return _treated(rows_of(build_up), before, build_up.replaces_face, face_comes_off)


@lru_cache(maxsize=1024)
def _treated(rows: tuple[Row, ...], before: Element, takes_down: bool, strips: bool) -> Element | None:
    plan = plan_of(rows)
    after = _after(before, plan, takes_down=takes_down, strips=strips)
    lining = plan.lining()
    return after or (lined(before, lining) if lining else None)


# Constructions


class FoundRow(NamedTuple):
    """A layer of a construction, as far as the prediction reads it."""

    stuff: Stuff | None
    thickness_mm: float
    is_cavity: bool
    fill_thickness_mm: float
    connection: str
    spacing_mm: int | None


def as_built(
    construction: Construction, *, size_m: tuple[float, float] | None = None, seen_from_above: bool = False
) -> Element:
    """Its leaves and gaps, whatever rating is known of it. Raises InputError."""
    rows = [
        FoundRow(
            stuff_of(layer.material) if layer.material is not None else None,
            float(layer.thickness_mm),
            layer.is_cavity,
            float(layer.fill_thickness_mm or layer.thickness_mm),
            layer.connection,
            layer.spacing_mm,
        )
        for layer in construction.layers.all()
    ]
    if seen_from_above and construction.kind == Construction.Kind.FLOOR:
        rows.reverse()
    known = construction.known_weighted_db
    return _built(tuple(rows), None if known is None else float(known), size_m)


@lru_cache(maxsize=2048)
def _built(rows: tuple[FoundRow, ...], known_weighted_db: float | None, size_m: tuple[float, float] | None) -> Element:
    """The element of these layers. Kept, since a survey asks for the same walls again and again."""
    leaves: list[Leaf] = []
    gaps: list[Gap] = []
    run: list[FoundRow] = []
    for row in rows:
        if row.is_cavity:
            leaves.append(_found_leaf(run))
            gaps.append(_found_gap(row))
            run = []
        else:
            run.append(row)
    leaves.append(_found_leaf(run))
    anchor = known_weighted_db if len(leaves) == 1 and leaves[0].masonry else None
    sized = {} if size_m is None else {"size_m": size_m}
    return Element(leaves=tuple(leaves), gaps=tuple(gaps), base_weighted_db=anchor, **sized)


def _found_leaf(run: list[FoundRow]) -> Leaf:
    if not run:
        raise InputError("layers", "a cavity needs a solid layer on each side")
    solids = [(row.stuff, row.thickness_mm) for row in run if row.stuff is not None]
    return Leaf(
        layers=tuple(solid_of(stuff, thickness_mm) for stuff, thickness_mm in solids),
        masonry=any(stuff.is_masonry for stuff, _ in solids),
    )


def _found_gap(row: FoundRow) -> Gap:
    wool = fill(row.stuff, row.fill_thickness_mm, row.thickness_mm) if row.stuff is not None else None
    return Gap(depth_mm=row.thickness_mm, fill=wool, connection=tie(row.connection, row.spacing_mm))


# Build-ups


def _after(before: Element, plan: Plan, *, takes_down: bool, strips: bool) -> Element | None:
    """The old construction as the work changes it, with the new bays on it; None where nothing old changes."""
    leaves, gaps, bays = list(before.leaves), list(before.gaps), list(plan.bays)
    takes_off = bool(gaps) and (takes_down or strips) and not leaves[-1].masonry  # a face to take off is never masonry
    if takes_off:
        leaves.pop()
        old_gap = gaps.pop()
        if bays and old_gap.connection.kind in FRAMED and (takes_down or not leaves[-1].masonry):
            leaves.append(bays[0].leaf())
            gaps.append(_merged(old_gap, bays.pop(0), plan))
    elif gaps and plan.old_cavity_fill:
        gaps[-1] = replace(gaps[-1], fill=fill(*plan.old_cavity_fill, gaps[-1].depth_mm))
    is_laid_on = bool(bays) and bays[0].mat is not None and not leaves[-1].masonry
    if is_laid_on:
        leaves[-1] = _laid_on(leaves[-1], bays.pop(0))
    if not (takes_off or is_laid_on or (gaps and plan.old_cavity_fill)):
        return None
    return _with_bays(before, leaves, gaps, bays)


def _laid_on(leaf: Leaf, bay: Bay) -> Leaf:
    """A mat and deck on light boards count as mass only.

    Their mass-spring resonance lies at some hundred hertz, damped by the mat in a way that the engine does not
    model; taken as an undamped spring it would show harm that is not met with (common practice: 2 to 7 dB gained).
    """
    mat = (bay.mat,) if bay.mat not in bay.layers else ()
    return replace(leaf, layers=(*leaf.layers, *mat, *bay.layers))


def _with_bays(before: Element, leaves: list[Leaf], gaps: list[Gap], bays: list[Bay]) -> Element:
    spaced = [bay for bay in bays if bay.depth_mm > 0]
    return replace(
        before,
        leaves=(*leaves, *(bay.leaf() for bay in spaced)),
        gaps=(*gaps, *(bay.gap() for bay in spaced)),
        base_weighted_db=None,
    )


def _merged(old_gap: Gap, bay: Bay, plan: Plan) -> Gap:
    """One cavity from the old studs or joists and the new bars or clips under them."""
    depth_mm = old_gap.depth_mm + bay.depth_mm
    wool = old_gap.fill
    if plan.old_cavity_fill or bay.fill:
        wool = fill(*(plan.old_cavity_fill or bay.fill), depth_mm)
    connection = bay.connection
    if connection.kind == "resilient_bar":
        connection = replace(connection, stud_spacing_mm=old_gap.connection.spacing_mm)
    return Gap(depth_mm=depth_mm, fill=wool, connection=connection)
