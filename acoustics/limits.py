"""One sentence on what limits a room: the way in that carries the most, and how far the separating surface alone can go."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .bands import a_weighted_shares
from .paths import Path
from .ratings import airborne_weighted_db
from .room_inputs import ReceivingRoom


def standardized_db(factor: np.ndarray, room: ReceivingRoom) -> np.ndarray:
    """D_nT = R' + 10 lg(0.32 V / S) (ISO 12354-1, 4.1)."""
    return -10.0 * np.log10(factor) + 10.0 * np.log10(0.32 * room.volume_m3 / room.separating_area_m2)


def limit_sentence(paths: Sequence[Path], room: ReceivingRoom, before_db: int, after_db: int) -> str:
    """What limits the result now. `before_db` and `after_db` are the weighted level differences of the room."""
    wall = f"the {room.called}"
    name, share = _leading(paths, room)
    gain = after_db - before_db
    most = _most_db(paths, room, before_db)
    if most is None:
        told = f"The {room.called} alone lets the sound in: no other way in is described, so nothing else limits it"
        return f"{told}; the treatment gains {gain} dB." if _is_treated(paths) else f"{told}."
    if name is None:
        verb = "still carries" if _is_treated(paths) else "carries"
        told = f"The {room.called} itself {verb} the most ({share:.0f} %{_worst_patch(paths, room)})"
    else:
        told = f"{name[:1].upper()}{name[1:]} carries more than {wall} ({share:.0f} %)"
    if most <= 0 and not _is_treated(paths):
        return f"{told}: nothing done to {wall} alone would raise the rating."
    if most <= 0:
        return f"{told}: alone, nothing done to {wall} would have raised the rating; everything that is done gains {gain} dB."
    if not _is_treated(paths):
        return f"{told}: whatever is done to {wall} alone gains at most {most} dB."
    if not any(p.kind == "direct" and _changes(p) for p in paths):
        return f"{told}: what is done gains {gain} dB, and nothing done to {wall} alone could gain more than {most}."
    alone = _gain_db(_with_only_the_wall_treated(paths), room, before_db)
    tail = f"; everything that is done gains {gain}" if gain != alone else ""
    return f"{told}: the lining alone gains {alone} dB, at most {most}{tail}."


def _changes(path: Path) -> bool:
    return not np.array_equal(path.before, path.after)


def _is_treated(paths: Sequence[Path]) -> bool:
    return any(_changes(path) for path in paths)


def _on_wall(path: Path) -> bool:
    """Whether the sound leaves through the separating surface, so that a lining on it helps."""
    return path.kind in ("direct", "Fd")


def _energies(paths: Sequence[Path], room: ReceivingRoom) -> np.ndarray:
    """What each path carries after treatment, A-weighted: as it is where nothing is built."""
    return np.stack([path.after for path in paths]) @ a_weighted_shares(room.spectrum)


def _leading(paths: Sequence[Path], room: ReceivingRoom) -> tuple[str | None, float]:
    """The way in that carries the most, and its share in per cent; None for the separating surface. The routes over one
    junction count together, and so do the patches of the surface."""
    sums: dict[str | None, float] = {}
    for path, energy in zip(paths, _energies(paths, room).tolist(), strict=True):
        key = None if path.kind == "direct" else path.group
        sums[key] = sums.get(key, 0.0) + energy
    name = max(sums, key=lambda key: sums[key])
    return name, 100.0 * sums[name] / sum(sums.values())


def _worst_patch(paths: Sequence[Path], room: ReceivingRoom) -> str:
    """Which patch of several lets the most through."""
    direct = [(e, p.name) for e, p in zip(_energies(paths, room).tolist(), paths, strict=True) if p.kind == "direct"]
    return f", above all {max(direct)[1]}" if len(direct) > 1 else ""


def _most_db(paths: Sequence[Path], room: ReceivingRoom, before_db: int) -> int | None:
    """Gain in dB if nothing came through the separating surface any more; None where there is no other way in."""
    others = sum((p.before for p in paths if not _on_wall(p)), np.zeros(21))
    return max(_gain_db(others, room, before_db), 0) if np.any(others) else None


def _with_only_the_wall_treated(paths: Sequence[Path]) -> np.ndarray:
    return sum((p.after if _on_wall(p) else p.before for p in paths), np.zeros(21))


def _gain_db(factor: np.ndarray, room: ReceivingRoom, before_db: int) -> int:
    """Gain of the weighted level difference in dB if only these factors (21,) were left."""
    return int(airborne_weighted_db(standardized_db(np.maximum(factor, 1e-20), room))) - before_db
