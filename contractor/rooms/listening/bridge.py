"""The engine's files, kept on disk under the hash of all that they are made from."""

import hashlib
import json
import os
import tempfile
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

from django.conf import settings

from acoustics import InputError
from acoustics.listen import LISTEN_VERSION, REFERENCE, reference_levels_db, wav

FOLDER = "listening"
MOST_KEPT = 800  # files of a quarter of a megabyte; the longest unplayed go first


class CannotPlay(ValueError):
    """No file can be made of it: it would be louder than the scale of the files holds, or it is no noise we make."""


def played(noise: str, levels_db: Sequence[float]) -> bytes:
    """The WAV file of a noise at its levels by band, at the ear. Raises CannotPlay."""
    path = _path(noise, levels_db)
    with suppress(FileNotFoundError):
        os.utime(path)
        return path.read_bytes()
    try:
        body = wav(noise, levels_db)
    except InputError as error:
        raise CannotPlay(str(error)) from error
    _keep(path, body)
    return body


def reference() -> bytes:
    """Somebody talking at ordinary strength a metre away: what the level is set by."""
    return played(REFERENCE, [round(float(level), 1) for level in reference_levels_db()])


def _path(noise: str, levels_db: Sequence[float]) -> Path:
    made_from = json.dumps([LISTEN_VERSION, noise, [round(float(level), 1) for level in levels_db]])
    return Path(settings.MEDIA_ROOT) / FOLDER / f"{hashlib.sha256(made_from.encode()).hexdigest()}.wav"


def _keep(path: Path, body: bytes) -> None:
    """Whole or not at all: written beside its place and moved there, so that nobody reads half of it."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent, suffix=".part")
    with os.fdopen(handle, "wb") as file:
        file.write(body)
    os.replace(name, path)
    files = sorted(path.parent.glob("*.wav"), key=_last_played)
    for old in files[:-MOST_KEPT]:
        old.unlink(missing_ok=True)


def _last_played(path: Path) -> float:
    try:
        return path.stat().st_mtime
    except FileNotFoundError:
        return 0.0
