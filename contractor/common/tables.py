"""Tables that other programs write, as text: which separator, which decimal mark, in which encoding.

`sheets` writes tables, this reads them. What cannot be read is refused in words; rows are counted as the file counts
its lines.
"""

import csv
import io

LOOK_AHEAD = 40
MOST_BYTES = 5_000_000


class CannotRead(ValueError):
    """The text is no table of what was looked for; the message says why, with the row where there is one."""


def decoded(body: bytes) -> str:
    """Text of a file in UTF-8 or UTF-16 with or without its mark, else as western European. Raises CannotRead."""
    if len(body) > MOST_BYTES:
        raise CannotRead(f"The file is larger than {MOST_BYTES // 1_000_000} MB. Cut it to what is needed.")
    if body[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return body.decode("utf-16", errors="replace")
    for place, encoding in ((1, "utf-16-le"), (0, "utf-16-be")):
        half = body[place:2000:2]
        if half and half.count(0) * 2 > len(half):  # Latin letters and digits leave every second byte empty
            return body.decode(encoding, errors="replace")
    try:
        return body.decode("utf-8-sig")
    except UnicodeDecodeError:
        return body.decode("cp1252", errors="replace")


def cells(text: str, *, may_be_spaced: bool = True) -> list[tuple[int, list[str]]]:
    """(line, cells) of each row that holds something. Tabs or semicolons separate where most lines hold them, else
    commas, or spaces where cells hold no words (`may_be_spaced`). Raises CannotRead."""
    text = text.lstrip("\ufeff")
    if "\x00" in text:
        raise CannotRead("This is no text: save it as CSV, or copy the cells and paste them.")
    lines = [(n, row) for n, row in _rows(text, may_be_spaced) if any(row)]
    if not lines:
        raise CannotRead("There is nothing in it.")
    return lines


def _rows(text: str, may_be_spaced: bool) -> list[tuple[int, list[str]]]:
    sample = [line for line in text.splitlines()[: 4 * LOOK_AHEAD] if line.strip()][:LOOK_AHEAD]
    delimiter = next((m for m in "\t;" if sum(m in line for line in sample) * 2 >= len(sample)), ",")
    if delimiter == "," and may_be_spaced and sum(map(_is_spaced, sample)) * 2 >= len(sample):
        return [(n, line.split()) for n, line in enumerate(text.splitlines(), start=1)]
    reader = csv.reader(io.StringIO(text), delimiter=delimiter)
    try:
        # A cell may hold line ends: the line that a row ends on is what an editor shows for it.
        return [(reader.line_num, [cell.strip() for cell in row]) for row in reader]
    except csv.Error as error:
        raise CannotRead(f"The rows do not hold together ({error}).") from None


def _is_spaced(line: str) -> bool:
    """Whether spaces stand between the cells, so that a comma can only be a decimal mark."""
    found = line.split()
    return len(found) > 1 and all(cell.count(",") < 2 and not cell.endswith(",") for cell in found)


def number(text: str) -> float | None:
    """A reading: 78.2, 78,2 or −3; None for words, marks of missing values and what is out of any scale."""
    plain = text.replace("\u2212", "-").replace("\u00a0", "").replace(" ", "")
    if "," in plain and "." not in plain:
        plain = plain.replace(",", ".", 1)
    try:
        value = float(plain)
    except ValueError:
        return None
    return value if abs(value) < 1e6 else None  # neither infinity nor not-a-number is a reading
