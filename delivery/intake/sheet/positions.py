"""Sides of a record or cassette, and track numbers on them: 'Side A', 'A-Seite', 'A1'. Pure."""

from __future__ import annotations

import re
from dataclasses import dataclass
from string import ascii_uppercase

from delivery.intake.sheet.cells import Cell
from delivery.intake.sheet.parsed import CellError, Parsed
from delivery.intake.sheet.times import read_whole

WORDS = "side|seite|plattenseite|face|lado|lato|cara|kant|sida|strona|puoli|сторона|πλευρά"
JOINED_WORDS = "צד|面|サイド"
"""Written without a space before the letter."""
SPELLED = ("one|eins|un|uno|1|i", "two|zwei|deux|dos|due|2|ii", "three|drei|trois|tres|tre|3|iii",
           "four|vier|quatre|cuatro|quattro|4|iv")  # fmt: skip


def _letter(name: str) -> str:
    """Pattern of a side's letter; 'AA' is the second of two equal sides of a single."""
    return rf"(?P<{name}>(?P<{name}_>[A-P])(?P={name}_)?|{'|'.join(SPELLED)})"


_SIDE = (
    rf"(?:(?:(?:{WORDS})(?:\s+|\s*[:.\-–]\s*)|(?:{JOINED_WORDS})\s*){_letter('a')}"
    rf"|{_letter('b')}(?:(?:\s+|\s?[\-–]\s?)(?:{WORDS})|\s*(?:{JOINED_WORDS})))"
)
SIDE = re.compile(rf"{_SIDE}|{_letter('c')}", re.IGNORECASE)
HEADING = re.compile(
    rf"(?:(?:lp|vinyl|record|disc|disk|tape|cassette|platte|disque|disco)\s*(?P<disc>[1-9])?\s*[\-–—:/,|.]*\s*)?"
    rf"{_SIDE}(?!\w)\s*(?:[^\w\s].*|\d.*)?",
    re.IGNORECASE,
)
_ON_SIDE = re.compile(
    rf"(?:(?:{WORDS})\s*)?(?P<side>([A-P])\2?)[\s.\-–:/]*(?:0*(?P<number>[1-9]\d?))?\.?", re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class OnSide:
    """A track number counted on its side."""

    side: str
    number: int | None = None


def read_side(cell: Cell) -> Parsed:
    """'A' for 'A', 'Side A', 'A-Seite', 'Side 1'."""
    found = SIDE.fullmatch(str(cell.text).removesuffix(".0"))
    if not found:
        raise CellError("the letter of a side: A, B ...", "Write one letter.")
    letter = _letter_in(found)
    plain = letter == cell.text.upper() or letter in cell.text.upper().split()
    return Parsed(letter, "" if plain else f"{cell.place}: {cell.text!r} is read as side {letter}")


def read_number(cell: Cell) -> Parsed:
    """An integer, or a position on a side: 'A1', 'B 2', 'A' for a side with one song."""
    found = _ON_SIDE.fullmatch(cell.text) if isinstance(cell.value, str) else None
    if not found:
        return read_whole(cell)
    return Parsed(OnSide(found["side"].upper(), int(found["number"]) if found["number"] else None))


def heading(text: str) -> tuple[int | None, str] | None:
    """Disc, if named, and side of a heading such as 'SIDE A', 'LP 2 - Side C'; None for others."""
    found = HEADING.fullmatch(text)
    return (int(found["disc"]) if found["disc"] else None, _letter_in(found)) if found else None


def _letter_in(found: re.Match[str]) -> str:
    text = next(text for key, text in found.groupdict().items() if key in "abc" and text)
    at = next((at for at, words in enumerate(SPELLED) if text.casefold() in words.split("|")), None)
    return text.upper() if at is None else ascii_uppercase[at]
