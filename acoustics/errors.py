"""Bad input and remarks: one error type that names the field, and notices that travel with results."""

from __future__ import annotations

import contextlib
import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

SMALLEST = 1e-9


class InputError(ValueError):
    """A value the engine cannot use; `field` is the path to it, e.g. ``gaps[0].depth_mm``."""

    def __init__(self, field: str, message: str) -> None:
        super().__init__(f"{field}: {message}" if field else message)
        self.field = field
        self.message = message

    def within(self, prefix: str) -> InputError:
        """The same error seen from the object that holds the field."""
        joint = "" if not self.field or self.field.startswith("[") else "."
        return InputError(f"{prefix}{joint}{self.field}", self.message)


@dataclass(frozen=True, kw_only=True)
class Notice:
    """A remark on a result: `code` is stable for programs, `text` is for people."""

    code: str
    text: str


@contextlib.contextmanager
def inside(prefix: str) -> Iterator[None]:
    """Put `prefix` before the field of any InputError raised within."""
    try:
        yield
    except InputError as error:
        raise error.within(prefix) from None


def finite(field: str, value: object) -> float:
    """The value as a float, or an InputError if it is no finite number."""
    if isinstance(value, bool) or value is None:
        raise InputError(field, "must be a number")
    try:
        number = float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError):
        raise InputError(field, "must be a number") from None
    except OverflowError:
        raise InputError(field, "must be a finite number") from None
    if not math.isfinite(number):
        raise InputError(field, "must be a finite number")
    return number


def between(field: str, value: object, low: float, high: float, *, open_low: bool = False) -> float:
    """The value as a float inside [low, high], or ]low, high] when `open_low`."""
    number = finite(field, value)
    if open_low and number <= low:
        raise InputError(field, f"must be more than {low:g}")
    if number < low:
        raise InputError(field, f"must be at least {low:g}")
    if number > high:
        raise InputError(field, f"must be at most {high:g}")
    return number


def positive(field: str, value: object, high: float = 1e12) -> float:
    """The value as a float above zero, and not so near it that dividing by it leaves no number."""
    between(field, value, 0.0, high, open_low=True)
    return between(field, value, SMALLEST, high)


def one_of(field: str, value: object, choices: Iterable[str]) -> str:
    """The value, which must be one of `choices`."""
    known = list(choices)
    if value not in known:
        raise InputError(field, f"unknown {value!r}; use one of {', '.join(known)}")
    return str(value)


def numbers(field: str, values: object, low: float = -1e6, high: float = 1e6) -> tuple[float, ...]:
    """A sequence of finite numbers within [low, high]."""
    if isinstance(values, (str, bytes, dict)) or not hasattr(values, "__iter__"):
        raise InputError(field, "must be a list of numbers")
    return tuple(between(f"{field}[{i}]", v, low, high) for i, v in enumerate(values))  # type: ignore[attr-defined]
