"""Random cutting jobs: valid plans, true bounds, and small cases against exhaustive search."""

import time
from decimal import Decimal
from functools import cache
from itertools import product

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from acoustics.takeoff import LengthPiece, LengthStock, SheetPiece, SheetStock, cut_lengths, cut_sheets
from acoustics.takeoff import clock as clock_module
from acoustics.takeoff import lengths as lengths_module
from acoustics.takeoff.bounds import relaxed_bound, scaled_bound
from acoustics.takeoff.clock import Deadline
from acoustics.takeoff.costs import Costs
from acoustics.takeoff.fill import open_bin
from acoustics.takeoff.packing import Yard
from tests.acoustics.takeoff import verify

QUICK = settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck))


@st.composite
def length_jobs(draw, most_pieces=14):
    stock = [
        LengthStock(length_mm=length, price=Decimal(draw(st.integers(100, 900))) / 100)
        for length in draw(
            st.lists(st.sampled_from([1800, 2400, 3000, 3600, 4800]), min_size=1, max_size=3, unique=True)
        )
    ]
    longest = max(s.length_mm for s in stock) - 20
    pieces = [
        LengthPiece(label=f"p{i}", length_mm=draw(st.integers(150, longest)), quantity=draw(st.integers(1, 3)))
        for i in range(draw(st.integers(1, most_pieces // 2)))
    ]
    return stock, pieces, draw(st.sampled_from([0, 0, 3, 5])), draw(st.sampled_from([0, 0, 10]))


def least_cost(stock, pieces, kerf, trim):
    """Exhaustive: the cheapest set of lengths, by every way of filling one length after another."""
    kinds = sorted({p.length_mm for p in pieces}, reverse=True)
    demand = tuple(sum(p.quantity for p in pieces if p.length_mm == kind) for kind in kinds)

    @cache
    def least(left):
        if not any(left):
            return Decimal(0)
        first = next(i for i, n in enumerate(left) if n)
        best = None
        for take in product(*(range(n + 1) for n in left)):
            if not take[first]:
                continue
            need = trim + sum(n * k for n, k in zip(take, kinds, strict=True)) + kerf * (sum(take) - 1)
            fits = [s.price for s in stock if s.length_mm >= need]
            if fits:
                cost = min(fits) + least(tuple(a - b for a, b in zip(left, take, strict=True)))
                best = cost if best is None or cost < best else best
        return best

    return least(demand)


@QUICK
@given(st.lists(st.integers(1, 40), min_size=1, max_size=3), st.integers(0, 200), st.integers(1, 5))
def test_costs_are_the_sums_of_prices(prices, top, unit):
    prices = [price * unit for price in prices]
    costs = Costs(np.array(prices), top)
    sums = {0}
    for price in prices:
        sums |= {s + n * price for s in sums for n in range(top // price + 1)}
    inside = sorted(s for s in sums if s <= top)
    for value in range(top + 1):
        above = [s for s in inside if s >= value]
        if above:
            assert costs.up(value) == above[0]
        assert costs.up(value) >= value
        if value:
            assert costs.below(value) == max(s for s in inside if s < value)


@QUICK
@given(length_jobs(), st.randoms(use_true_random=False))
def test_the_order_of_the_pieces_changes_no_proven_cost(job, shuffle):
    stock, pieces, kerf, trim = job
    mixed = list(pieces)
    shuffle.shuffle(mixed)
    one, two = (cut_lengths(stock, p, kerf_mm=kerf, trim_mm=trim, seconds=2) for p in (pieces, mixed))
    assert not (one.optimal and two.optimal) or one.cost == two.cost


@settings(QUICK, max_examples=15)
@given(length_jobs(most_pieces=8))
def test_a_piece_more_never_costs_less_and_a_stock_more_never_costs_more(job):
    stock, pieces, kerf, trim = job
    plan = cut_lengths(stock, pieces, kerf_mm=kerf, trim_mm=trim, seconds=2)
    more = cut_lengths(stock, [*pieces, pieces[0]], kerf_mm=kerf, trim_mm=trim, seconds=2)
    choice = cut_lengths([*stock, LengthStock(length_mm=5400, price=Decimal(9))], pieces, kerf_mm=kerf, trim_mm=trim)
    assert choice.lower_bound <= plan.cost and plan.lower_bound <= more.cost
    if plan.optimal and more.optimal and choice.optimal:
        assert choice.cost <= plan.cost <= more.cost


@pytest.mark.parametrize("seed", [0, 1])
def test_same_seed_and_deadline_same_plans(seed, monkeypatch):
    # little counted work and much time: the work limit is reached first, however busy the machine is
    monkeypatch.setattr(clock_module, "PACE", 0.02)
    sizes = [(311 + 47 * n % 1900, 173 + 91 * n % 1000) for n in range(60)]
    bars = [LengthPiece(label=str(n), length_mm=a, quantity=2) for n, (a, _) in enumerate(sizes)]
    stock = [LengthStock(length_mm=a, price=Decimal(b)) for a, b in ((2400, 235), (3000, 300), (4800, 472))]
    one, two = (cut_lengths(stock, bars, kerf_mm=3, seconds=20, seed=seed) for _ in range(2))
    assert one == two
    panels = [SheetPiece(label=str(n), width_mm=b, height_mm=a) for n, (a, b) in enumerate(sizes)]
    sheet = [SheetStock(width_mm=1200, height_mm=2400)]
    one, two = (cut_sheets(sheet, panels, seconds=20, seed=seed) for _ in range(2))
    assert one == two


def test_a_job_of_a_thousand_pieces_answers_in_a_preview():
    panels = [
        SheetPiece(label=str(n), width_mm=100 + 37 * n % 1100, height_mm=100 + 91 * n % 2300, may_turn=False)
        for n in range(1000)
    ]
    before = time.process_time()
    plan = cut_sheets([SheetStock(width_mm=1200, height_mm=2400)], panels, seconds=0.25)
    # of the processor, with room for a slow machine; DEVELOPERS.md has the measured figures
    assert time.process_time() - before < 1.5
    assert plan.count >= plan.lower_bound
    assert sum(len(sheet.placed) for sheet in plan.sheets) == 1000


@QUICK
@given(length_jobs())
def test_lengths_are_valid_and_bounded(job):
    stock, pieces, kerf, trim = job
    plan = cut_lengths(stock, pieces, kerf_mm=kerf, trim_mm=trim, seconds=1)
    assert verify.length_faults(plan, stock, pieces, kerf, trim) == []


@settings(QUICK, max_examples=30)
@given(length_jobs(most_pieces=8))
def test_small_jobs_cost_what_exhaustive_search_finds(job):
    stock, pieces, kerf, trim = job
    plan = cut_lengths(stock, pieces, kerf_mm=kerf, trim_mm=trim, seconds=3)
    true = least_cost(stock, pieces, kerf, trim)
    assert plan.lower_bound <= true
    assert plan.optimal and plan.cost == true


class StoppedAfter(Deadline):
    """A clock that runs out after so many rounds of the column generation."""

    def __init__(self, rounds):
        super().__init__(5)
        self.rounds = rounds

    def over(self):
        self.rounds -= 1
        return self.rounds <= 0


@settings(QUICK, max_examples=30)
@given(length_jobs(most_pieces=8), st.integers(1, 3))
def test_a_bound_holds_where_the_generation_was_cut_short(job, rounds):
    stock, pieces, kerf, trim = job
    whole = lengths_module.generate
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(lengths_module, "generate", lambda shop, start, clock: whole(shop, start, StoppedAfter(rounds)))
        plan = cut_lengths(stock, pieces, kerf_mm=kerf, trim_mm=trim, seconds=3)
    true = least_cost(stock, pieces, kerf, trim)
    assert plan.lower_bound <= true <= plan.cost
    assert not plan.optimal or plan.cost == true


@settings(QUICK, max_examples=15)
@given(length_jobs(most_pieces=8), st.integers(2, 4))
def test_scaling_every_size_keeps_the_cost(job, factor):
    stock, pieces, kerf, trim = job
    larger = cut_lengths(
        [LengthStock(length_mm=s.length_mm * factor, price=s.price) for s in stock],
        [LengthPiece(label=p.label, length_mm=p.length_mm * factor, quantity=p.quantity) for p in pieces],
        kerf_mm=kerf * factor,
        trim_mm=trim * factor,
        seconds=3,
    )
    plan = cut_lengths(stock, pieces, kerf_mm=kerf, trim_mm=trim, seconds=3)
    assert plan.optimal and larger.optimal and plan.cost == larger.cost


@settings(QUICK, max_examples=15)
@given(length_jobs(most_pieces=8), st.integers(1, 3))
def test_what_lies_in_the_van_is_used_no_more_than_it_is_there(job, available):
    stock, pieces, kerf, trim = job
    longest = max(s.length_mm for s in stock)
    van = LengthStock(length_mm=longest, price=Decimal(0), available=available, name="van")
    plan = cut_lengths([*stock, van], pieces, kerf_mm=kerf, trim_mm=trim, seconds=2)
    assert verify.length_faults(plan, [*stock, van], pieces, kerf, trim) == []
    assert sum(used.name == "van" for used in plan.used) <= available
    assert plan.cost <= cut_lengths(stock, pieces, kerf_mm=kerf, trim_mm=trim, seconds=2).cost


@st.composite
def sheet_jobs(draw, most=18, small=False):
    width, height = draw(st.sampled_from([(12, 10), (120, 110)])) if small else (1200, 2400)
    stock = [SheetStock(width_mm=width, height_mm=height, price=Decimal("18.40"))]
    if not small and draw(st.booleans()):
        stock.append(SheetStock(width_mm=1200, height_mm=3000, price=Decimal(draw(st.integers(15, 30)))))
    pieces = [
        SheetPiece(
            label=f"p{i}",
            width_mm=draw(st.integers(width // 6 if small else 100, width)),
            height_mm=draw(st.integers(height // 6 if small else 100, height)),
            quantity=1 if small else draw(st.integers(1, 3)),
            may_turn=draw(st.booleans()),
        )
        for i in range(draw(st.integers(1, most)))
    ]
    return stock, pieces, draw(st.sampled_from([0, 0, 1] if small else [0, 0, 4]))


@QUICK
@given(sheet_jobs())
def test_sheets_are_valid_and_bounded(job):
    stock, pieces, kerf = job
    plan = cut_sheets(stock, pieces, kerf_mm=kerf, seconds=0.25)
    assert [fault for sheet in plan.sheets for fault in verify.sheet_faults(sheet, kerf)] == []
    cut = sorted(
        (p.label, *((p.height_mm, p.width_mm) if p.turned else (p.width_mm, p.height_mm)))
        for sheet in plan.sheets
        for p in sheet.placed
    )
    assert cut == sorted((p.label, p.width_mm, p.height_mm) for p in pieces for _ in range(p.quantity))
    may_turn = {p.label: p.may_turn for p in pieces}
    assert all(may_turn[p.label] or not p.turned for sheet in plan.sheets for p in sheet.placed)
    assert plan.count >= plan.lower_bound and plan.cost >= plan.lower_bound_cost


def fewest_sheets(width, height, pieces, kerf):
    """Exhaustive: sets of pieces that one sheet can give by edge-to-edge cuts, then the least cover."""
    everything = (1 << len(pieces)) - 1

    @cache
    def boxes(chosen):
        """Smallest (w, h) rectangles from which the chosen pieces can be cut."""
        members = [i for i in range(len(pieces)) if chosen >> i & 1]
        if len(members) == 1:
            p = pieces[members[0]]
            found = {(p.width_mm, p.height_mm)}
            if p.may_turn:
                found.add((p.height_mm, p.width_mm))
        else:
            found, part = set(), (chosen - 1) & chosen
            while part:
                if part > chosen ^ part:
                    for (a, b), (c, d) in product(boxes(part), boxes(chosen ^ part)):
                        found.add((a + c + kerf, max(b, d)))
                        found.add((max(a, c), b + d + kerf))
                part = (part - 1) & chosen
        found = {(w, h) for w, h in found if w <= width and h <= height}
        return {f for f in found if not any(o != f and o[0] <= f[0] and o[1] <= f[1] for o in found)}

    fits = {chosen for chosen in range(1, everything + 1) if boxes(chosen)}

    @cache
    def least(left):
        if not left:
            return 0
        low, best, part = left & -left, len(pieces), left
        while part:
            if part & low and part in fits:
                best = min(best, 1 + least(left ^ part))
            part = (part - 1) & left
        return best

    return least(everything)


@settings(QUICK, max_examples=30)
@given(sheet_jobs(most=7, small=True))
def test_the_relaxed_bound_never_passes_the_true_least(job):
    stock, pieces, kerf = job
    items = [(i, p.width_mm, p.height_mm, p.may_turn) for i, p in enumerate(pieces)]
    yard = Yard.of([(stock[0].width_mm, stock[0].height_mm)], [Decimal(0)], [None], kerf)
    alone = [open_bin(stock[0].width_mm, stock[0].height_mm) for _ in items]
    for box, (key, w, h, _) in zip(alone, items, strict=True):
        box.placed.append((key, 0, 0, w, h, False))
    true = fewest_sheets(stock[0].width_mm, stock[0].height_mm, pieces, kerf)
    assert relaxed_bound(yard, items, alone, Deadline(5))[0] <= true
    assert scaled_bound(yard, items) <= true


@settings(QUICK, max_examples=30)
@given(sheet_jobs(most=7, small=True))
def test_small_sheet_jobs_need_what_exhaustive_search_finds(job):
    stock, pieces, kerf = job
    plan = cut_sheets(stock, pieces, kerf_mm=kerf, seconds=0.4)
    true = fewest_sheets(stock[0].width_mm, stock[0].height_mm, pieces, kerf)
    assert plan.lower_bound <= true
    assert plan.count == true
