"""Measure the take-off: `python -m tests.bench.bench_takeoff [lengths] [sheets] [layouts] [previews]`.

Prints Markdown tables with the lower bound beside every figure. Where the general-purpose rectangle
packer `rectpack` is installed it is run beside the sheet solver; otherwise its recorded result is shown.
"""

import json
import math
import sys
import time
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

from acoustics.takeoff import (
    Board,
    BoardRules,
    Gaps,
    LengthPiece,
    LengthStock,
    SheetPiece,
    SheetStock,
    Supports,
    Surface,
    cut_lengths,
    cut_sheets,
    lay_job,
)
from tests.acoustics.takeoff import verify

DATA = json.loads((Path(__file__).parent.parent / "reference" / "takeoff_instances.json").read_text())
RULES = BoardRules(stagger_mm=300, course_stagger_mm=300, min_height_mm=150)


def timed(call):
    wall, cpu = time.perf_counter(), time.process_time()
    answer = call()
    return answer, time.perf_counter() - wall, time.process_time() - cpu


def table(title, heads, rows):
    print(f"\n### {title}\n\n| {' | '.join(heads)} |\n|{'---|' * len(heads)}")
    for row in rows:
        print(f"| {' | '.join(str(cell) for cell in row)} |", flush=True)


def lengths():
    for case in DATA["lengths"]:
        count = len(case["pieces_mm"])
        limit = 1.0 if count <= 50 else 6.0 if case["id"].startswith("t") or count > 200 else 3.0
        stock = [LengthStock(length_mm=a, price=Decimal(b)) for a, b in case["stock"]]
        pieces = [LengthPiece(label=str(i), length_mm=a) for i, a in enumerate(case["pieces_mm"])]
        plan, wall, cpu = timed(
            lambda s=stock, p=pieces, c=case, t=limit: cut_lengths(s, p, kerf_mm=c["kerf_mm"], seconds=t)
        )
        faults = verify.length_faults(plan, stock, pieces, case["kerf_mm"], 0)
        gap = float(plan.cost / plan.lower_bound - 1) * 100
        tails = sum(used.left_mm for used in plan.used if used.left_mm >= 600) / 1000
        yield (
            case["id"],
            count,
            plan.lower_bound,
            plan.cost,
            case["best_known"],
            "yes" if plan.optimal else f"{gap:.2f} %",
            f"{tails:.1f}",
            f"{wall:.2f}",
            f"{cpu:.2f}",
            len(faults),
        )


def sheets():
    for case in DATA["sheets"]:
        count = sum(case["quantity"])
        limit = 3.0 if count <= 30 else 10.0 if count <= 120 else 20.0
        stock = [SheetStock(width_mm=case["width_mm"], height_mm=case["height_mm"])]
        pieces = [
            SheetPiece(label=str(i), width_mm=w, height_mm=h, quantity=n, may_turn=case["may_turn"])
            for i, ((w, h), n) in enumerate(zip(case["sizes_mm"], case["quantity"], strict=True))
        ]
        plan, wall, cpu = timed(
            lambda s=stock, p=pieces, c=case, t=limit: cut_sheets(s, p, kerf_mm=c["kerf_mm"], seconds=t)
        )
        faults = [f for sheet in plan.sheets for f in verify.sheet_faults(sheet, case["kerf_mm"])]
        yield (
            case["id"],
            count,
            plan.lower_bound,
            plan.count,
            case["best_known"],
            packer_best(case),
            "yes" if plan.optimal else f"{plan.count - plan.lower_bound} sheet",
            f"{wall:.2f}",
            f"{cpu:.2f}",
            len(faults),
        )


def packer_best(case):
    """Fewest sheets of every guillotine variant and order of the packer, kerf added to each size."""
    try:
        import rectpack
        from rectpack import guillotine
    except ImportError:
        return f"{case['packer_best']} (recorded)"
    k = case["kerf_mm"]
    rects = [(w + k, h + k) for (w, h), n in zip(case["sizes_mm"], case["quantity"], strict=True) for _ in range(n)]
    sorts = [
        rectpack.SORT_AREA,
        rectpack.SORT_PERI,
        rectpack.SORT_DIFF,
        rectpack.SORT_SSIDE,
        rectpack.SORT_LSIDE,
        rectpack.SORT_RATIO,
    ]
    kinds = [
        getattr(guillotine, f"Guillotine{fit}{split}")
        for fit in ("Bssf", "Blsf", "Baf")
        for split in ("Sas", "Las", "Slas", "Llas", "Maxas", "Minas")
    ]
    best = math.inf
    for kind in kinds:
        for sort in sorts:
            packer = rectpack.newPacker(pack_algo=kind, sort_algo=sort, rotation=case["may_turn"])
            for w, h in rects:
                packer.add_rect(w, h)
            packer.add_bin(case["width_mm"] + k, case["height_mm"] + k, count=len(rects))
            packer.pack()
            if len(packer.rect_list()) == len(rects):
                best = min(best, len(packer))
    return best


def job(case):
    surfaces = [
        Surface(
            name=s["name"],
            outline_mm=tuple(map(tuple, s["outline_mm"])),
            openings_mm=tuple(((a, b), (c, b), (c, d), (a, d)) for a, b, c, d in s["openings_mm"]),
            supports=Supports(spacing_mm=s["spacing_mm"]),
            layers=s["layers"],
            gaps_mm=Gaps(sides_mm=0, top_mm=0, bottom_mm=0),
        )
        for s in case["surfaces"]
    ]
    width, height = case["board_mm"]
    return surfaces, Board(width_mm=width, height_mm=height)


def layouts(rules, limit=None):
    total = [0, 0, 0, 0, 0]
    for case in DATA["walls"]:
        surfaces, board = job(case)
        seconds = limit or (20.0 if len(surfaces) > 5 else 5.0)
        layout, wall, cpu = timed(lambda s=surfaces, b=board, t=seconds: lay_job(s, b, rules, seconds=t))
        faults = verify.layout_faults(layout, surfaces, rules)
        eased = sorted({n.code for n in layout.notices if n.code != "fragile_leg"})
        known = layout.lower_bound if rules.reuse_cutouts else max(layout.lower_bound, case["known_bound"])
        tenth = math.ceil(layout.area_m2 * 1.1 / (board.width_mm * board.height_mm / 1e6) - 1e-9)
        if not case["id"].startswith("JOB"):
            row = (layout.lower_bound, layout.count, case["best_known"], case["by_hand"], tenth)
            total = [a + b for a, b in zip(total, row, strict=True)]
        yield (
            case["id"],
            f"{layout.area_m2:.2f}",
            layout.lower_bound,
            known,
            layout.count,
            case["best_known"],
            case["by_hand"],
            tenth,
            len(layout.pieces()),
            f"{wall:.2f}",
            f"{cpu:.2f}",
            f"{len(faults)}{' ' + ', '.join(eased) if eased else ''}",
        )
    yield ("W1 to W8, each alone", "", total[0], "", total[1], total[2], total[3], total[4], "", "", "", "")


LAYOUT_HEADS = (
    "surfaces", "m2", "bound by area", "best bound known", "sheets", "best known", "by hand rule", "area + 10 %",
    "pieces", "s", "cpu s", "faults",
)  # fmt: skip


def main(wanted):
    if "lengths" in wanted:
        heads = ("job", "pieces", "bound", "cost", "best known", "proved, or gap", "tails m", "s", "cpu s", "faults")
        table("Lengths", heads, lengths())
    if "sheets" in wanted:
        heads = ("job", "pieces", "bound", "sheets", "best known", "packer", "proved, or gap", "s", "cpu s", "faults")
        table("Sheets", heads, sheets())
    if "layouts" in wanted:
        table("Layouts", LAYOUT_HEADS, layouts(RULES))
        table("Layouts, cut-outs of openings used again", LAYOUT_HEADS, layouts(replace(RULES, reuse_cutouts=True)))
    if "previews" in wanted:
        table("Previews, 0.25 s asked", LAYOUT_HEADS, layouts(RULES, 0.25))


if __name__ == "__main__":
    main(sys.argv[1:] or ("lengths", "sheets", "layouts", "previews"))
