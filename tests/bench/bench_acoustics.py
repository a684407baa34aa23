"""Speed of the acoustics engine on one core: ``python -m tests.bench.bench_acoustics``.

Processor time, so that other programs on the machine matter less; set OMP_NUM_THREADS=1 for one core.
"""

from __future__ import annotations

import itertools
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from acoustics import (  # fmt: skip
    CavityRoute,
    Connection,
    Element,
    Face,
    Fill,
    FlankingPath,
    Gap,
    Junction,
    Layer,
    Leaf,
    Leak,
    Lining,
    ReceivingRoom,
    SeparatingPatch,
    SidePath,
    buildup,
    flanking,
    insitu,
    leaf,
    linings,
    predict_room,
    reductions_db,
)
from acoustics.plan import Option, Surface, plan_treatments


def catalogue() -> list[Element]:
    """Double leaves of stock boards over stock cavities, as a search for a build-up would try them."""
    boards = [("gypsum_board", t, n) for t in (9.5, 12.5, 15.0, 19.0) for n in (1, 2)]
    boards += [("gypsum_board_dense", t, n) for t in (12.5, 15.0) for n in (1, 2)]
    leaves = [Leaf(layers=(Layer(material=m, thickness_mm=t),) * n) for m, t, n in boards]
    gaps = [
        Gap(depth_mm=d, fill=Fill(thickness_mm=d / 2) if f else None, connection=Connection(kind=k))
        for d, f, k in itertools.product((50, 75, 100, 150), (False, True), ("none", "timber_stud", "steel_stud"))
    ]
    return [Element(leaves=(a, b), gaps=(g,)) for a, b, g in itertools.product(leaves, leaves, gaps)]


def all_different(count: int) -> list[Element]:
    """Double leaves that share neither leaf, gap nor wool."""
    random = np.random.default_rng(1)

    def one() -> Element:
        first, second, depth = (float(x) for x in random.uniform((9, 9, 50), (19, 19, 150)))
        wool = Fill(
            thickness_mm=depth / 2,
            flow_resistivity_pa_s_m2=float(random.uniform(5e3, 2e4)),
            density_kg_m3=float(random.uniform(15, 60)),
        )
        return Element(
            leaves=(
                Leaf(layers=(Layer(material="gypsum_board", thickness_mm=first),)),
                Leaf(layers=(Layer(material="gypsum_board_dense", thickness_mm=second),) * 2),
            ),
            gaps=(Gap(depth_mm=depth, fill=wool, connection=Connection(kind="timber_stud")),),
        )

    return [one() for _ in range(count)]


def a_room(flanks: int = 5, voids: int = 2, patches: int = 2, leaks: int = 1) -> ReceivingRoom:
    """A room of 3 x flanks + voids + patches + leaks = 20 paths, all elements different."""
    boards = Element(leaves=(Leaf(layers=(Layer(material="softwood_boards", thickness_mm=20),)),))
    lining = Lining(
        gaps=(Gap(depth_mm=75, fill=Fill(thickness_mm=50)),),
        leaves=(Leaf(layers=(Layer(material="gypsum_board_dense", thickness_mm=15),) * 2),),
    )

    def brick(thickness_mm: float) -> Element:
        return Element(leaves=(Leaf(layers=(Layer(material="brick_solid", thickness_mm=thickness_mm),), masonry=True),))

    void = CavityRoute(
        source_area_m2=16, receiving_area_m2=14, link_area_m2=0.3, source_skin=boards, receiving_skin=boards
    )
    return ReceivingRoom(
        volume_m3=36,
        separating=[
            SeparatingPatch(name=f"patch {i}", area_m2=5, element=brick(215 - 113 * i), lining=lining)
            for i in range(patches)
        ],
        flanking=[
            FlankingPath(
                name=f"flank {i}",
                source=Face(element=brick(90 + 10 * i), area_m2=10),
                receiving=Face(element=brick(95 + 10 * i), area_m2=9, lining=lining if i % 2 else None),
                junction=Junction(kind="rigid_t", length_m=2.6),
            )
            for i in range(flanks)
        ],
        side_paths=[SidePath(name=f"void {i}", before=void, after=replace(void, wool=True)) for i in range(voids)]
        + [
            SidePath(name=f"leak {i}", before=Leak(area_mm2=60), after=Leak(area_mm2=60, sealed=True))
            for i in range(leaks)
        ],
    )


def forget() -> None:
    """Empty every cache of the engine."""
    buildup.forget()
    for cached in (
        leaf._changing,
        linings.stand_in,
        linings.improvement_db,
        insitu.plate_of,
        flanking.structure_of,
    ):
        cached.cache_clear()


def best(work: Callable[[], object], rounds: int = 3, before: Callable[[], object] = lambda: None) -> float:
    """Least processor time of a call in seconds."""
    times = []
    for _ in range(rounds):
        before()
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def import_seconds() -> float:
    script = "import time; t = time.process_time(); import acoustics; print(time.process_time() - t)"
    return min(
        float(subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True).stdout)
        for _ in range(3)
    )


def a_plan() -> object:
    random = np.random.default_rng(9)
    surfaces = [
        Surface(
            name=f"surface {i}",
            transmission=tuple(10 ** (-random.uniform(40, 60, 21) / 10)),
            options=[
                Option(
                    name=str(j), improvement_db=tuple(random.uniform(-2, 20, 21)), cost=int(random.integers(100, 3000))
                )
                for j in range(12)
            ],
        )
        for i in range(8)
    ]
    return plan_treatments(volume_m3=40, separating_area_m2=10, surfaces=surfaces, target_db=55)


def per_second(elements: list[Element], **mode: bool) -> str:
    """Build-ups a second with nothing kept from before."""
    return f"{len(elements) / best(lambda: reductions_db(elements, **mode), 5, before=forget):,.0f} /s"


def main() -> None:
    stock, different, room = catalogue(), all_different(2048), a_room()
    reductions_db(stock[:64])
    warm = best(lambda: predict_room(room), rounds=50)
    rows = [
        ("double leaves all different, full quality", "2,000 /s", per_second(different)),
        ("double leaves all different, search mode", "15,000 /s", per_second(different, search=True)),
        ("double leaves of a catalogue, full quality", "", per_second(stock)),
        ("double leaves of a catalogue, search mode", "", per_second(stock, search=True)),
        (
            f"room of {len(predict_room(room).paths)} paths before and after, nothing cached",
            "20 ms",
            f"{1000 * best(lambda: predict_room(room), rounds=10, before=forget):.1f} ms",
        ),
        ("the same, elements cached", "2 ms", f"{1000 * warm:.1f} ms"),
        ("plan of 8 surfaces with 12 options, whole front", "", f"{1000 * best(a_plan):.0f} ms"),
        ("import of acoustics", "0.30 s", f"{import_seconds():.2f} s"),
    ]
    print(f"{'':60s} {'asked':>12s} {'reached':>12s}")
    for what, asked, reached in rows:
        print(f"{what:60s} {asked:>12s} {reached:>12s}")


if __name__ == "__main__":
    main()
