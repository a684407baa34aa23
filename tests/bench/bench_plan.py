"""Processor time of the plan of treatments: the solver on made-up rooms, and the app's pages on the demo.

    .venv/bin/python -m tests.bench.bench_plan

Made-up rooms: what gains more costs more, so that few options can be dropped at sight; costs in pence; each case is the
median of seven rooms. The pages run on the database of DATABASE_URL (a throwaway test database there). Each time is
processor time of this process, so that what else the machine does counts little.
"""

import io
import os
import statistics
import time
from collections.abc import Callable
from decimal import Decimal

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")

import numpy as np

from acoustics.goals import heard_goal, number_goal
from acoustics.paths import Path
from acoustics.roomplan import Candidate, RoomPlan, plan_room

ROOMS, ROUNDS = 7, 9
SIZE = {"volume_m3": 40.0, "separating_area_m2": 10.0}


def made(seed: int, places: int, options: int) -> tuple[list[Path], list[Candidate]]:
    """A room of `places` ways in with `options` linings each, their gain rising with the band as linings' does."""
    random = np.random.default_rng(seed)
    slope = np.linspace(0.2, 1.0, 21)
    before = [10 ** (-(random.uniform(38, 58) + 18 * slope) / 10) for _ in range(places)]
    base = [path(i, before[i], 3.0) for i in range(places)]
    found = []
    for i in range(places):
        for j in range(options):
            grade = random.uniform(0, 1)
            gain = (2 + 22 * grade) * slope + random.uniform(-1, 1, 21)
            own = list(base)
            own[i] = path(i, before[i] * 10 ** (-gain / 10), float(random.uniform(2.5, 5.0)))
            cost = Decimal(int(20000 + 250_000 * grade**1.4 + random.integers(0, 30_000))) / 100
            uses = {"area_lost_m2": 0.05 + 0.4 * grade * random.uniform(0.7, 1.3), "hours": 4 + 30 * grade}
            found.append(
                Candidate(place=str(i), name=str(j), paths=own, cost=cost, depth_mm=20 + 110 * grade, uses=uses)
            )
    return base, found


def path(number: int, after: np.ndarray, spread_db: float) -> Path:
    return Path(str(number), str(number), "direct", after, after, "made up", spread_db, spread_db)


def seconds_of(work: Callable[[], object]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start


def solver_case(places: int, options: int, goal, **asked) -> tuple[float, float, int, int]:
    """Median and longest seconds, median points of the front, and how many of the rooms were solved exactly."""
    times, fronts, exact = [], [], 0
    for seed in range(ROOMS):
        base, candidates = made(seed, places, options)
        plans: list[RoomPlan] = []
        times.append(
            seconds_of(lambda b=base, c=candidates, p=plans: p.append(plan_room(b, c, goal, seconds=30.0, **asked)))
        )
        fronts.append(len(plans[0].front))
        exact += plans[0].exact
    return statistics.median(times), max(times), int(statistics.median(fronts)), exact


def solver() -> None:
    bass = number_goal("weighted_ctr", 52, **SIZE)
    rating = number_goal("weighted", 56, **SIZE)
    words = heard_goal("inaudible", "television", background_dba="night", reverberation_s=0.5, **SIZE)
    cases = [
        ("8 × 12, DnT,w + Ctr, whole front", 8, 12, bass, {}, "0.50 s"),
        ("15 × 20, DnT,w + Ctr, whole front", 15, 20, bass, {}, "3.00 s"),
        ("8 × 12, the same with a chance of 4 in 5", 8, 12, bass, {"chance": 0.8}, ""),
        ("8 × 12, with floor area and hours bound", 8, 12, bass, {"limits": {"area_lost_m2": 1.2, "hours": 90}}, ""),
        ("8 × 12, DnT,w", 8, 12, rating, {}, ""),
        ("8 × 12, television not audible at night", 8, 12, words, {}, ""),
    ]
    print(f"{'plan of ways in × build-ups':46s} {'median':>8s} {'longest':>8s} {'front':>6s} {'exact':>6s}   asked")
    for name, places, options, goal, asked, target in cases:
        middle, longest, front, exact = solver_case(places, options, goal, **asked)
        print(f"{name:46s} {middle:6.2f} s {longest:6.2f} s {front:6d} {exact:3d}/{ROOMS}   {target}")


def pages() -> None:
    from django.core.management import call_command
    from django.test import Client
    from django.urls import reverse

    from contractor.accounts.models import User
    from contractor.rooms.models import Scheme

    call_command("load_demo", stdout=io.StringIO())
    client = Client()
    client.force_login(User.objects.get(username="idris"), backend="django.contrib.auth.backends.ModelBackend")
    scheme = Scheme.objects.filter(job__work_pack__isnull=False).select_related("job").first()
    treatments = scheme.treatments.all()
    chosen = {f"patch-{t.patch_id}" if t.patch_id else f"path-{t.side_path_id}": t.build_up_id for t in treatments}
    chosen |= {"name": scheme.name, "summary": scheme.summary}
    key = next(name for name in chosen if name.startswith("patch-"))
    number = scheme.job.number

    def look(name: str) -> None:
        assert client.get(reverse(name, args=[number])).status_code == 200

    def changed() -> None:
        other = {k: v for k, v in chosen.items() if k != key}
        for data in (other, chosen):
            assert client.post(reverse("rooms:scheme-preview", args=[scheme.pk]), data).status_code == 200

    asked = [
        ("room after a change of one build-up", changed, 2, "0.15 s"),
        ("where it comes in", lambda: look("rooms:diagnosis"), 1, ""),
        ("plan page, everything worked out anew", lambda: look("planning:plan"), 1, ""),
    ]
    print()
    for name, work, times, target in asked:
        work()
        middle = statistics.median(seconds_of(work) / times for _ in range(ROUNDS))
        print(f"{name:46s} {middle:6.2f} s {'':24s}   {target}")


def prices() -> None:
    """How far the plan's prices, by rates, lie from the quote's, in whole packs, over the options of the demo."""
    from contractor.jobs.models import Job
    from contractor.planning import selectors
    from contractor.quotes.pricing import price_option
    from contractor.rooms.inputs import inputs_by_scheme, replace
    from contractor.rooms.planning.quick import quick_takeoff
    from contractor.rooms.selectors_schemes import schemes_of
    from contractor.rooms.services import calculate_well

    nothing = {"on_patch": {}, "on_opening": {}, "on_side_path": {}}
    off = []
    for job in Job.objects.all():
        basis = selectors.basis_of(job)
        schemes = schemes_of(job)
        for scheme_id, inputs in inputs_by_scheme(basis.inputs, schemes).items():
            scheme = next(s for s in schemes if s.pk == scheme_id)
            quoted = price_option(calculate_well(scheme=scheme).takeoff, basis.rates).total
            planned = Decimal(0)
            for name in nothing:
                for key, choice in getattr(inputs, name).items():
                    alone = replace(inputs, **nothing | {name: {key: choice}})
                    planned += price_option(quick_takeoff(alone), basis.rates).total
            off.append(100 * float(planned / quoted - 1))
    print(
        f"\nplan's price less the quote's, {len(off)} options: {min(off):+.0f} to {max(off):+.0f} %, mean {statistics.mean(off):+.0f} %"
    )


def main() -> None:
    solver()
    import django

    django.setup()
    from django.conf import settings
    from django.test.utils import get_runner

    runner = get_runner(settings)(verbosity=0, interactive=False)
    runner.setup_test_environment()
    made_databases = runner.setup_databases()
    try:
        pages()
        prices()
    finally:
        runner.teardown_databases(made_databases)


if __name__ == "__main__":
    main()
