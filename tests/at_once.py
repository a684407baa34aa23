"""Several people at the same moment."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any

from django.db import connection


def at_once(*actions: Callable[[], Any], refusals: tuple[type[Exception], ...] = ()) -> list[Any]:
    """Run each action in a thread of its own, all let go together; what each gave, in their order.

    An exception among `refusals` counts as what an action gave; any other fails the test.
    """
    gate = Barrier(len(actions))

    def run(action: Callable[[], Any]) -> Any:
        gate.wait()
        try:
            return action()
        except refusals as refusal:
            return refusal
        finally:
            connection.close()

    with ThreadPoolExecutor(len(actions)) as pool:
        return list(pool.map(run, actions))
