"""Cells of each kind one by one: value, remark where it was repaired, refusal where it is not certain."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from typing import Any

import pytest

from delivery.intake.sheet.cells import Cell, Grid, clean, only_columns, place_of, text_grid
from delivery.intake.sheet.codes import read_ipi, read_isrc, read_iswc, read_upc
from delivery.intake.sheet.isni import read_isni
from delivery.intake.sheet.parsed import CellError, Parsed
from delivery.intake.sheet.positions import OnSide, heading, read_number, read_side
from delivery.intake.sheet.times import read_date, read_duration, read_gap, read_length, read_whole, read_year
from delivery.intake.sheet.values import Outcome, read

Reader = Callable[[Cell], Parsed]
ISNI_WANTED = "16 characters: 15 digits and a digit or X"


def cell(value: Any, shown: str | None = None) -> Cell:
    return Cell("B7", value, str(value) if shown is None else shown)


@pytest.mark.parametrize(
    ("read", "value", "expected", "remark"),
    [
        (read_whole, "01", 1, ""), (read_whole, "1 of 12", 1, ""), (read_whole, "No. 7", 7, ""),
        (read_whole, "#3", 3, ""),
        (read_whole, 4.0, 4, ""), (read_whole, "2/12", 2, ""), (read_whole, "Track 100", 100, ""),
        (read_whole, "1.0", 1, ""),
        (read_year, "2026", 2026, ""), (read_year, "2026.0", 2026, ""), (read_year, date(1899, 5, 1), 1899, ""),
        (read_year, "1800", 1800, ""), (read_year, "2099", 2099, ""),
        # lengths: minutes and seconds, by a clock or in words
        (read_duration, "3:45", 225.0, ""), (read_duration, "3:45,5", 225.5, ""), (read_duration, "75:00", 4500.0, ""),
        (read_duration, "1:03:45", 3825.0, ""), (read_duration, "0:03:45", 225.0, ""),
        (read_duration, "3:59", 239.0, ""),
        (read_duration, "3 min 45 s", 225.0, ""), (read_duration, "3'45\"", 225.0, ""),
        (read_duration, "1h 2m 3s", 3723.0, ""),
        (read_duration, "45 sec", 45.0, ""), (read_duration, "3m", 180.0, ""),
        (read_duration, "03:45:00", 225.0, "B7: the clock time 03:45:00 is read as 3 min 45 s"),
        (read_length, "00:45:00", 45.0,
         "B7: the clock time 00:45:00 is read as 0 min 45 s, or as 45 min 0 s if the file is that long"),
        (read_length, time(0, 45), 45.0,
         "B7: the clock time 00:45:00 is read as 0 min 45 s, or as 45 min 0 s if the file is that long"),
        (read_length, 0.03125, 45.0,
         "B7: the part of a day 0.03125 is read as 0 min 45 s, or as 45 min 0 s if the file is that long"),
        (read_length, time(3, 45), 225.0, "B7: the clock time 03:45:00 is read as 3 min 45 s"),
        (read_length, time(0, 0), 0.0, ""), (read_length, "45:00", 2700.0, ""),
        (read_duration, time(3, 45), 225.0, "B7: the clock time 03:45:00 is read as 3 min 45 s"),
        (read_duration, time(0, 3, 45), 225.0, ""), (read_duration, time(1, 0, 1), 3601.0, ""),
        (read_duration, time(1, 0), 60.0, "B7: the clock time 01:00:00 is read as 1 min 0 s"),
        (read_duration, timedelta(seconds=3599), 3599.0, ""),
        (read_duration, datetime(1900, 1, 1, 0, 3, 45), 86_625.0, ""),
        (read_duration, datetime(1899, 12, 31, 0, 3, 45), 225.0, ""),
        (read_duration, 0.15625, 225.0, "B7: the part of a day 0.15625 is read as 3 min 45 s"),
        (read_duration, 0.0026041666, 225.0, "B7: the part of a day 0.0026041666 is read as 3 min 45 s"),
        (read_duration, 225, 225.0, "B7: 225 is read as seconds"),
        (read_duration, "30", 30.0, "B7: 30 is read as seconds"),
        (read_gap, "2,5", 2.5, ""), (read_gap, 0, 0.0, ""), (read_gap, "0:02", 2.0, ""), (read_gap, "2 s", 2.0, ""),
        # days: the order is certain, or it is asked
        (read_date, datetime(2026, 11, 27, 9), "2026-11-27", ""), (read_date, date(2026, 11, 27), "2026-11-27", ""),
        (read_date, "2026-11-27", "2026-11-27", ""), (read_date, "2026/1/7", "2026-01-07", ""),
        (read_date, "2026-11-27T00:00:00", "2026-11-27", ""), (read_date, "2026-11-27 00:00", "2026-11-27", ""),
        (read_date, "7.1.2026", "2026-01-07", ""), (read_date, "07. 01. 2026", "2026-01-07", ""),
        (read_date, "27/11/2026", "2026-11-27", ""), (read_date, "11/27/2026", "2026-11-27", ""),
        (read_date, "5/5/2026", "2026-05-05", ""), (read_date, "13-12-2026", "2026-12-13", ""),
        (read_date, "12-13-2026", "2026-12-13", ""),
        (read_date, "27th of November, 2026", "2026-11-27", ""), (read_date, "Nov. 27, 2026", "2026-11-27", ""),
        (read_date, "7 février 2026", "2026-02-07", ""), (read_date, "7 déc. 2026", "2026-12-07", ""),
        (read_date, "1er août 2026", "2026-08-01", ""), (read_date, "27 de noviembre de 2026", "2026-11-27", ""),
        (read_date, "27. März 2026", "2026-03-27", ""),
        # codes
        (read_isrc, "ZZ-OSL-26-00001", "ZZOSL2600001", ""),
        (read_isrc, "ISRC: zzosl2600001", "ZZOSL2600001", ""),
        (read_iswc, "T-034.524.680-1", "T0345246801", ""), (read_iswc, "0345246801", "T0345246801", ""),
        (read_iswc, "T-034.524.680-2", "T0345246802",
         "B7: ISWC T-034.524.680-2 is accepted as it is, but the check digit would be 1"),
        (read_upc, "4006381333931", "4006381333931", ""), (read_upc, "'036000291452", "036000291452", ""),
        (read_upc, 4006381333931, "4006381333931", ""), (read_upc, 4006381333931.0, "4006381333931", ""),
        (read_upc, "36000291452", "036000291452",
         "B7: 36000291452 has lost a leading zero, as its check digit proves: 036000291452"),
        (read_ipi, "00014107338", ("00014107338",), ""),
        (read_ipi, "14107338", None, ""), (read_ipi, "00014107338; 00014107338", ("00014107338", "00014107338"), ""),
        (read_ipi, "00014107339", ("00014107339",),
         "B7: IPI name number 00014107339 is accepted as it is, but the check digit would be 38"),
        (read_ipi, "00014107338.0", ("00014107338",), ""),
        (read_ipi, "100000093", ("00100000093",),
         "B7: 100000093 has lost leading zeros, as its check digits prove: 00100000093"),
        # sides
        (read_side, "b", "B", ""), (read_side, "Side A", "A", ""),
        (read_side, "A-Seite", "A", "B7: 'A-Seite' is read as side A"),
        (read_side, "Side 2", "B", "B7: 'Side 2' is read as side B"), (read_side, "AA", "AA", ""),
        (read_side, "Seite drei", "C", "B7: 'Seite drei' is read as side C"),
        (read_number, "A1", OnSide("A", 1), ""), (read_number, "side b - 02", OnSide("B", 2), ""),
        (read_number, "C", OnSide("C"), ""), (read_number, "7", 7, ""), (read_number, 7, 7, ""),
    ],
)  # fmt: skip
def test_the_value_of_a_cell_and_the_remark_on_it(read: Reader, value: Any, expected: Any, remark: str) -> None:
    if expected is None:
        with pytest.raises(CellError):
            read(cell(value))
        return
    found = read(cell(value))
    assert (found.value, found.remark) == (
        pytest.approx(expected, abs=0.001) if isinstance(expected, float) else expected,
        remark,
    )


@pytest.mark.parametrize("read", [read_gap, read_duration])
@pytest.mark.parametrize("value", [time(0, 45), "00:45:00", "0:45:00", timedelta(minutes=45)])
def test_a_clock_time_of_minutes_alone_is_a_question_where_no_file_decides(read: Reader, value: Any) -> None:
    """A spreadsheet stores '0:45' as 00:45:00, and '45:00' as well where the column shows hours and minutes."""
    with pytest.raises(CellError) as refused:
        read(cell(value))
    assert [(choice.text, choice.value) for choice in refused.value.choices] == [
        ("0 min 45 s", 45.0),
        ("45 min 0 s", 2700.0),
    ]
    assert "It is 0 min 45 s if it was typed as 0:45, or 45 min 0 s." in refused.value.remedy


@pytest.mark.parametrize(
    ("field", "text", "expected"),
    [
        ("instrumental", "Instrumental", True), ("instrumental", "vocal", False), ("instrumental", "Vocals", False),
        ("instrumental", "yes", True), ("instrumental", "0", False),
        ("language", "pt-BR", "pt-BR"), ("language", "Portuguese", "pt"), ("language", "haw", "haw"),
        ("language", "Hawaiian", "haw"), ("language", "instrumental", "zxx"),
        ("territories", "The World", ("worldwide",)), ("territories", "world-wide", ("worldwide",)),
        *(("territories", word, ("worldwide",)) for word in ("weltweit", "Monde entier", "mundo", "WW", "monde")),
        ("territories", "PT; Japan\nUK + ES", ("PT", "JP", "GB", "ES")),
        ("recording_country", "pt", "PT"), ("recording_country", "Japan", "JP"),
        ("bpm", "92,5 BPM", 92.5), ("bpm", "120", 120.0),
        ("samples", "None", ()), ("samples", "no samples", ()),
        ("samples", "Tally Sticks (uncleared); Buoy [CLEARED: letter]; Quay (Live)\nLantern (not cleared)",
         ({"of": "Tally Sticks", "cleared": False}, {"of": "Buoy", "cleared": True, "by": "letter"},
          {"of": "Quay (Live)", "cleared": False}, {"of": "Lantern", "cleared": False})),
        ("other_credits", "Violin: Ada Quay, Bo Stern; cello: Tam",
         ({"name": "Ada Quay", "role": "violin"}, {"name": "Bo Stern", "role": "violin"},
          {"name": "Tam", "role": "cello"})),
    ],
)  # fmt: skip
def test_a_cell_of_a_field(field: str, text: str, expected: Any) -> None:
    """Languages by ISO 639 (Hawaiian has no code of two letters), countries by ISO 3166-1."""
    assert read(field, cell(text)) == Outcome(expected)


@pytest.mark.parametrize("text", [";", " ; ;", "\n"])
@pytest.mark.parametrize("field", ["samples", "territories", "ipi", "isni", "other_credits", "only_for", "composer"])
def test_separators_alone_state_nothing(field: str, text: str) -> None:
    """An empty list is a statement: that nothing was sampled, that no territory is covered."""
    assert read(field, cell(text)).value is None


@pytest.mark.parametrize(
    ("field", "text", "wanted"),
    [
        ("instrumental", "maybe", "yes or no"), ("language", "xx-YY", "a language of ISO 639"),
        ("language", "L", "a language of ISO 639"), ("language", "E", "a language of ISO 639"),
        ("recording_country", "Atlantis", "a country of ISO 3166-1"), ("territories", "PT, Atlantis", "a country of"),
        ("bpm", "0", "beats a minute"), ("bpm", "fast", "beats a minute"),
        ("other_credits", "Ada Quay", "function: name"), ("other_credits", "violin:", "function: name"),
    ],
)  # fmt: skip
def test_a_cell_of_a_field_that_cannot_be_used(field: str, text: str, wanted: str) -> None:
    found = read(field, cell(text))
    assert found.value is None
    assert found.refused is not None
    assert found.refused.wanted.startswith(wanted)


@pytest.mark.parametrize("field", ["title", "label", "key", "language", "recording_country", "samples", "only_for"])
@pytest.mark.parametrize(
    ("value", "wanted", "remedy"),
    [
        (date(2026, 5, 5), "the text itself", "A spreadsheet made a date of it"),
        (datetime(2026, 5, 5, 12), "the text itself", "A spreadsheet made a date of it"),
        (time(7, 11), "the text itself", "A spreadsheet made a time of it"),
        (timedelta(hours=25), "the text itself", "A spreadsheet made a time of it"),
        (True, "a text", "Format the cell as text and type it again."),
    ],
)
def test_a_text_of_which_a_spreadsheet_made_something_else(field: str, value: Any, wanted: str, remedy: str) -> None:
    """'5/5' and '7:11' are titles of songs."""
    refused = read(field, cell(value)).refused
    assert refused is not None
    assert refused.wanted == wanted
    assert refused.remedy.startswith(remedy)
    assert refused.remedy.endswith("ormat the cell as text and type it again.")


@pytest.mark.parametrize(
    ("read", "value", "wanted", "remedy"),
    [
        (read_whole, 1.5, "a whole number", "Write 1, 2, 3 ..."),
        (read_whole, "0", "a whole number", "If a spreadsheet made a date of '1/2': format the column as text"),
        (read_whole, "1000", "a whole number", "Write 1, 2, 3"),
        (read_whole, date(2026, 1, 2), "a whole number", "has made a date or time of it"),
        (read_year, "26", "a year in four digits", "Write it in full: 2026."),
        (read_year, "1726", "a year in four digits", "Write it in full"),
        (read_duration, "3:60", "minutes:seconds, such as 3:45", "Seconds end at 59."),
        (read_duration, "1:60:10", "minutes:seconds, such as 3:45", "Seconds end at 59."),
        (read_duration, "3.45", "minutes:seconds, such as 3:45", "A bare number can mean several things: write 3:45."),
        (read_duration, 29, "minutes:seconds, such as 3:45", "A bare number can mean several things"),
        (read_duration, 0, "minutes:seconds, such as 3:45", "A bare number can mean several things"),
        (read_duration, 1, "minutes:seconds, such as 3:45", "A bare number can mean several things"),
        (read_duration, "long", "minutes:seconds, such as 3:45", "Write it so."),
        (read_duration, date(2026, 3, 4), "minutes:seconds, such as 3:45", "A spreadsheet has made a date of it."),
        (read_date, "31.2.2026", "a day of the calendar", "There is no such day: check it."),
        (read_date, "soon", "year-month-day", "Write it as 2026-11-27."),
        (read_date, "27 Novembrik 2026", "year-month-day", "Write it as 2026-11-27."),
        (read_isrc, 123456789012, "12 letters and digits", "A spreadsheet made a number of it. Ask for the code again"),
        (read_isrc, "ZZOSL26", "12 letters and digits", "It has 7 characters, where the code has 2 letters"),
        (read_upc, "4.00638E+12", "12 or 13 digits", "shortened it to a power of ten; the digits are lost."),
        (read_upc, "4006380000000", "all 12 or 13 digits", "A program has rounded it; the last digits are lost."),
        (read_upc, 4006381333931.5, "12 or 13 digits", "It is a broken number."),
        (read_upc, True, "12 or 13 digits", "Ask for the code again, as text."),
        (read_upc, "36000291453", "12 or 13 digits", "With a zero in front the check digit would be 2"),
        (read_upc, "4006381333932", "12 or 13 digits, the last one right", "Look again: the check digit would be 1."),
        (read_upc, "40063813", "12 or 13 digits, the last one right", "It has 8 characters, where the code has 12"),
        (read_ipi, "1.41E+07", "11 digits", "shortened it to a power of ten."),
        (read_ipi, "1410", "11 digits", "1410: it has 4 characters, where the code has 11 digits."),
        (read_ipi, "100000094", "11 digits", "100000094: it has 9 characters, where the code has 11 digits."),
        (read_iswc, 345246801, "T and 10 digits", "It has 9 characters, where the code has T and 10 digits."),
        (read_isni, 121032683, ISNI_WANTED, "A spreadsheet made a number of it and keeps 15 figures."),
        (read_isni, "1.2E+08", ISNI_WANTED, "A spreadsheet made a number of it and keeps 15 figures."),
        (read_side, "Q", "the letter of a side: A, B ...", "Write one letter."),
        (read_number, "A0", "a whole number", "Write 1, 2, 3"),
    ],
)  # fmt: skip
def test_a_cell_that_is_not_certain_is_refused(read: Reader, value: Any, wanted: str, remedy: str) -> None:
    with pytest.raises(CellError) as refused:
        read(cell(value))
    assert refused.value.wanted == wanted
    assert remedy in refused.value.remedy


@pytest.mark.parametrize(
    ("read", "value", "choices", "remedy"),
    [
        (read_date, "7/1/2026", ["2026-01-07", "2026-07-01"], "It is 7 January or 1 July: write 2026-MM-DD."),
        (read_date, "12-11-2026", ["2026-11-12", "2026-12-11"], "It is 12 November or 11 December: write 2026-MM-DD."),
        (read_date, "46353", ["2026-11-27", "2030-11-28"], "2026-11-27, or 2030-11-28 where days are counted"),
        (read_isrc, "ZZOSL26OOOO1", ["ZZOSL2600001"],
         "It has the letter O where a zero belongs (character 8 and character 9 and character 10 and character 11): "
         "ZZOSL2600001?"),
        (read_isrc, "ZZOSL260000I", ["ZZOSL2600001"], "the letter I where a one belongs (character 12): ZZOSL2600001?"),
        (read_upc, "4OO6381333931", ["4006381333931"], "(character 2 and character 3): 4006381333931? Ask for"),
        (read_upc, "4OO6381333932", ["4006381333932"], "4006381333932?, but the check digit would be 1"),
    ],
)  # fmt: skip
def test_two_readings_become_a_question(read: Reader, value: str, choices: list[str], remedy: str) -> None:
    """ECMA-376 part 1, 18.17.4.1: days are counted from 1900 or from 1904."""
    with pytest.raises(CellError) as asked:
        read(cell(value))
    assert [choice.value for choice in asked.value.choices] == choices
    assert asked.value.wanted
    assert remedy in asked.value.remedy


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("SIDE A", (None, "A")), ("LP 2 - Side C", (2, "C")), ("Seite B: ruhig", (None, "B")), ("Side 1", (None, "A")),
        ("Vinyl, Face B", (None, "B")), ("Side effects", None), ("Sideways A", None), ("A", None),
        ("サイドB", (None, "B")),
    ],
)  # fmt: skip
def test_headings_that_name_a_side(text: str, found: tuple[int | None, str] | None) -> None:
    assert heading(text) == found


@pytest.mark.parametrize(
    ("row", "column", "place"),
    [
        (0, 0, "A1"), (6, 1, "B7"), (0, 25, "Z1"), (0, 26, "AA1"), (9, 51, "AZ10"), (0, 52, "BA1"),
        (0, 701, "ZZ1"), (0, 702, "AAA1"),
    ],
)  # fmt: skip
def test_places_as_spreadsheets_count(row: int, column: int, place: str) -> None:
    assert place_of(row, column) == place


@pytest.mark.parametrize(
    ("shown", "lines"),
    [
        ("  a\u00a0b \n\n c\u200b", ["a b", "c"]), ("'=SUM", ["=SUM"]), ("'a", ["'a"]), ("'-1", ["-1"]), ("\ufeff", []),
        ("e\u0301", ["é"]), ("می\u200cخواهم", ["می\u200cخواهم"]),
    ],
)  # fmt: skip
def test_clean_lines_of_a_cell(shown: str, lines: list[str]) -> None:
    assert Cell("A1", shown, shown).lines == lines
    assert Cell("A1", shown, shown).text == " ".join(lines)
    assert Cell("A1", shown, shown).empty is (not lines)
    assert clean("\t a\u3000") == "a"


def test_a_grid_answers_beyond_its_rows() -> None:
    grid = text_grid("copy.csv", [["a", ""], ["b"]], ("said",))
    assert (grid.name, grid.remarks, grid.cell(0, 0)) == ("copy.csv", ("said",), Cell("A1", "a", "a"))
    assert grid.cell(0, 1) == Cell("B1", None, "")
    assert (grid.cell(1, 1), grid.cell(2, 0)) == (Cell("B2"), Cell("A3"))
    assert only_columns(grid, range(1, 2)).rows == ((Cell("A1"), Cell("B1", None, "")), (Cell("A2"),))
    assert Cell("A1", trouble="#REF!").empty is False
    assert Grid("x", ()).cell(0, 0).empty
