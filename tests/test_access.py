"""Every address of the app, tried by nobody, a fitter, the office and the owner, against the table below.

A new address fails the first test until it has a row. A row is

    "app:name": Row(KEYS, STATUSES)              for a page that is read (GET)
    "app:name": Row(KEYS, STATUSES, post={...})  for an address that only takes a POST, with the data posted

KEYS is a function of `World` to the keys in the address (NO_KEYS where there are none); a thing that a row needs is a
cached property of World. STATUSES are those of nobody, fitter, office and owner in that order; a stranger's 302 must
lead to the sign-in page.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import pytest
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from contractor.jobs.services import noise_save
from tests import factories

ROLES = ("nobody", "fitter", "office", "owner")


class World:
    """What the addresses need, made when first asked for."""

    @cached_property
    def job(self):
        return factories.JobFactory()

    @cached_property
    def noise(self):
        return noise_save(job=self.job, kind="dog")

    @cached_property
    def visit(self):
        return factories.VisitFactory(job=self.job)

    @cached_property
    def person(self):
        return factories.UserFactory()

    @cached_property
    def room(self):
        return factories.RoomFactory(job=self.job)

    @cached_property
    def surface(self):
        return factories.SurfaceFactory(room=self.room)

    @cached_property
    def patch(self):
        return factories.PatchFactory(surface=self.surface, is_rest=False, width_mm=900, height_mm=2400)

    @cached_property
    def opening(self):
        return factories.OpeningFactory(surface=self.surface)

    @cached_property
    def side_path(self):
        return factories.SidePathFactory(room=self.room)


@dataclass(frozen=True)
class Row:
    keys: Callable[[World], dict]
    statuses: tuple[int, int, int, int]
    post: dict | None = None


def NO_KEYS(world):
    return {}


def job_number(world):
    return {"number": world.job.number}


def customer_id(world):
    return {"customer_id": world.job.property.customer_id}


def room_id(world):
    return {"room_id": world.room.pk}


def surface_id(world):
    return {"surface_id": world.surface.pk}


PUBLIC = (200, 200, 200, 200)
SIGNED_IN = (302, 200, 200, 200)
OFFICE = (302, 403, 200, 200)
OWNER = (302, 403, 403, 200)
# What a POST that succeeds answers: it leads on.
OFFICE_ACTS = (302, 403, 302, 302)

TABLE: dict[str, Row] = {
    "home": Row(NO_KEYS, (302, 302, 302, 302)),
    "healthz": Row(NO_KEYS, PUBLIC),
    # accounts
    "accounts:sign-in": Row(NO_KEYS, (200, 302, 302, 302)),
    "accounts:sign-out": Row(NO_KEYS, (302, 302, 302, 302), post={}),
    "accounts:me": Row(NO_KEYS, SIGNED_IN),
    "accounts:firm": Row(NO_KEYS, OFFICE),
    "accounts:people": Row(NO_KEYS, OWNER),
    "accounts:person-new": Row(NO_KEYS, OWNER),
    "accounts:person": Row(lambda w: {"person_id": w.person.pk}, OWNER),
    "accounts:person-password": Row(lambda w: {"person_id": w.person.pk}, OWNER, post={}),
    "accounts:record": Row(NO_KEYS, OWNER),
    # customers
    "customers:list": Row(NO_KEYS, OFFICE),
    "customers:new": Row(NO_KEYS, OFFICE),
    "customers:customer": Row(customer_id, OFFICE),
    "customers:edit": Row(customer_id, OFFICE),
    "customers:property-new": Row(customer_id, OFFICE),
    "customers:property-edit": Row(lambda w: {"property_id": w.job.property_id}, OFFICE),
    # jobs
    "jobs:list": Row(NO_KEYS, OFFICE),
    "jobs:new": Row(NO_KEYS, OFFICE),
    "jobs:job": Row(job_number, OFFICE),
    "jobs:edit": Row(job_number, OFFICE),
    "jobs:stage": Row(job_number, OFFICE_ACTS, post={"to_stage": "surveyed"}),
    "jobs:noise-new": Row(job_number, OFFICE),
    "jobs:noise": Row(lambda w: job_number(w) | {"noise_id": w.noise.pk}, OFFICE),
    "jobs:noise-delete": Row(lambda w: job_number(w) | {"noise_id": w.noise.pk}, OFFICE_ACTS, post={}),
    "jobs:gate": Row(lambda w: job_number(w) | {"kind": "asbestos"}, OFFICE),
    "jobs:programme": Row(job_number, OFFICE),
    "jobs:visit-new": Row(job_number, OFFICE),
    "jobs:visit": Row(lambda w: job_number(w) | {"visit_id": w.visit.pk}, OFFICE),
    "jobs:visit-delete": Row(lambda w: job_number(w) | {"visit_id": w.visit.pk}, OFFICE_ACTS, post={}),
    "jobs:diary": Row(NO_KEYS, OFFICE),
    # rooms: the survey
    "rooms:survey": Row(job_number, OFFICE),
    "rooms:room-new": Row(job_number, OFFICE),
    "rooms:room": Row(room_id, OFFICE),
    "rooms:room-edit": Row(room_id, OFFICE),
    "rooms:room-delete": Row(room_id, OFFICE_ACTS, post={}),
    "rooms:surface-new": Row(room_id, OFFICE),
    "rooms:surface": Row(surface_id, OFFICE),
    "rooms:surface-delete": Row(surface_id, OFFICE_ACTS, post={}),
    "rooms:patch-new": Row(surface_id, OFFICE),
    "rooms:patch": Row(lambda w: {"patch_id": w.patch.pk}, OFFICE),
    "rooms:patch-delete": Row(lambda w: {"patch_id": w.patch.pk}, OFFICE_ACTS, post={}),
    "rooms:opening-new": Row(surface_id, OFFICE),
    "rooms:opening": Row(lambda w: {"opening_id": w.opening.pk}, OFFICE),
    "rooms:opening-delete": Row(lambda w: {"opening_id": w.opening.pk}, OFFICE_ACTS, post={}),
    "rooms:side-path-new": Row(room_id, OFFICE),
    "rooms:side-path": Row(lambda w: {"path_id": w.side_path.pk}, OFFICE),
    "rooms:side-path-delete": Row(lambda w: {"path_id": w.side_path.pk}, OFFICE_ACTS, post={}),
}


def names(patterns=None, prefix="") -> list[str]:
    """The full names of all URL patterns."""
    collected = []
    for pattern in get_resolver().url_patterns if patterns is None else patterns:
        if isinstance(pattern, URLResolver):
            inner = f"{prefix}{pattern.namespace}:" if pattern.namespace else prefix
            collected += names(pattern.url_patterns, inner)
        else:
            assert isinstance(pattern, URLPattern)
            collected.append(f"{prefix}{pattern.name}")
    return collected


def test_the_table_and_the_addresses_agree():
    assert sorted(TABLE) == sorted(names())


@pytest.fixture
def clients(stranger, fitter, office, owner):
    return dict(zip(ROLES, (stranger, fitter, office, owner), strict=True))


@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize("name", TABLE)
def test_each_role_gets_what_the_table_says(name, role, clients):
    row = TABLE[name]
    url, client = reverse(name, kwargs=row.keys(World())), clients[role]

    response = client.get(url) if row.post is None else client.post(url, row.post)

    assert response.status_code == row.statuses[ROLES.index(role)], f"{role} at {url}"
    if row.statuses == SIGNED_IN or row.statuses[1:] in (OFFICE[1:], OWNER[1:], OFFICE_ACTS[1:]):
        assert role != "nobody" or response.url == f"/sign-in/?next={url}"


@pytest.mark.parametrize("role", ROLES[:3])
@pytest.mark.parametrize("name", [name for name, row in TABLE.items() if row.post is None])
def test_who_may_not_read_a_page_may_not_post_to_it(name, role, clients):
    row = TABLE[name]
    expected = row.statuses[ROLES.index(role)]
    if expected not in (302, 403, 404):
        pytest.skip("open to this role")
    response = clients[role].post(reverse(name, kwargs=row.keys(World())), {})
    assert response.status_code in (expected, 405)
