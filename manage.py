#!/usr/bin/env python3
"""Runs the project's commands. `up` and `test` also make their own environment: see contractor/bootstrap.py."""

import os
import sys


def main() -> None:
    if sys.argv[1:2] in (["up"], ["test"]):
        from contractor.bootstrap import run

        sys.exit(run(sys.argv[1], sys.argv[2:]))
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "contractor.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
