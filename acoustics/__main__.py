"""``python -m acoustics VERB``: one JSON object on standard input, one on standard output."""

from __future__ import annotations

import json
import sys

from .door import VERBS
from .errors import InputError

USAGE = f"usage: python -m acoustics {{{'|'.join(VERBS)}}} < input.json\n       python -m acoustics schema VERB"


def _refuse(field: str, message: str) -> int:
    print(json.dumps({"error": {"field": field, "message": message}}), file=sys.stderr)
    return 2


def _no_constant(name: str) -> float:
    raise InputError("", f"{name} is no JSON number")


def main(arguments: list[str]) -> int:
    """Run one verb; 0 on success, 2 on bad input with the error as JSON on standard error."""
    if len(arguments) == 2 and arguments[0] == "schema" and arguments[1] in VERBS:
        from .schema import schema_of

        print(json.dumps(schema_of(arguments[1]), indent=2))
        return 0
    if len(arguments) != 1 or arguments[0] not in VERBS:
        print(USAGE, file=sys.stderr)
        return 2
    try:
        data = json.load(sys.stdin, parse_constant=_no_constant)
    except InputError as error:
        return _refuse(error.field, error.message)
    except (json.JSONDecodeError, UnicodeDecodeError) as error:
        return _refuse("", f"input is not JSON: {error}")
    if not isinstance(data, dict):
        return _refuse("", "input must be one JSON object")
    try:
        result = VERBS[arguments[0]](data)
    except InputError as error:
        return _refuse(error.field, error.message)
    print(json.dumps(result, allow_nan=False))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
