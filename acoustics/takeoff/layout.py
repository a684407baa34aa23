"""Boards laid on the surfaces of a job: least sheets, then fewest slivers, then fewest pieces.

Method: layouts that keep the rules are drawn at random for one surface at a time and kept when the
whole job, its pieces packed on common sheets, gets no worse. The bound is by area, so it holds
whatever the rules.
"""

from __future__ import annotations

import random
from collections.abc import Sequence

from acoustics.errors import InputError
from acoustics.takeoff.assemble import assemble
from acoustics.takeoff.clock import Deadline
from acoustics.takeoff.model import Board, BoardRules, Layout, StoredOffcut, Surface
from acoustics.takeoff.search import Search
from acoustics.takeoff.stack import Stack, first_draws, make_stack

HOUSE_RULES = BoardRules()


def lay_boards(
    surface: Surface,
    board: Board | None = None,
    rules: BoardRules = HOUSE_RULES,
    *,
    offcuts: Sequence[StoredOffcut] = (),
    seconds: float = 5.0,
    seed: int = 0,
) -> Layout:
    """Lay boards on one surface. See lay_job."""
    return _lay((surface,), board, rules, offcuts, seconds, seed, ("",))


def lay_job(
    surfaces: Sequence[Surface],
    board: Board | None = None,
    rules: BoardRules = HOUSE_RULES,
    *,
    offcuts: Sequence[StoredOffcut] = (),
    seconds: float = 5.0,
    seed: int = 0,
) -> Layout:
    """Lay boards on several surfaces, cutting all of them from common sheets of each kind of board.

    board is used on surfaces that name none. offcuts kept from earlier jobs are used, on first layers
    only, before a new sheet is opened, where they are as large as the surface's rules ask
    (keep_short_mm, keep_long_mm). Returns the best layout found in `seconds` with its lower bound.
    Raises InputError naming the surface and the field at fault.

    >>> from acoustics.takeoff import SocketBox, Supports
    >>> wide = Board(name="15 mm dense", width_mm=1200, height_mm=2400)
    >>> wall = Surface(
    ...     name="Party wall",
    ...     outline_mm=((0, 0), (3600, 0), (3600, 2400), (0, 2400)),
    ...     layers=2,
    ...     boxes=(SocketBox(x_mm=800, y_mm=450, width_mm=146, height_mm=86, layers=(1, 2)),),
    ... )
    >>> nib = Surface(name="Nib", outline_mm=((0, 0), (400, 0), (400, 2000), (0, 2000)))
    >>> ceiling = Surface(
    ...     name="Ceiling",
    ...     outline_mm=((0, 0), (3600, 0), (3600, 2400), (0, 2400)),
    ...     supports=Supports(spacing_mm=400, direction="horizontal"),
    ...     rules=BoardRules(orientation="across", min_width_mm=200, keep_short_mm=400, stagger_mm=400),
    ... )
    >>> kept = StoredOffcut(label="J7-S3-O1", board="15 mm dense", width_mm=450, height_mm=2100)
    >>> layout = lay_job([wall, nib, ceiling], wide, BoardRules(orientation="upright"), offcuts=[kept], seconds=0.5)
    >>> [(use.label, use.pieces, use.surfaces) for use in layout.offcuts_used]
    [('J7-S3-O1', ('L1-B-01',), ('Nib',))]
    >>> [(cut.width_mm, cut.height_mm) for piece in layout.pieces() for cut in piece.box_cuts]
    [(150, 90), (150, 90)]
    """
    names = [surface.name for surface in surfaces]
    for index, name in enumerate(names):
        if name in names[:index]:
            raise InputError(f"surfaces[{index}].name", f"Two surfaces are called {name}; give each its own name.")
    wheres = tuple(f"surfaces[{index}]." for index in range(len(surfaces)))
    return _lay(tuple(surfaces), board, rules, offcuts, seconds, seed, wheres)


def _lay(
    surfaces: tuple[Surface, ...],
    board: Board | None,
    rules: BoardRules,
    offcuts: Sequence[StoredOffcut],
    seconds: float,
    seed: int,
    wheres: tuple[str, ...],
) -> Layout:
    clock = Deadline(seconds)
    rng = random.Random(seed)
    stacks = [make_stack(s, i, board, rules, where) for i, (s, where) in enumerate(zip(surfaces, wheres, strict=True))]
    search = Search(stacks, rules, offcuts)
    state = search.start(_first_plans(stacks, search, rng, clock), clock)
    state = search.improve(state, rng, clock)
    return assemble(stacks, state.plans, search.packed(state), search.bounds, rules, search.offcuts)


def _first_plans(stacks: list[Stack], search: Search, rng: random.Random, clock: Deadline) -> list:
    """For each surface the best of a few layouts, packed by itself."""
    plans = []
    for number, stack in enumerate(stacks):
        share = clock.part(0.3 / (len(stacks) - number))
        drawn = first_draws(stack, rng, share, 16)
        best, best_key = None, None
        for each in drawn:
            alone = search.start([each], share, [number])
            key = (alone.sheets(), alone.trouble())
            if best is None or key < best_key:
                best, best_key = each, key
            if share.over():
                break
        plans.append(best)
    return plans
