"""Time of a prediction of one surveyed room with ten ways in, and of the whole calculation of a scheme.

    .venv/bin/python -m tests.bench.bench_prediction

Runs on a throwaway test database. "Engine" is the computation alone with elements it has met before, as it is after
the first look at a room; "room" adds turning rows into its inputs and its result into JSON.
"""

import os
import statistics
import time

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")

import django

django.setup()

from django.conf import settings  # noqa: E402
from django.test.utils import get_runner  # noqa: E402

ROUNDS = 50


def median_ms(work, rounds: int = ROUNDS) -> tuple[float, float]:
    """Median time on the clock and on the processor; they part on a machine that is busy with other things."""
    work()
    clock, processor = [], []
    for _ in range(rounds):
        began, spent = time.perf_counter(), time.process_time()
        work()
        clock.append(time.perf_counter() - began)
        processor.append(time.process_time() - spent)
    return statistics.median(clock) * 1000, statistics.median(processor) * 1000


def measure() -> list[tuple[str, tuple[float, float]]]:
    import contractor.wsgi  # noqa: F401  (as it is served)
    from contractor.rooms.inputs import gather
    from contractor.rooms.models import Scheme
    from contractor.rooms.prediction.bridge import engine_prediction, predict, receiving_room
    from contractor.rooms.services import calculate
    from contractor.rooms.takeoff.document import take_off
    from tests.factories import SidePathFactory
    from tests.rooms.scenes import bedroom

    scene = bedroom()
    for kind in ("beam", "leak", "pipe", "flue"):
        SidePathFactory(room=scene.room, kind=kind, name=f"A {kind}", open_area_mm2=600 if kind == "leak" else None)
    scene.build_all()
    inputs = gather(scene.scheme)
    room = inputs.rooms[0]
    ready = receiving_room(inputs, room)
    ways_in = len(predict(inputs, room)["paths"])

    def kept() -> None:
        calculate(scheme=Scheme.objects.select_related("job").get(pk=scene.scheme.pk))

    return [
        (f"engine, {ways_in} ways in", median_ms(lambda: engine_prediction(ready))),
        (f"room, {ways_in} ways in", median_ms(lambda: predict(inputs, room))),
        ("reading the inputs", median_ms(lambda: gather(scene.scheme))),
        ("take-off of nine faces", median_ms(lambda: take_off(inputs), 3)),
        ("calculation that is kept", median_ms(kept)),
    ]


def main() -> None:
    runner = get_runner(settings)(verbosity=0, interactive=False)
    databases = runner.setup_databases()
    try:
        print(f"{'':28} {'clock':>10} {'processor':>12}")
        for name, (clock, processor) in measure():
            print(f"{name:28} {clock:7.1f} ms {processor:9.1f} ms")
    finally:
        runner.teardown_databases(databases)


if __name__ == "__main__":
    main()
