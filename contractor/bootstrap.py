"""The README's two commands, on nothing but the standard library: `manage.py up` and `manage.py test`.

Both make .venv beside this project when it is missing, install the locked requirements when they have changed,
and name the Debian packages that a bare machine lacks (as root they install them).
"""

import hashlib
import importlib
import os
import secrets
import shutil
import subprocess
import sys
import venv
from ctypes.util import find_library
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
PYTHON = VENV / "bin" / "python"
LOCAL = ROOT / ".local"
PDF = {"pango-1.0": "libpango-1.0-0", "pangoft2-1.0": "libpangoft2-1.0-0", "harfbuzz-subset": "libharfbuzz-subset0"}


def run(command: str, arguments: list[str]) -> int:
    """Bring up the demo or run the tests; returns the exit code."""
    if sys.version_info < (3, 11):  # noqa: UP036  (an older Python gets this far)
        print(f"Python 3.11 or newer is needed; this is {sys.version.split()[0]}.")
        return 1
    return {"up": up, "test": test}[command](arguments)


def up(arguments: list[str]) -> int:
    """Make the environment, the database and the demo, then serve. `arguments`: optionally address:port."""
    address = arguments[0] if arguments else "127.0.0.1:8000"
    lacking = _missing_packages(browser=False)
    if lacking and not _install_packages(lacking):
        print(f"Without them everything works except PDFs: apt-get install {' '.join(lacking)}\n")
    if not _environment("requirements.txt"):
        return 1
    _write_local_settings(address)
    code = subprocess.call([PYTHON, "manage.py", "load_demo"], cwd=ROOT)
    if code:
        return code
    print(f"Serving on http://{address} — stop with Ctrl+C.", flush=True)
    server = [str(PYTHON), "-m", "gunicorn", "contractor.wsgi", "--bind", address, "--workers", "2", "--threads", "4"]
    server += ["--no-control-socket", "--log-level", "warning"]
    os.chdir(ROOT)
    os.execv(server[0], server)


def test(arguments: list[str]) -> int:
    """Install what the tests need, the browser included, and run them all. `arguments` go to pytest."""
    lacking = _missing_packages(browser=True)
    if lacking and not _install_packages(lacking):
        print(f"The tests need these Debian packages: apt-get install {' '.join(lacking)}")
        return 1
    if not _environment("tests/requirements.txt"):
        return 1
    LOCAL.mkdir(exist_ok=True)
    return subprocess.call([PYTHON, "-m", "pytest", *arguments], cwd=ROOT)


def _missing_packages(*, browser: bool) -> list[str]:
    lacking = [package for library, package in PDF.items() if not find_library(library)]
    if not PYTHON.exists() and not _can_make_environments():
        lacking.append("python3-venv")
    if browser and not os.environ.get("CHROMIUM") and not shutil.which("chromium"):
        lacking.append("chromium")
    if browser and not find_library("atomic"):
        lacking.append("libatomic1")  # what drives the browser needs it
    return lacking


def _can_make_environments() -> bool:
    importlib.invalidate_caches()  # it may have been installed a moment ago
    try:
        import ensurepip  # noqa: F401
    except ImportError:
        return False
    return True


def _install_packages(packages: list[str]) -> bool:
    """As root on Debian, install them and say so; otherwise False."""
    if os.geteuid() != 0 or not shutil.which("apt-get"):
        print(f"This machine lacks the Debian packages {', '.join(packages)}.")
        return False
    print(f"Installing the Debian packages {', '.join(packages)} …", flush=True)
    quiet = {"stdout": subprocess.DEVNULL, "env": {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}}
    subprocess.call(["apt-get", "update"], **quiet)
    return subprocess.call(["apt-get", "install", "-y", "--no-install-recommends", *packages], **quiet) == 0


def _environment(requirements: str) -> bool:
    """Make .venv and bring it up to the lock; quick when nothing has changed."""
    if not PYTHON.exists():
        if not _can_make_environments():
            print("Python cannot make environments here: apt-get install python3-venv")
            return False
        print("Making the Python environment in .venv …", flush=True)
        venv.create(VENV, with_pip=True)
    stamp = VENV / ("installed-" + requirements.replace("/", "-"))
    wanted = hashlib.sha256((ROOT / requirements).read_bytes()).hexdigest()
    if stamp.exists() and stamp.read_text() == wanted:
        return True
    print(f"Installing the locked packages of {requirements} …", flush=True)
    pip = [PYTHON, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--require-hashes"]
    if subprocess.call([*pip, "-r", requirements], cwd=ROOT):
        return False
    stamp.write_text(wanted)
    return True


def _write_local_settings(address: str) -> None:
    """The demo's own secret and settings, made once for this installation and readable by its user alone."""
    file = LOCAL / "env"
    if file.exists():
        return
    LOCAL.mkdir(exist_ok=True)
    file.touch(mode=0o600)
    file.write_text(f"DEMO=1\nSECRET_KEY={secrets.token_urlsafe(48)}\nSITE_URL=http://{address}\n")
