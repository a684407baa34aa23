"""The floors: imports point down, only the bridges know acoustics, views leave the database to selectors and services."""

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent

# What each package may import beside itself. A new app gets its own line.
MAY = {
    "acoustics": "",
    "common": "",
    "accounts": "common",
    "customers": "common accounts",
    "catalogue": "common accounts acoustics",
    "jobs": "common accounts customers",
    "mail": "common accounts customers jobs",
    "offcuts": "common accounts customers catalogue jobs",
    "site": "common accounts jobs",
    "rooms": "common accounts customers catalogue jobs offcuts acoustics",
    "quotes": "common accounts customers catalogue jobs mail offcuts rooms acoustics",
    "planning": "common accounts customers catalogue jobs offcuts rooms quotes",
    "orders": "common accounts customers catalogue jobs mail offcuts rooms quotes site fitting billing",
    "fitting": "common accounts customers catalogue jobs offcuts rooms quotes acoustics site",
    "weeks": "common accounts customers catalogue jobs rooms quotes orders",
    "soundtests": "common accounts customers catalogue jobs rooms quotes acoustics",
    "billing": "common accounts customers catalogue jobs mail rooms quotes site",
    "handover": "common accounts customers jobs rooms quotes site fitting billing soundtests",
    "learning": "common accounts customers catalogue jobs rooms quotes fitting site orders soundtests",
    "demo": "common accounts customers catalogue jobs mail offcuts rooms quotes orders fitting soundtests billing weeks site handover",
}
APPS = [home for home in MAY if home != "acoustics"]
# The front gate is named by nobody but the files that start the project.
GATE = {"settings", "urls", "wsgi", "bootstrap"}


def files(home: str) -> list[Path]:
    """The Python files of a package, migrations left out."""
    root = ROOT / home if home == "acoustics" else ROOT / "contractor" / home
    return [p for p in sorted(root.rglob("*.py")) if "migrations" not in p.parts]


def imports(source: str) -> Iterator[tuple[int, str]]:
    """(line, dotted name) of everything that a source imports, inside functions too."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield from ((node.lineno, f"{'.' * node.level}{node.module or ''}.{a.name}") for a in node.names)


def upward(home: str, source: str) -> list[tuple[int, str]]:
    """The imports of a source in package `home` that its floor does not allow."""
    allowed = {home, *MAY[home].split()}
    bad = []
    for line, name in imports(source):
        package = name.removeprefix("contractor.").split(".")[0]
        if (package in MAY and package not in allowed) or (name.startswith("contractor.") and package in GATE):
            bad.append((line, name))
    return bad


def found(home: str, look) -> list[str]:
    return [f"{p.relative_to(ROOT)}:{line} {name}" for p in files(home) for line, name in look(p)]


def test_every_package_has_its_line():
    apps = {p.parent.name for p in (ROOT / "contractor").glob("*/apps.py")}
    assert apps | {"acoustics"} == set(MAY)


@pytest.mark.parametrize("home", MAY)
def test_imports_point_down(home):
    assert found(home, lambda p: upward(home, p.read_text())) == []


@pytest.mark.parametrize(
    ("home", "source", "is_bad"),
    [
        ("customers", "from contractor.jobs.models import Job", True),
        ("customers", "def f():\n    import contractor.rooms", True),
        ("catalogue", "from contractor import customers", True),
        ("jobs", "from contractor.urls import urlpatterns", True),
        ("acoustics", "from contractor.common.forms import LengthField", True),
        ("jobs", "from contractor.customers.models import Property", False),
        ("rooms", "from django.urls import path", False),
    ],
)
def test_the_check_tells_good_from_bad(home, source, is_bad):
    assert bool(upward(home, source)) == is_bad


@pytest.mark.parametrize("home", APPS)
def test_imports_are_absolute(home):
    assert found(home, lambda p: [(line, n) for line, n in imports(p.read_text()) if n.startswith(".")]) == []


@pytest.mark.parametrize("home", APPS)
def test_only_bridges_import_acoustics(home):
    def look(path):
        is_bridge = path.stem == "bridge" or path.stem.startswith("bridge_")
        return [] if is_bridge else [(n, m) for n, m in imports(path.read_text()) if m.split(".")[0] == "acoustics"]

    assert found(home, look) == []


def test_acoustics_names_no_web_framework():
    assert found("acoustics", lambda p: [(n, m) for n, m in imports(p.read_text()) if m.startswith("django")]) == []


def test_importing_acoustics_loads_no_django():
    asked = "import acoustics, sys; print([m for m in sys.modules if m.split('.')[0] in ('django', 'contractor')])"
    said = subprocess.run([sys.executable, "-c", asked], cwd=ROOT, capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "[]"


@pytest.mark.parametrize("home", APPS)
def test_views_leave_the_database_to_selectors_and_services(home):
    def look(path):
        if path.stem != "views" and path.parent.name != "views":
            return []
        nodes = ast.walk(ast.parse(path.read_text()))
        return [(n.lineno, "objects") for n in nodes if isinstance(n, ast.Attribute) and n.attr == "objects"]

    assert found(home, look) == []
