"""Median server time of each main page with 10,000 jobs in the database.

    .venv/bin/python -m tests.bench.bench_pages [jobs]

Runs on the database of DATABASE_URL (a throwaway test database there), SQLite by default. The demo's own jobs are
opened for the pages inside a job; the others make the lists long. Each page is asked for 15 times after one warm-up.
"""

import os
import statistics
import sys
import time

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")

import django

django.setup()

from django.conf import settings  # noqa: E402
from django.test.runner import DiscoverRunner  # noqa: E402
from django.test.utils import get_runner  # noqa: E402

ROUNDS = 15


def fill(count: int) -> None:
    """`count` jobs, each with its customer, property, noise and gates, spread over the stages."""
    from contractor.customers.models import Customer, Property
    from contractor.jobs.models import Gate, Job, NoiseHeard, Stage

    stages = Stage.values
    customers = Customer.objects.bulk_create([Customer(name=f"Household {n:05}") for n in range(count)], 1000)
    homes = Property.objects.bulk_create(
        [
            Property(
                customer=c, address_line_1=f"{n} Rowan Bank", town="Fenwick Marsh", postcode=f"ZY{n % 100} {n % 10}ZZ"
            )
            for n, c in enumerate(customers)
        ],
        1000,
    )
    jobs = Job.objects.bulk_create(
        [
            Job(number=100_000 + n, property=p, title="Bedroom wall", stage=stages[n % len(stages)])
            for n, p in enumerate(homes)
        ],
        1000,
    )
    NoiseHeard.objects.bulk_create([NoiseHeard(job=j, kind="speech") for j in jobs], 1000)
    Gate.objects.bulk_create([Gate(job=j, kind="asbestos") for j in jobs], 1000)


def pages() -> list[tuple[str, str]]:
    """(name, address) of the pages measured: every page without a key, and those of the demo's fullest job."""
    from django.db.models import Count
    from django.urls import reverse

    from contractor.catalogue.models import BuildUp, Construction, Material
    from contractor.rooms.models import Scheme

    scheme = Scheme.objects.filter(job__work_pack__isnull=False).select_related("job").first()
    job, room = scheme.job, scheme.job.rooms.first()
    keyed = {
        "jobs:job": job.number,
        "jobs:programme": job.number,
        "customers:customer": job.property.customer_id,
        "rooms:survey": job.number,
        "rooms:room": room.pk,
        "rooms:surface": room.surfaces.filter(role="separating").first().pk,
        "rooms:schemes": job.number,
        "rooms:scheme": scheme.pk,
        "rooms:prediction": scheme.pk,
        "rooms:takeoff": scheme.pk,
        "quotes:quote": job.number,
        "quotes:revision": job.revisions.first().pk,
        "fitting:pack": job.number,
        "fitting:cuts": job.number,
        "catalogue:material": Material.objects.first().pk,
        "catalogue:construction": Construction.objects.first().pk,
        "catalogue:build-up": BuildUp.objects.first().pk,
        "catalogue:build-up-edit": BuildUp.objects.annotate(count=Count("layers")).order_by("-count")[0].pk,
    }
    plain = [
        "jobs:list", "jobs:diary", "customers:list", "catalogue:overview", "catalogue:materials",
        "catalogue:constructions", "catalogue:build-ups", "catalogue:labour", "accounts:firm", "fitting:today",
    ]  # fmt: skip
    found = [(name, reverse(name)) for name in plain]
    found += [
        ("jobs:list?q=postcode", reverse("jobs:list") + "?q=ZY42"),
        ("jobs:list?q=miss", reverse("jobs:list") + "?q=xyzzy"),
    ]
    return found + [(name, reverse(name, args=[key])) for name, key in keyed.items()]


def measure(client, address: str) -> tuple[list[float], list[float]]:
    """Milliseconds by the clock and of the processor, round by round."""
    clock, processor = [], []
    for _ in range(ROUNDS + 1):
        start, used = time.perf_counter(), time.process_time()
        response = client.get(address)
        clock.append((time.perf_counter() - start) * 1000)
        processor.append((time.process_time() - used) * 1000)
        assert response.status_code == 200, (address, response.status_code)
    return clock[1:], processor[1:]


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    runner = get_runner(settings, "django.test.runner.DiscoverRunner")(verbosity=0, interactive=False)
    assert isinstance(runner, DiscoverRunner)
    settings.ALLOWED_HOSTS = ["testserver"]
    old = runner.setup_databases()
    try:
        import contractor.wsgi  # noqa: F401  (pages are measured as they are served)
        from contractor.accounts.models import User
        from contractor.catalogue.services import load_seed
        from contractor.demo.build import build

        load_seed()
        build()
        fill(count)
        from tests.conftest import signed_in

        client = signed_in(User.objects.filter(role="owner").first())
        print(f"{settings.DATABASES['default']['ENGINE'].rpartition('.')[2]}, {count:,} jobs, {ROUNDS} rounds, ms")
        print(f"{'page':28} {'median':>7} {'slowest':>8} {'processor':>10}")
        for name, address in pages():
            clock, processor = measure(client, address)
            print(f"{name:28} {statistics.median(clock):7.1f} {max(clock):8.1f} {statistics.median(processor):10.1f}")
    finally:
        runner.teardown_databases(old)


if __name__ == "__main__":
    main()
