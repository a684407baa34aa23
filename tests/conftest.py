"""The cast: an owner, an office hand, a fitter and a stranger; a query counter; and a browser on this machine."""

import os

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from contractor.accounts.models import Role
from tests.factories import UserFactory

BACKEND = "django.contrib.auth.backends.ModelBackend"


def signed_in(user) -> Client:
    client = Client()
    client.force_login(user, backend=BACKEND)
    client.user = user
    return client


@pytest.fixture
def owner(db):
    return signed_in(UserFactory(role=Role.OWNER))


@pytest.fixture
def office(db):
    return signed_in(UserFactory(role=Role.OFFICE))


@pytest.fixture
def fitter(db):
    return signed_in(UserFactory(role=Role.FITTER))


@pytest.fixture
def stranger(db):
    return Client()


@pytest.fixture
def count_queries():
    """count_queries(client, url) -> how many queries a successful GET makes."""

    def count(client: Client, url: str) -> int:
        with CaptureQueriesContext(connection) as queries:
            response = client.get(url)
        assert response.status_code == 200, (url, response.status_code)
        return len(queries)

    return count


@pytest.fixture(autouse=True)
def tasks_do_not_wait_for_the_commit(request, monkeypatch):
    """A test that is rolled back never commits: there, what waits for the commit runs at once."""
    marker = request.node.get_closest_marker("django_db")
    commits = (marker and marker.kwargs.get("transaction")) or {"live_server", "transactional_db"} & set(
        request.fixturenames
    )
    if not commits:
        monkeypatch.setattr("contractor.common.background.after_commit", lambda run: run())


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args):
    flags = [
        "--no-sandbox",
        "--disable-gpu",
        "--disable-quic",
        "--no-first-run",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
    ]
    path = os.environ.get("CHROMIUM", "/usr/bin/chromium")
    return {**browser_type_launch_args, "executable_path": path, "headless": True, "args": flags}
