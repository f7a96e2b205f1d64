"""Codes from cells. Rounded digits are lost; a lost zero is restored only if a check digit proves it. Pure."""

from __future__ import annotations

import re

from delivery.intake.sheet.cells import Cell
from delivery.intake.sheet.parsed import CellError, Choice, Parsed
from delivery.model.codes import CODES, with_lost_zero

SCIENTIFIC = re.compile(r"[0-9][.,]?[0-9]*\s*[eE]\s*\+?[0-9]+")
ROUNDED = re.compile(r"[0-9]{5,9}0{6,}")
"""Programs that keep about 6 digits of a long number fill it with zeros."""
LOOK_ALIKE = str.maketrans("OIL", "011")
LETTERS_IN_FRONT = {"isrc": 5, "iswc": 1}
"""Positions in a code where letters are valid."""
AGAIN = "Ask for the code again, as text."


def read_isrc(cell: Cell) -> Parsed:
    """An ISRC. Raises CellError if it is malformed."""
    return _checked(cell, "isrc", "12 letters and digits")


def read_iswc(cell: Cell) -> Parsed:
    """An ISWC; a missing 'T' is added. Raises CellError if it is malformed."""
    text = cell.text
    code = CODES["iswc"]
    stored = code.stored(text)
    return _checked(
        Cell(cell.place, text, f"T{stored}" if re.fullmatch("[0-9]{10}", stored) else text), "iswc", code.wanted
    )


def read_ipi(cell: Cell) -> Parsed:
    """IPI numbers; several are separated by ';' or lines. Lost leading zeros are proven by the two check digits."""
    numbers = [_ipi(part, cell) for part in re.split(r"[;\n/]", "\n".join(cell.lines)) if part.strip()]
    return Parsed(tuple(one.value for one in numbers), "; ".join(one.remark for one in numbers if one.remark))


def read_upc(cell: Cell) -> Parsed:
    """12 or 13 digits with a right check digit. A workbook keeps every digit of a number, whatever it displays."""
    digits = _digits(cell)
    if ROUNDED.fullmatch(digits):
        raise CellError("all 12 or 13 digits", f"A program has rounded it; the last digits are lost. {AGAIN}")
    lost = with_lost_zero(digits)
    if lost:
        return Parsed(lost.code, f"{cell.place}: {lost.text}")
    _refuse_look_alikes("gtin", digits, "12 or 13 digits")
    fault = CODES["gtin"].fault(digits)
    if not fault:
        return Parsed(digits)
    if len(digits) == 11:
        raise CellError(
            "12 or 13 digits", f"With a zero in front {CODES['gtin'].fault('0' + digits)}, so that is not it. {AGAIN}"
        )
    raise CellError(
        "12 or 13 digits, the last one right",
        f"It has {fault}. {AGAIN}" if CODES["gtin"].malformed(digits) else f"Look again: {fault}.",
    )


def _digits(cell: Cell) -> str:
    value = cell.value
    if isinstance(value, bool):
        raise CellError("12 or 13 digits", AGAIN)
    if isinstance(value, float) and not value.is_integer():
        raise CellError("12 or 13 digits", f"It is a broken number. {AGAIN}")
    if isinstance(value, (int, float)):
        whole = str(int(value))
        shown = CODES["gtin"].stored(cell.text)
        return shown if shown.isdecimal() and shown.lstrip("0") == whole.lstrip("0") else whole
    text = cell.text.removesuffix(".0").removeprefix("'")
    if SCIENTIFIC.fullmatch(text):
        raise CellError(
            "12 or 13 digits", f"A spreadsheet has shortened it to a power of ten; the digits are lost. {AGAIN}"
        )
    return CODES["gtin"].stored(text)


def _checked(cell: Cell, kind: str, wanted: str) -> Parsed:
    code = CODES[kind]
    if isinstance(cell.value, (int, float)) or SCIENTIFIC.fullmatch(cell.text):
        raise CellError(wanted, f"A spreadsheet made a number of it. {AGAIN}")
    stored = code.stored(cell.text)
    _refuse_look_alikes(kind, stored, wanted)
    in_use = kind == "isrc" and re.fullmatch("[A-Z0-9]{12}", stored)
    if (fault := code.malformed(cell.text)) and not in_use:
        raise CellError(wanted, f"It has {fault}. {AGAIN}")
    return _as_it_is(kind, stored, cell)


def _refuse_look_alikes(kind: str, stored: str, wanted: str) -> None:
    """Refuse a letter typed for a similar digit; the intended code is proposed, never taken.

    Raises
    ------
    CellError : the text is a code only with digits in place of such letters
    """
    code = CODES[kind]
    letters = LETTERS_IN_FRONT.get(kind, 0)
    corrected = stored[:letters] + stored[letters:].translate(LOOK_ALIKE)
    if corrected == stored or code.malformed(corrected) or not code.malformed(stored):
        return
    slips = [(place, one) for place, one in enumerate(stored, start=1) if one != corrected[place - 1]]
    found = " and ".join(
        f"the letter {letter} where a {'zero' if letter == 'O' else 'one'} belongs "
        f"({' and '.join(f'character {place}' for place, one in slips if one == letter)})"
        for letter in dict.fromkeys(one for _, one in slips)
    )
    doubt = f", but {code.doubt(corrected)}" if code.doubt(corrected) else ""
    choices = (Choice(corrected, corrected),) if kind != "ipi" else ()  # a cell may hold several of these
    raise CellError(wanted, f"It has {found}: {corrected}?{doubt} {AGAIN}", choices)


def _ipi(text: str, cell: Cell) -> Parsed:
    code = CODES["ipi"]
    if SCIENTIFIC.fullmatch(text.strip()):
        raise CellError("11 digits", f"A spreadsheet has shortened it to a power of ten. {AGAIN}")
    stored = code.stored(text.strip().removesuffix(".0"))
    if re.fullmatch("[0-9]{9,10}", stored) and not code.fault(stored.zfill(11)):
        return Parsed(
            stored.zfill(11),
            f"{cell.place}: {stored} has lost leading zeros, as its check digits prove: {stored.zfill(11)}",
        )
    _refuse_look_alikes("ipi", stored, "11 digits")
    if fault := code.malformed(stored):
        raise CellError("11 digits", f"{stored}: it has {fault}. {AGAIN}")
    return _as_it_is("ipi", stored, cell)


def _as_it_is(kind: str, stored: str, cell: Cell) -> Parsed:
    """Odd codes are in use: they are taken unchanged, with a remark."""
    code = CODES[kind]
    odd = f"it has {fault}" if (fault := code.malformed(stored)) else code.doubt(stored)
    return Parsed(
        stored, f"{cell.place}: {code.title} {code.printed(stored)} is accepted as it is, but {odd}" if odd else ""
    )
