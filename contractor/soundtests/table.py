"""A table of readings as a meter or a spreadsheet writes it: which separator, which decimal mark, which way
the bands run.

Nothing here knows of sound tests being kept: text in, columns and readings out. What cannot be read is refused with the
row it stands in, counted as the file counts its lines.
"""

import itertools
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from contractor.common.curves import OCTAVES_HZ
from contractor.common.tables import CannotRead, cells, number

THIRDS_HZ = (50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800)
THIRDS_HZ += (1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000)
NOMINAL_HZ = {12.5, 16, 20, 25, 31.5, 40, *THIRDS_HZ, 6300, 8000, 10000, 12500, 16000, 20000}
BOTH = {31.5, 63, 125, 250, 500, 1000, 2000, 4000, 8000, 16000, 16}

SOURCE, RECEIVING, BACKGROUND, REVERBERATION, IGNORE = "source", "receiving", "background", "reverberation", ""
HINTS = (
    (REVERBERATION, re.compile(r"\b(t ?20|t ?30|t ?60|rt|rev\w*|reverberation|t \(?s\)?)\b|^t$")),
    (BACKGROUND, re.compile(r"\b(back\w*|bg|b2|ambient|noise floor|lb)\b")),
    (RECEIVING, re.compile(r"\b(rec\w*|l2|li|receiv\w*|rx)\b")),
    (SOURCE, re.compile(r"\b(source|send\w*|l1|src|sr)\b")),
)
FEWEST_BANDS = 5
LOOK_AHEAD = 40


@dataclass(frozen=True, kw_only=True)
class Table:
    """`rows` keep the file's line numbers. `bands` are the frequencies in order: of the rows, or of the columns.

    Bands down the rows: `band_column` holds them, every other column is a quantity. Bands across: `band_columns` are
    (column, band), and what a row measures stands in a column of words, or is the same for the whole file.
    """

    header: list[str]
    rows: list[tuple[int, list[str]]]
    is_across: bool
    band_column: int = 0
    band_columns: list[tuple[int, float]] = field(default_factory=list)
    skipped: list[tuple[int, str]] = field(default_factory=list)

    @property
    def columns(self) -> list[int]:
        """Columns that may hold a quantity."""
        used = {self.band_column} if not self.is_across else {column for column, _ in self.band_columns}
        return [n for n in range(len(self.header)) if n not in used]


def read_table(text: str) -> Table:
    """Find the bands and the columns in `text`. Raises CannotRead."""
    lines = cells(text)
    return _across(lines) or _down(lines) or _no_bands()


_FREQUENCY = re.compile(r"(?:^|[^\d.,])(\d+(?:[.,]\d+)?) ?(k)?(?:hz)?$", re.IGNORECASE)


def frequency(text: str) -> float | None:
    """The nominal band that a cell names: 125, "125.9 Hz", "1k", "1,25 kHz", "L 125Hz"; None where it names none."""
    found = _FREQUENCY.search(text.strip())
    if not found:
        return None
    value = float(found[1].replace(",", ".")) * (1000 if found[2] else 1)
    return next((nominal for nominal in NOMINAL_HZ if abs(nominal - value) <= 0.015 * nominal), None)


def _rising(values: Sequence[float]) -> bool:
    return all(a < b for a, b in itertools.pairwise(values))


def _across(lines) -> Table | None:
    for place, (_, row) in enumerate(lines[:LOOK_AHEAD]):
        named = [(column, band) for column, cell in enumerate(row) if (band := frequency(cell)) is not None]
        if len(named) >= FEWEST_BANDS and _rising([band for _, band in named]):
            body, skipped = _body(lines[place + 1 :], [column for column, _ in named])
            width = max([len(row), *(len(r) for _, r in body)])
            header = row + [""] * (width - len(row))
            skipped = [(n, " ".join(filter(None, r))[:60]) for n, r in lines[:place]] + skipped
            return Table(header=header, rows=body, is_across=True, band_columns=named, skipped=skipped)
    return None


def _body(lines, wanted: list[int]) -> tuple[list, list]:
    """The rows with a reading in any wanted column, and those without: units, notes, blank ends."""
    body, skipped = [], []
    for n, row in lines:
        if any(column < len(row) and number(row[column]) is not None for column in wanted):
            body.append((n, row))
        else:
            skipped.append((n, " ".join(filter(None, row))[:60]))
    return body, skipped


def _down(lines) -> Table | None:
    width = max(len(row) for _, row in lines)
    best: tuple[int, int] = (0, 0)
    for column in range(min(width, LOOK_AHEAD)):
        bands = {frequency(row[column]) for _, row in lines if column < len(row)} - {None}
        best = max(best, (len(bands), -column))
    column = -best[1]
    if best[0] < FEWEST_BANDS:
        return None
    is_band = [len(row) > column and frequency(row[column]) is not None for _, row in lines]
    first = is_band.index(True)
    titles = [row for _, row in lines[:first] if sum(map(bool, row)) > 1]
    header = titles[0] if titles else []
    header = header + [""] * (width - len(header))
    body = [line for line, is_one in zip(lines, is_band, strict=True) if is_one]
    left = [(n, " ".join(filter(None, r))[:60]) for (n, r), is_one in zip(lines, is_band, strict=True) if not is_one]
    skipped = [(n, words) for n, words in left if words != " ".join(filter(None, header))[:60]]
    return Table(header=header, rows=body, is_across=False, band_column=column, skipped=skipped)


def _no_bands():
    raise CannotRead(
        "No frequencies found. Either one column holds them (100, 125, 160 … one band in each row), or the line above"
        " the readings does (one band in each column)."
    )


def guess(words: str) -> str:
    """The quantity that a column's title or a row's words speak of, or none."""
    plain = re.sub(r"[_\-/]+", " ", words.lower())
    return next((role for role, hint in HINTS if hint.search(plain)), IGNORE)


def words_columns(table: Table, most: int = 12) -> list[tuple[int, list[str]]]:
    """For bands across: the columns of words that may say what each row measured, each with its different words."""
    found = []
    for column in table.columns:
        words = list(dict.fromkeys(row[column] for _, row in table.rows if column < len(row)))
        if 1 < len(words) <= most and any(number(word) is None for word in words):
            found.append((column, words))
    return sorted(found, key=lambda one: -sum(bool(guess(word)) for word in one[1]))


@dataclass(frozen=True, kw_only=True)
class Readings:
    """Bands in Hz and, by quantity, positions of levels in dB (times in s), each as long as the bands; `lines` are the
    lines of the file that each position stands in, one for all its bands or one for each."""

    bands_hz: list[int]
    positions: dict[str, list[list[float]]]
    lines: dict[str, list[list[int]]]


def pick_down(table: Table, roles: Mapping[int, str]) -> Readings:
    """Readings of a table with bands down its rows; `roles` by column. A band met again begins a further position.

    Raises CannotRead with the row and column of a cell that is no number.
    """
    wanted = {column: role for column, role in roles.items() if role}
    kept = kept_bands({frequency(row[table.band_column]) for _, row in table.rows})
    read: dict[tuple[int, int], dict[int, tuple[float, int]]] = {}
    met: dict[int, int] = {}
    for line, row in table.rows:
        band = frequency(row[table.band_column])
        if band not in kept:
            continue
        round_ = met.get(int(band), 0)
        met[int(band)] = round_ + 1
        for column in wanted:
            cell = row[column] if column < len(row) else ""
            if cell == "" and round_:
                continue  # a shorter column: fewer positions than the others
            read.setdefault((column, round_), {})[int(band)] = (_reading(cell, line, _titled(table, column)), line)
    positions: dict[str, list[list[float]]] = {}
    lines: dict[str, list[list[int]]] = {}
    for (column, round_), levels in sorted(read.items()):
        missing = [band for band in kept if int(band) not in levels]
        if missing:
            raise CannotRead(
                f"{_titled(table, column)}: {int(missing[0]):,} Hz is missing in reading {round_ + 1}; every position"
                " needs every band."
            )
        positions.setdefault(wanted[column], []).append([levels[int(band)][0] for band in kept])
        lines.setdefault(wanted[column], []).append([levels[int(band)][1] for band in kept])
    return Readings(bands_hz=[int(band) for band in kept], positions=positions, lines=lines)


def pick_across(table: Table, *, roles: Mapping[str, str], words_column: int | None) -> Readings:
    """Readings of a table with a band in each column; each row is a position. `roles` by the words of
    `words_column`, or under "" for the whole file where there is none. Raises CannotRead."""
    kept = kept_bands({band for _, band in table.band_columns})
    columns = [(column, f"{int(band):,} Hz") for column, band in table.band_columns if band in kept]
    positions: dict[str, list[list[float]]] = {}
    lines: dict[str, list[list[int]]] = {}
    for line, row in table.rows:
        words = "" if words_column is None else (row[words_column] if words_column < len(row) else "")
        role = roles.get(words, IGNORE)
        if role:
            levels = [_reading(row[c] if c < len(row) else "", line, where) for c, where in columns]
            positions.setdefault(role, []).append(levels)
            lines.setdefault(role, []).append([line])
    return Readings(bands_hz=[int(band) for band in kept], positions=positions, lines=lines)


def kept_bands(found: set) -> list[float]:
    """Bands from 50 to 5000 Hz in order; octaves if nothing stands between them. Raises CannotRead with what lacks."""
    within = sorted(band for band in found if band is not None and 50 <= band <= 5000)
    if len(within) < FEWEST_BANDS:
        raise CannotRead("Fewer than five bands between 50 and 5000 Hz.")
    scale = OCTAVES_HZ if set(within) <= BOTH else THIRDS_HZ
    run = [band for band in scale if within[0] <= band <= within[-1]]
    missing = [band for band in run if band not in within]
    if missing:
        raise CannotRead(f"{missing[0]:,} Hz is missing between {within[0]:,g} and {within[-1]:,g} Hz.")
    return within


def _titled(table: Table, column: int) -> str:
    return table.header[column] or f"Column {column + 1}"


def _reading(cell: str, line: int, where: str) -> float:
    value = number(cell)
    if value is None:
        shown = f"“{cell[:30]}” is no number" if cell else "there is no reading"
        raise CannotRead(f"Row {line}, {where}: {shown}.")
    return value
