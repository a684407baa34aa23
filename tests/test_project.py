"""What must hold of the project as a whole."""

import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import call_command

ROOT = Path(__file__).resolve().parent.parent
TOP = {"README.md", "DEVELOPERS.md", "manage.py", "requirements.txt", "contractor", "acoustics", "templates", "static", "tests", "pyproject.toml"}  # fmt: skip


def test_the_top_level_holds_what_it_should():
    made_here = {"staticfiles", "media"}
    names = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert names - made_here == TOP


@pytest.mark.django_db
def test_models_and_migrations_agree():
    call_command("makemigrations", check=True, dry_run=True, verbosity=0)


def test_a_real_installation_passes_the_deployment_check(tmp_path):
    """Django's own list of what a public site must set, with HTTPS on and no demo."""
    environment = {
        "SECRET_KEY": "".join(chr(33 + n % 90) for n in range(7, 77)),
        "HTTPS": "1",
        "DEMO": "0",
        "DATABASE_URL": f"sqlite:///{tmp_path / 'firm.sqlite3'}",
        "ALLOWED_HOSTS": "quiet.example",
        "PATH": "/usr/bin:/bin",
    }
    command = [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"]
    done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


def test_settings_refuse_a_missing_key(tmp_path):
    command = [sys.executable, "-c", "import contractor.settings"]
    done = subprocess.run(command, cwd=ROOT, env={"SECRET_KEY": "short"}, capture_output=True, text=True)
    assert "Set SECRET_KEY" in done.stderr


@pytest.mark.parametrize("words", [["check"], ["format", "--check"]])
def test_the_code_is_in_the_house_style(words):
    done = subprocess.run([sys.executable, "-m", "ruff", *words, "."], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
