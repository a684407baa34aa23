"""Measure the take-off: `python -m tests.bench.bench_takeoff [lengths] [sheets] [layouts] [jobs] [previews]`.

Prints Markdown tables with the lower bound beside every figure. Deadlines are kept in seconds of the
processor, so that a busy machine measures like an idle one; "s" is by the clock, "cpu s" of the processor. Beside the sheet solver runs the general-purpose
rectangle packer rectpack in each of its edge-to-edge variants and orders. "jobs" lays every scheme of the
demo, built in a throwaway database, and compares it with the area and a tenth.
"""

import json
import math
import os
import sys
import time
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import rectpack
from rectpack import guillotine
from shapely.geometry import Polygon

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
    clock,
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
        limit = 0.5 if count <= 50 else 6.0 if case["id"].startswith("t") else 2.0 if count <= 200 else 3.0
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


def demo_jobs():
    """Per scheme and board of the demo: area, bound, sheets, sheets by the area and a tenth."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    import django

    django.setup()
    from django.conf import settings
    from django.test.utils import get_runner

    runner = get_runner(settings, "django.test.runner.DiscoverRunner")(verbosity=0, interactive=False)
    old = runner.setup_databases()
    try:
        from contractor.catalogue.services import load_seed
        from contractor.demo.build import build

        load_seed()
        build()
        yield from _schemes_laid()
    finally:
        runner.teardown_databases(old)


def _schemes_laid():
    from contractor.rooms.inputs import gather
    from contractor.rooms.models import Scheme
    from contractor.rooms.takeoff.document import take_off
    from contractor.rooms.takeoff.effort import full_effort

    total = [0.0, 0, 0, 0]
    for scheme in Scheme.objects.select_related("job").order_by("job__number", "pk"):
        found, wall, cpu = timed(lambda s=scheme: take_off(gather(s), full_effort(4, 20.0)))
        least = {proof["material"]: proof["least"] for proof in found["proofs"] if proof["unit"] == "sheet"}
        for material in dict.fromkeys(sheet["material"] for sheet in found["sheets"]):
            bought = [s for s in found["sheets"] if s["material"] == material and not s["from_offcut"]]
            labels = {part["label"] for s in found["sheets"] if s["material"] == material for part in s["placed"]}
            area = sum(_net_m2(p) for p in _pieces(found) if p["label"] in labels)
            size = bought[0]["width_mm"] * bought[0]["height_mm"] / 1e6 if bought else 2.88
            row = (area, least[material], len(bought), math.ceil(area * 1.1 / size - 1e-9))
            total = [a + b for a, b in zip(total, row, strict=True)]
            yield (f"{scheme.job.number} {scheme.name}", material, f"{area:.2f}", *row[1:], f"{wall:.1f}", f"{cpu:.1f}")
    yield ("all", "", f"{total[0]:.2f}", *total[1:], "", "")


def _pieces(takeoff):
    return [piece for face in takeoff["faces"] for layer in face["layers"] for piece in layer["pieces"]]


def _net_m2(piece):
    return Polygon(piece["outline_mm"], piece["cutouts_mm"]).area / 1e6


def main(wanted):
    clock.now = time.process_time
    if "lengths" in wanted:
        heads = ("job", "pieces", "bound", "cost", "best known", "proved, or gap", "tails m", "s", "cpu s", "faults")
        table("Lengths", heads, lengths())
    if "sheets" in wanted:
        heads = ("job", "pieces", "bound", "sheets", "best known", "packer", "proved, or gap", "s", "cpu s", "faults")
        table("Sheets", heads, sheets())
    if "layouts" in wanted:
        table("Layouts", LAYOUT_HEADS, layouts(RULES))
        table("Layouts, cut-outs of openings used again", LAYOUT_HEADS, layouts(replace(RULES, reuse_cutouts=True)))
    if "jobs" in wanted:
        heads = ("scheme", "board", "m2", "bound", "sheets", "area + 10 %", "s", "cpu s")
        table("Boards of the demo's schemes", heads, demo_jobs())
    if "previews" in wanted:
        table("Previews, 0.25 s asked", LAYOUT_HEADS, layouts(RULES, 0.25))


if __name__ == "__main__":
    main(sys.argv[1:] or ("lengths", "sheets", "layouts", "jobs", "previews"))
