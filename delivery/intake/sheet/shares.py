"""Shares of a work from a cell: percent, halves and thirds, one number per person or one for all. Pure."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, datetime, time, timedelta

from delivery.intake.sheet.cells import Cell
from delivery.intake.sheet.parsed import CellError, Choice
from delivery.model.shares import add_up

EQUALLY = re.compile(
    r"equal(?:ly|s| shares?| split)?|even(?:ly| split)?|split (?:equally|evenly)"
    r"|(?:zu )?gleichen? (?:teilen?|anteilen?)|gleichmäßig|(?:à |a )?parts? égales?|(?:por |a )?partes iguales"
    r"|(?:in )?parti uguali|(?:em )?partes iguais|均等",
    re.IGNORECASE,
)
_EACH = "each|apiece|je|jeweils|chacun|cada uno|cada um|ciascuno|ずつ"
EACH = re.compile(rf"(?:(?P<before>{_EACH})\s*)?(?P<share>[\d.,/ %]+?)\s*(?P<after>{_EACH})?", re.IGNORECASE)
_SEPARATOR = re.compile(r"[;\n|]|\s+/\s+|%\s*[,/&:+\-–]?\s+|,\s+|\s+[&+\-–:]\s+|\s+and\s+|\s+und\s+")
_TIGHT = re.compile(r"\s*[/:&+\-–,]\s*")
"""Between numbers, where these have no other meaning: '50/50', '60:40'."""
_FRACTION = re.compile(r"(\d{1,2})\s*/\s*(\d{1,2})")
_NUMBER = re.compile(r"(\d{1,3}(?:[.,]\d+)?)\s*%?")
PARTS_OF_A_FRACTION = 16
WANTED = "shares in percent, such as 50; 50"


def read_shares(cell: Cell, many: int) -> tuple[float, ...]:
    """As many shares as there are persons, as written; fractions (0.5) stay fractions.

    Raises
    ------
    CellError : no numbers, or not as many as persons
    """
    if isinstance(cell.value, (date, datetime, time, timedelta)):
        made = "A spreadsheet made a date or time of it, perhaps of '1/3' or '50:50'"
        raise CellError(WANTED, f"{made}: format the cell as text and type it again.")
    if EQUALLY.fullmatch(cell.text):
        return (round(100 / many, 2),) * many
    each = EACH.fullmatch(cell.text)
    if each and (each["before"] or each["after"]):
        return _numbers([each["share"]], 1) * many
    shares = _numbers([text.strip() for text in _SEPARATOR.split("\n".join(cell.lines)) if text.strip(" %")], many)
    if len(shares) != many:
        each_has = (
            (Choice(f"{shares[0]:g} % each", shares * many),) if len(shares) == 1 and _whole(shares * many) else ()
        )
        raise CellError(
            f"{many} shares, one for each person", "Write one number for each person, separated by ';'.", each_has
        )
    return shares


def in_percent(shares: Sequence[float]) -> list[float]:
    """Fractions that add up to one, as percent: 0.5 and 0.5 are 50 and 50."""
    percent = [round(share * 100, 6) for share in shares]
    return percent if shares and max(shares) <= 1 and add_up(percent) else list(shares)


def _numbers(texts: Sequence[str], many: int) -> tuple[float, ...]:
    if len(texts) == 1 and many > 1:
        pieces = [piece.strip() for piece in _TIGHT.split(texts[0]) if piece.strip(" %")]
        if len(pieces) == many and all(map(_NUMBER.fullmatch, pieces)) and _whole(tuple(map(_number, pieces))):
            return tuple(map(_number, pieces))
    return tuple(map(_number, texts))


def _number(text: str) -> float:
    fraction = _FRACTION.fullmatch(text)
    if fraction and 0 < int(fraction[1]) <= int(fraction[2]) <= PARTS_OF_A_FRACTION:
        return round(100 * int(fraction[1]) / int(fraction[2]), 2)
    found = _NUMBER.fullmatch(text)
    if not found:
        raise CellError(WANTED, "Write one number for each person, separated by ';'.")
    return float(found[1].replace(",", "."))


def _whole(shares: tuple[float, ...]) -> bool:
    return add_up(in_percent(shares))
