"""Processor time of files with 10,000 rows, step by step as the office goes through them, and of a full week.

    .venv/bin/python -m tests.bench.bench_imports

Each step is one request to the app (median of several), on the database of DATABASE_URL (a throwaway test database
there); processor time of this process, so that what else the machine does counts little.
"""

import os
import statistics
import time
from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")

ROWS, ROUNDS = 10_000, 5
TARGET = "1 s"


def seconds_of(work: Callable[[], object]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start


def told(name: str, work: Callable[[], object]) -> None:
    work()
    middle = statistics.median(seconds_of(work) for _ in range(ROUNDS))
    print(f"{name:58s} {middle:6.2f} s   {TARGET}")


def steps_of(client, post_url: str, posted: Callable[[], dict], choose: Callable[[str], None], name: str) -> None:
    """A file is sent in, its page looked at, and what is chosen there made: each step anew from the sending."""
    last: dict[str, str] = {}

    def send() -> None:
        response = client.post(post_url, posted())
        assert response.status_code == 302, response.content[:2000]
        last["url"] = response.url

    def look() -> None:
        assert client.get(last["url"]).status_code == 200

    told(f"{name}: sent in", send)
    told(f"{name}: its columns and what follows", look)
    taken = []
    for _ in range(ROUNDS):
        send()
        taken.append(seconds_of(lambda: choose(last["url"])))
    print(f"{f'{name}: made or taken over':58s} {statistics.median(taken):6.2f} s   {TARGET}")


def sound(client) -> None:
    from django.core.files.uploadedfile import SimpleUploadedFile
    from django.urls import reverse

    from tests.factories import RoomFactory
    from tests.soundtests.readings import SOURCE, THIRDS, received

    room = RoomFactory()
    number = room.job.number
    row = ";".join(f"{level}" for level in received()).replace(".", ",")
    across = "\n".join(["Time;" + ";".join(map(str, THIRDS)), *(f"{n};{row}" for n in range(ROWS))]).encode("utf-16")
    down = "\n".join(
        ["Hz;L2", *(f"{THIRDS[n % len(THIRDS)]};{received()[n % len(THIRDS)]}" for n in range(ROWS))]
    ).encode()
    source = "\n".join(f"{b};{level}" for b, level in zip(THIRDS, SOURCE, strict=True)).encode()
    details = {
        "room": room.pk, "source_room": "Next door", "moment": "after", "measured_on": "2026-11-25",
        "measured_by": "Ada Holt", "volume_m3": "40", "assumed_reverberation_s": "0.5",
    }  # fmt: skip
    roles = {"file-0-role-0": "receiving", "file-1-role-0": "source"}

    def made(url: str) -> None:
        assert client.post(url, details | roles).status_code == 302

    for name, body in (("a meter's log, bands across", across), ("a meter's log, bands down", down)):

        def files(body=body) -> dict:
            sent = [SimpleUploadedFile("log.csv", body), SimpleUploadedFile("source.csv", source)]
            return {"basis": "standard", "kind": "airborne", "files": sent}

        steps_of(client, reverse("sound:read", args=[number]), files, made, name)


def prices(client) -> None:
    from django.core.files.uploadedfile import SimpleUploadedFile
    from django.urls import reverse

    from contractor.catalogue.models import Material, Supplier
    from contractor.catalogue.seeding import load_seed

    load_seed()
    supplier = Supplier.objects.create(name="Ashdown Boards")
    ours = list(Material.objects.exclude(kind="fabric"))
    for n, material in enumerate(ours[::2]):
        material.supplier, material.supplier_code = supplier, f"A{n}"
    Material.objects.bulk_update(ours, ["supplier", "supplier_code"])
    Material.objects.filter(supplier=None).update(supplier=supplier)
    text = "\n".join(
        ["Article no.;Description;Net price", *(f"A{n};Board {n} x {n % 40} grey;{n % 90},50" for n in range(ROWS))]
    )

    def sent() -> dict:
        return {"supplier": supplier.pk, "file": SimpleUploadedFile("list.csv", text.encode())}

    def take(url: str) -> None:
        found = client.get(url).context["found"]
        assert client.post(url, {"take": [change.key for change in found.new]}).status_code == 302

    steps_of(client, reverse("catalogue:price-list-read"), sent, take, "a supplier's price list")


def visits(client) -> None:
    from django.urls import reverse

    from contractor.accounts.models import User
    from contractor.jobs.models import Visit
    from contractor.weeks.services import calendar_link_make
    from tests.factories import JobFactory

    people = [
        User.objects.create(username=f"p{n}", first_name=f"P{n}", last_name="Holt", role="fitter") for n in range(10)
    ]
    monday = date.today() - timedelta(days=date.today().weekday())
    jobs = JobFactory.create_batch(50)
    made = Visit.objects.bulk_create(
        Visit(job=jobs[n % 50], on_date=monday + timedelta(days=n // 25), purpose="survey", hours=Decimal(1))
        for n in range(ROWS)
    )
    Visit.people.through.objects.bulk_create(
        Visit.people.through(visit_id=visit.pk, user_id=people[n % 10].pk) for n, visit in enumerate(made)
    )
    print(f"\n{ROWS:,} visits of ten people, 25 a day")
    told("the week, 125 visits or more", lambda: client.get(reverse("weeks:week")).content)
    told("the diary of four weeks", lambda: client.get(reverse("jobs:diary")).content)
    token = calendar_link_make(person=people[0])
    told(
        "the calendar feed of one person, a year and more",
        lambda: client.get(reverse("weeks:feed", args=[token])).content,
    )


def main() -> None:
    import django

    django.setup()
    from django.conf import settings
    from django.test import Client
    from django.test.utils import get_runner

    from tests.factories import UserFactory

    runner = get_runner(settings)(verbosity=0, interactive=False)
    runner.setup_test_environment()
    made_databases = runner.setup_databases()
    try:
        client = Client()
        client.force_login(UserFactory(role="office"), backend="django.contrib.auth.backends.ModelBackend")
        sound(client)
        prices(client)
        visits(client)
    finally:
        runner.teardown_databases(made_databases)


if __name__ == "__main__":
    main()
