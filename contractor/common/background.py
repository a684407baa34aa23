"""Work outside the request: `later(task, ...)`, and the backend that runs it inside the app's own processes.

A firm's server sets `TASKS=database` and runs `manage.py db_worker`; the demo and small installations need nothing. Work
that is lost with its process (a restart) must be found again by whoever asked for it: tasks are safe to run twice.
"""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from functools import cache, partial
from threading import Timer
from typing import Any

from django.db import connections, transaction
from django.utils import timezone
from django_tasks import TaskResult, TaskResultStatus
from django_tasks.backends.immediate import ImmediateBackend
from django_tasks.base import Task
from django_tasks.utils import get_random_id

THREADS = 2  # one long take-off does not hold up the mail


def later(task: Task, *args: Any, delay: timedelta | None = None) -> None:
    """Run the task once what is being written now is committed, after `delay` at the earliest.

    Arguments are what JSON holds. Where a backend cannot wait (the tests' one), a delayed task is left to whatever
    looks for unfinished work.
    """
    if delay and not task.get_backend().supports_defer:
        return
    due = task.using(run_after=timezone.now() + delay) if delay else task
    after_commit(partial(due.enqueue, *args))


def after_commit(run: partial) -> None:
    transaction.on_commit(run, robust=True)


@cache
def _threads() -> ThreadPoolExecutor:
    """Made at the first use, so that each process of the server has its own."""
    return ThreadPoolExecutor(max_workers=THREADS, thread_name_prefix="task")


class InProcessBackend(ImmediateBackend):
    """Runs tasks one after the other on a few threads of this process, which ends when they are done."""

    supports_defer = True
    supports_async_task = False
    supports_priority = False

    def enqueue(self, task: Task, args: tuple, kwargs: dict) -> TaskResult:
        self.validate_task(task)
        result = TaskResult(
            task=task,
            id=get_random_id(),
            status=TaskResultStatus.READY,
            enqueued_at=None,
            started_at=None,
            last_attempted_at=None,
            finished_at=None,
            args=args,
            kwargs=kwargs,
            backend=self.alias,
            errors=[],
            worker_ids=[],
        )
        wait_s = (task.run_after - timezone.now()).total_seconds() if task.run_after else 0
        if wait_s > 0:
            timer = Timer(wait_s, _threads().submit, (self._run, result))
            timer.daemon = True
            timer.start()
        else:
            _threads().submit(self._run, result)
        return result

    def _run(self, result: TaskResult) -> None:
        try:
            self._execute_task(result)
        finally:
            connections.close_all()  # this thread's own
