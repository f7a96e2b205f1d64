"""Dates, durations and numbers from cells, which spreadsheets damage most after codes. Pure."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from delivery.intake.sheet.cells import Cell
from delivery.intake.sheet.parsed import CellError, Choice, Parsed

MONTHS = {
    name: number
    for number, names in enumerate(
        (
            "january jan januar jänner janvier janv enero ene gennaio gen janeiro januari",
            "february feb februar fevrier fev febrero febbraio fevereiro februari",
            "march mar märz marz mrz mars marzo março marco maart",
            "april apr avril avr abril abr aprile",
            "may mai mayo maggio mag maio mei maj",
            "june jun juni juin junio giugno giu junho",
            "july jul juli juillet juil julio luglio lug julho",
            "august aug aout août agosto ago augusti augustus",
            "september sep sept septembre septiembre settembre set setembro",
            "october oct oktober okt octobre octubre ottobre ott outubro out",
            "november nov novembre noviembre novembro",
            "december dec dezember dez decembre diciembre dic dicembre dezembro",
        ),
        start=1,
    )
    for name in names.split()
}
CLOCK = re.compile(r"(?:(?P<h>\d{1,2}):)?(?P<m>\d{1,3}):(?P<s>\d{2}(?:[.,]\d+)?)")
WORDS = re.compile(
    r"(?:(?P<h>\d+)\s*h\w*\s*)?(?:(?P<m>\d+)\s*(?:m\w*|['′’])\s*)?(?:(?P<s>\d+(?:[.,]\d+)?)\s*(?:s\w*|\"|″|”|''|’’)?)?"
)
DAY_NOUGHT, DAY_NOUGHT_1904 = date(1899, 12, 30), date(1904, 1, 1)
"""Days before day 1 and of day 0, as office programs count (ECMA-376 part 1, 18.17.4.1: date systems)."""
AS_TEXT = "Format the column as text and type it again."


def read_whole(cell: Cell) -> Parsed:
    """'1', '01', '1.', '1 of 12', but not 'A1'; '1/2' only as text, since spreadsheets make a date of it."""
    if isinstance(cell.value, (date, datetime, time, timedelta)):
        raise CellError("a whole number", f"A spreadsheet has made a date or time of it, perhaps of '1/2'. {AS_TEXT}")
    if isinstance(cell.value, float) and not cell.value.is_integer():
        raise CellError("a whole number", "Write 1, 2, 3 ...")
    text = str(int(cell.value)) if isinstance(cell.value, (int, float)) else cell.text
    found = re.fullmatch(
        r"(?:#|no\.?|nr\.?|track|disc|disk|cd)?\s*0*(\d{1,3})(?:\.0*|\s*(?:/|of|von|de)\s*\d{1,3})?",
        text,
        re.IGNORECASE,
    )
    if not found or not int(found[1]):
        raise CellError(
            "a whole number",
            f"Write 1, 2, 3 ... If a spreadsheet made a date of '1/2': {AS_TEXT[0].lower()}{AS_TEXT[1:]}",
        )
    return Parsed(int(found[1]))


def read_year(cell: Cell) -> Parsed:
    """Four digits, or the year of a full date."""
    if isinstance(cell.value, date):
        return Parsed(cell.value.year)
    text = cell.text.removesuffix(".0")
    if not re.fullmatch(r"(?:18|19|20)\d\d", text):
        raise CellError("a year in four digits", "Write it in full: 2026.")
    return Parsed(int(text))


@dataclass(frozen=True, slots=True)
class _Readings:
    """What a cell states as a length of time."""

    seconds: float
    other_s: float | None = None
    """The other reading of a clock time in whole minutes: spreadsheets make 03:45:00 of '3:45', 00:45:00 of '0:45'."""
    form: str = ""
    """'clock time', 'part of a day', or 'seconds' for a number alone; empty if written as people write lengths."""

    @property
    def is_ambiguous(self) -> bool:
        """True below an hour: 45 minutes are as usual as 45 seconds, while nobody delivers a song of 3 h 45 min."""
        return self.other_s is not None and self.other_s < 3600


def read_length(cell: Cell) -> Parsed:
    """Seconds that a track lasts. A clock time in whole minutes is read as minutes:seconds, with a remark; its other
    reading is `other_length_s`, and the length of the file decides."""
    found = _readings(cell)
    if found.form == "seconds":
        return Parsed(found.seconds, f"{cell.place}: {cell.text} is read as seconds")
    if not found.form or (found.form == "clock time" and found.other_s is None):
        return Parsed(found.seconds)
    remark = f"{cell.place}: the {found.form} {cell.text} is read as {_clock_text(found.seconds)}"
    if found.is_ambiguous:
        remark += f", or as {_clock_text(found.other_s or 0)} if the file is that long"
    return Parsed(found.seconds, remark)


def other_length_s(cell: Cell) -> float | None:
    """The other reading of a cell that `read_length` reads; None if there is none."""
    try:
        return _readings(cell).other_s
    except CellError:
        return None


def read_duration(cell: Cell) -> Parsed:
    """Seconds of what no file can decide, such as a pause: as `read_length`, but 00:45:00 is a question.

    Raises
    ------
    CellError : it may be seconds or minutes, listed as choices; or it is no length of time
    """
    found = _readings(cell)
    if found.other_s is None or not found.is_ambiguous:
        return read_length(cell)
    short, long = _clock_text(found.seconds), _clock_text(found.other_s)
    minutes, rest = divmod(int(found.seconds), 60)
    remedy = f"It is {short} if it was typed as {minutes}:{rest:02}, or {long}. {AS_TEXT}"
    raise CellError(
        "minutes:seconds, such as 3:45", remedy, (Choice(short, found.seconds), Choice(long, found.other_s))
    )


def _readings(cell: Cell) -> _Readings:
    seconds = _of_day(cell.value)
    if seconds is not None:
        return _by_clock(seconds, "clock time")
    if isinstance(cell.value, (int, float)):
        return _bare_number(float(cell.value))
    text = cell.text
    clock = CLOCK.fullmatch(text)
    if clock:
        if float(clock["s"].replace(",", ".")) >= 60 or (clock["h"] and int(clock["m"]) >= 60):
            raise CellError("minutes:seconds, such as 3:45", "Seconds end at 59.")
        return _by_clock(_sum(clock), "clock time") if clock["h"] else _Readings(_sum(clock))
    words = WORDS.fullmatch(text)
    if words and re.search(r"[^\d\s.,]", text):
        return _Readings(_sum(words))
    if re.fullmatch(r"\d+(?:[.,]\d+)?", text):
        return _bare_number(float(text.replace(",", ".")))
    raise CellError("minutes:seconds, such as 3:45", "Write it so.")


def _by_clock(seconds: float, form: str) -> _Readings:
    return _Readings(seconds / 60, seconds, form) if seconds and seconds % 60 == 0 else _Readings(seconds, form=form)


def read_gap(cell: Cell) -> Parsed:
    """Seconds: a bare number counts as such."""
    if isinstance(cell.value, (int, float)) or re.fullmatch(r"\d+(?:[.,]\d+)?", cell.text):
        return Parsed(float(cell.text.replace(",", ".")))
    return read_duration(cell)


def read_date(cell: Cell) -> Parsed:
    """Year-month-day; the order of day and month is accepted only if unambiguous."""
    if isinstance(cell.value, datetime):
        return Parsed(cell.value.date().isoformat())
    if isinstance(cell.value, date):
        return Parsed(cell.value.isoformat())
    text = cell.text
    for order in (_iso, _named_month, _dotted):
        found = order(text)
        if found:
            return Parsed(_day(*found))
    slashed = re.fullmatch(r"(\d{1,2})[/\-](\d{1,2})[/\-](\d{4})", text)
    if slashed:
        return _slashed(*map(int, slashed.groups()))
    if re.fullmatch(r"\d{5}(?:\.0)?", text):
        raise _day_number(int(text.partition(".")[0]))
    raise CellError("year-month-day", "Write it as 2026-11-27.")


def _day_number(days: int) -> CellError:
    """Programs count from one of two days; the number itself does not show which."""
    usual, other = (date.fromordinal(first.toordinal() + days).isoformat() for first in (DAY_NOUGHT, DAY_NOUGHT_1904))
    remedy = f"It is a spreadsheet's day number: {usual}, or {other} where days are counted from 1904. {AS_TEXT}"
    return CellError("year-month-day", remedy, (Choice(usual, usual), Choice(other, other)))


def _iso(text: str) -> tuple[int, int, int] | None:
    found = re.fullmatch(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ]00:00(?::00)?)?", text)
    return (int(found[1]), int(found[2]), int(found[3])) if found else None


def _dotted(text: str) -> tuple[int, int, int] | None:
    """With dots the day comes first, wherever dots are used."""
    found = re.fullmatch(r"(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})", text)
    return (int(found[3]), int(found[2]), int(found[1])) if found else None


def _named_month(text: str) -> tuple[int, int, int] | None:
    first = re.fullmatch(
        r"(\d{1,2})(?:st|nd|rd|th|er|\.)?[\s\-]*(?:de |of )?([^\W\d]+)\.?,?[\s\-]*(?:de )?(\d{4})", text
    )
    then = re.fullmatch(r"([^\W\d]+)\.?\s*(\d{1,2})(?:st|nd|rd|th)?,?\s*(\d{4})", text)
    day, month, year = first.groups() if first else (then[2], then[1], then[3]) if then else ("", "", "")
    number = MONTHS.get(month.casefold()) or MONTHS.get(_bare(month))
    return (int(year), number, int(day)) if number else None


def _bare(text: str) -> str:
    return "".join(c for c in unicodedata.normalize("NFKD", text.casefold()) if not unicodedata.combining(c))


def _slashed(one: int, two: int, year: int) -> Parsed:
    if one > 12 or one == two:
        return Parsed(_day(year, two, one))
    if two > 12:
        return Parsed(_day(year, one, two))
    days = [Choice(_day(year, month, day), _day(year, month, day)) for day, month in ((one, two), (two, one))]
    raise CellError(
        "a date in which day and month cannot be mistaken",
        f"It is {one} {_month(two)} or {two} {_month(one)}: write {year}-MM-DD.",
        tuple(days),
    )


def _month(number: int) -> str:
    return next(name for name, count in MONTHS.items() if count == number).capitalize()


def _day(year: int, month: int, day: int) -> str:
    try:
        return date(year, month, day).isoformat()
    except ValueError:
        raise CellError("a day of the calendar", "There is no such day: check it.") from None


def _of_day(value: object) -> float | None:
    """Seconds of a clock time as stored in workbooks; None if it is not one."""
    if isinstance(value, timedelta):
        return value.total_seconds()
    if isinstance(value, time):
        return value.hour * 3600 + value.minute * 60 + value.second + value.microsecond / 1e6
    if isinstance(value, datetime) and value.year < 1901:
        return (value - datetime(1899, 12, 31)).total_seconds() % (31 * 86400)
    if isinstance(value, (date, datetime)):
        raise CellError("minutes:seconds, such as 3:45", f"A spreadsheet has made a date of it. {AS_TEXT}")
    return None


def _sum(found: re.Match[str]) -> float:
    hours, minutes, seconds = (float((found[key] or "0").replace(",", ".")) for key in ("h", "m", "s"))
    return hours * 3600 + minutes * 60 + seconds


def _bare_number(value: float) -> _Readings:
    """Below 1 it is a fraction of a day, as workbooks store times; '3.45' could be 3 min 45 s or 3.45 min."""
    if 0 < value < 1:
        return _by_clock(round(value * 86400, 3), "part of a day")
    if value.is_integer() and value >= 30:
        return _Readings(value, form="seconds")
    raise CellError("minutes:seconds, such as 3:45", "A bare number can mean several things: write 3:45.")


def _clock_text(seconds: float) -> str:
    minutes, rest = divmod(round(seconds, 3), 60)
    return f"{int(minutes)} min {rest:g} s"
