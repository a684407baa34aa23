"""Files of readings as meters and spreadsheets write them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from contractor.common.tables import CannotRead, decoded, number
from contractor.soundtests import table
from contractor.soundtests.table import frequency, guess, pick_across, pick_down, read_table
from tests.soundtests.readings import SOURCE, THIRDS, received


def down(separator=";", comma=True, header="Frequency;L1;L2", units="Hz;dB;dB") -> str:
    lines = [header, units] if units else [header]
    for band, source, level in zip(THIRDS, SOURCE, received(), strict=True):
        line = f"{band};{source};{level}"
        lines.append(line.replace(".", ",") if comma else line)
    return "\n".join(lines).replace(";", separator)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (down(), "decimal commas and semicolons"),
        ("\ufeff" + down(), "a byte order mark"),
        (down(separator="\t"), "cells copied from a spreadsheet"),
        (down(separator=",", comma=False), "commas between, points within"),
        (down(separator="  ", comma=True, units=""), "columns set with spaces"),
        (down(units="") + "\n\n;;\nMeter 3, calibrated;;", "notes below"),
        (down().replace("\n", "\r\n"), "line ends of another system"),
        ("Site;B12;\nNight;;\n" + down(), "lines above the titles"),
    ],
)
def test_the_same_readings_come_out_however_they_are_written(text, why):
    read = pick_down(read_table(text), {1: "source", 2: "receiving"})
    assert read.bands_hz == THIRDS, why
    assert read.positions == {"source": [SOURCE], "receiving": [received()]}, why


def test_what_is_no_reading_is_left_out_and_told():
    found = read_table(down())
    assert found.header == ["Frequency", "L1", "L2"] and found.skipped == [(2, "Hz dB dB")]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
def test_files_of_several_encodings(encoding):
    text = down(header="Frequenz;Gerät;L2")
    assert read_table(decoded(text.encode(encoding))).header[1] == "Gerät"


@pytest.mark.parametrize(
    ("cell", "band"),
    [
        ("125", 125), ("125 Hz", 125), ("1k", 1000), ("1.25 kHz", 1250), ("1,6 kHz", 1600), ("3150Hz", 3150),
        ("Leq 63 Hz", 63), ("31,5", 31.5), ("dB", None), ("126 Hz", 125), ("137", None), ("", None),
    ],
)  # fmt: skip
def test_cells_that_name_a_band(cell, band):
    assert frequency(cell) == band


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("78.2", 78.2),
        ("78,2", 78.2),
        ("−3", -3),
        (" 61 ", 61),
        ("-", None),
        ("nan", None),
        ("inf", None),
        ("<20", None),
    ],
)
def test_cells_that_hold_a_number(cell, value):
    assert number(cell) == value


@given(st.text(max_size=30))
def test_a_number_is_always_finite(text):
    value = number(text)
    assert value is None or abs(value) < 1e6


def test_several_columns_of_one_room_are_positions():
    text = "Hz,L1 pos 1,L1 pos 2,L2\n" + "\n".join(f"{band},90,92,50" for band in THIRDS)
    read = pick_down(read_table(text), {1: "source", 2: "source", 3: "receiving"})
    assert [row[0] for row in read.positions["source"]] == [90, 92]


def test_a_band_met_again_begins_a_further_position():
    text = "Hz;L2\n" + "\n".join(f"{band};{level}" for level in (50, 54, 58) for band in THIRDS)
    read = pick_down(read_table(text), {1: "receiving"})
    assert [row[3] for row in read.positions["receiving"]] == [50, 54, 58]


def across(*kinds: str) -> str:
    head = "Time;What;" + ";".join(f"{band} Hz" for band in THIRDS)
    return head + "\n" + "\n".join(f"10:0{n};{what};" + ";".join(["61,5"] * 16) for n, what in enumerate(kinds))


def test_bands_across_the_columns_told_apart_by_a_column_of_words():
    found = read_table(across("Source", "Source", "Receiving", "Background"))
    assert found.is_across and table.words_columns(found)[0] == (1, ["Source", "Receiving", "Background"])
    roles = {"Source": "source", "Receiving": "receiving", "Background": ""}
    read = pick_across(found, roles=roles, words_column=1)
    assert {quantity: len(rows) for quantity, rows in read.positions.items()} == {"source": 2, "receiving": 1}


def test_octaves_are_seen_as_octaves():
    text = "Hz;L1\n" + "\n".join(f"{band};80" for band in (63, 125, 250, 500, 1000, 2000, 4000, 8000))
    assert pick_down(read_table(text), {1: "source"}).bands_hz == [63, 125, 250, 500, 1000, 2000, 4000]


@pytest.mark.parametrize(
    ("title", "quantity"),
    [
        ("L1", "source"), ("Source room", "source"), ("L2 mean", "receiving"), ("Receiving_room", "receiving"),
        ("B2", "background"), ("Background", "background"), ("T20", "reverberation"), ("RT (s)", "reverberation"),
        ("Frequency", ""), ("Remark", ""),
    ],
)  # fmt: skip
def test_titles_that_tell_what_was_measured(title, quantity):
    assert guess(title) == quantity


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "nothing in it"),
        ("some words\nand more", "No frequencies found"),
        ("PK\x00\x03", "no text"),
        ("Hz;L1\n100;1\n125;1\n160;1\n250;1\n315;1\n400;1", "200 Hz is missing between 100 and 400 Hz"),
    ],
)
def test_what_is_no_table_is_refused_in_words(text, said):
    with pytest.raises(CannotRead, match=said):
        pick_down(read_table(text), {1: "source"})


def test_a_cell_that_is_no_number_is_named_by_row_and_column():
    text = down().replace("95,0", "9S,0", 1)
    with pytest.raises(CannotRead, match=r"Row 3, L1: “9S,0” is no number"):
        pick_down(read_table(text), {1: "source"})


def test_a_position_that_lacks_a_band_is_refused():
    text = down() + "\n100;94,0;50,0"
    with pytest.raises(CannotRead, match="125 Hz is missing in reading 2"):
        pick_down(read_table(text), {1: "source", 2: "receiving"})


def test_a_large_file_is_refused_before_it_is_read():
    with pytest.raises(CannotRead, match="larger than 5 MB"):
        decoded(b"x" * 5_000_001)
