"""Work outside the request: in this process, and by a worker on the database."""

import threading
from datetime import timedelta

import pytest
from django.core.management import call_command
from django.db import transaction
from django_tasks import task

from contractor.accounts.models import User
from contractor.common.background import _threads, later
from tests.factories import UserFactory

DONE = threading.Event()
RAN_ON: list[str] = []


@task
def rename(pk: int, name: str) -> None:
    RAN_ON.append(threading.current_thread().name)
    User.objects.filter(pk=pk).update(first_name=name)
    DONE.set()


@task
def fail() -> None:
    raise ValueError("It went wrong.")


@pytest.fixture(autouse=True)
def nothing_ran_yet():
    DONE.clear()
    RAN_ON.clear()
    yield
    finish()


def finish() -> None:
    """Let the threads finish and close their connections."""
    _threads().shutdown(wait=True)
    _threads.cache_clear()


def use(settings, backend: str) -> None:
    settings.TASKS = {"default": {"BACKEND": settings.TASK_BACKENDS[backend]}}


@pytest.mark.django_db(transaction=True)
def test_in_process_runs_on_a_thread_of_its_own_after_the_commit(settings):
    use(settings, "in-process")
    user = UserFactory()
    with transaction.atomic():
        later(rename, user.pk, "Ada")
        assert not DONE.wait(0.2)
    assert DONE.wait(10)
    assert threading.current_thread().name not in RAN_ON
    finish()
    user.refresh_from_db()
    assert user.first_name == "Ada"


@pytest.mark.django_db(transaction=True)
def test_nothing_runs_when_what_asked_for_it_is_undone(settings):
    use(settings, "in-process")
    with pytest.raises(RuntimeError), transaction.atomic():
        later(rename, UserFactory().pk, "Ada")
        raise RuntimeError
    assert not DONE.wait(0.2)


@pytest.mark.django_db(transaction=True)
def test_in_process_waits_and_outlives_a_failure(settings):
    use(settings, "in-process")
    later(fail)
    later(rename, UserFactory().pk, "Ada", delay=timedelta(milliseconds=300))
    assert not DONE.wait(0.1)
    assert DONE.wait(10)


@pytest.mark.django_db(transaction=True)
def test_a_worker_on_the_database_runs_it(settings):
    use(settings, "database")
    user = UserFactory()
    later(rename, user.pk, "Ada")
    later(rename, user.pk, "Too early", delay=timedelta(hours=1))
    assert not DONE.is_set()
    call_command("db_worker", "--batch", "--no-startup-delay", "--interval", "0")
    user.refresh_from_db()
    assert user.first_name == "Ada"


def test_tests_run_tasks_at_once(db):
    user = UserFactory()
    later(rename, user.pk, "Ada")
    user.refresh_from_db()
    assert user.first_name == "Ada"
