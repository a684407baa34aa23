"""The pages that a phone keeps for the days ahead. Apps with such pages name them."""

from collections.abc import Callable

from contractor.accounts.models import User

_makers: list[Callable[[User], list[str]]] = []


def add_pages(make: Callable[[User], list[str]]) -> None:
    """`make` gives the paths of a person's pages. Called from an app's ready()."""
    _makers.append(make)


def pages_for(person: User) -> list[str]:
    """Every path to keep, each once, in the order in which they are of use."""
    return list(dict.fromkeys(path for make in _makers for path in make(person)))
