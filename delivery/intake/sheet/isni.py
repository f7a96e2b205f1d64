"""ISNI from a row: the name each belongs to, beside it or in the column to its left. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any, Protocol

from delivery.intake.sheet.cells import Cell
from delivery.intake.sheet.parsed import CellError, Parsed
from delivery.intake.sheet.people import with_shares
from delivery.model.codes import CODES
from delivery.model.fields import FIELDS
from delivery.model.fields.row import People

BEARERS = (
    *(field.id for field in FIELDS.values() if field.people in (People.ACT, People.PERSON)),
    "album_artist",
)
"""Columns with names that may have a code."""
_NAMED = re.compile(
    r"(?P<name>.*\S)\s*[:=(]\s*(?P<code>(?:ISNI:?\s*|(?:https?://)?(?:www\.)?isni\.org/(?:isni/|page/)?)?[0-9][0-9Xx\s\-‐‑–]*/?)\)?",
    re.IGNORECASE,
)


class RowContext(Protocol):
    """The part of `row_context.RowContext` that is needed here."""

    def fault(self, place: str, found: str, wanted: str, remedy: str) -> None:
        """Note a fault at *place*."""

    def value(self, name: str, cell: Cell) -> Any:
        """The value of *cell* as field *name*."""


def read_isni(cell: Cell) -> Parsed:
    """'Ilse Merrow: 9999 0000 0000 014X; ...', or codes alone: pairs of name (perhaps empty) and code.

    Raises
    ------
    CellError : a code of another form; a number, of which no spreadsheet keeps sixteen figures
    """
    code, again = CODES["isni"], "Ask for the code again, as text."
    if isinstance(cell.value, (int, float)) or re.fullmatch(r"[0-9][.,]?[0-9]*\s*[eE]\s*\+?[0-9]+", cell.text):
        raise CellError(code.wanted, f"A spreadsheet made a number of it and keeps 15 figures. {again}")
    pairs, doubts = [], []
    for part in re.split(r"[;\n|]", "\n".join(cell.lines)):
        if not part.strip():
            continue
        named = _NAMED.fullmatch(part.strip())
        name, text = (named["name"], named["code"]) if named else ("", part.strip())
        if fault := code.malformed(text):
            raise CellError(code.wanted, f"It has {fault}. {again}")
        if doubt := code.doubt(text):
            doubts.append(f"{cell.place}: ISNI {code.printed(text)} is accepted as it is, but {doubt}")
        pairs.append((name, code.stored(text)))
    return Parsed(tuple(pairs), "; ".join(doubts))


def identities_in(
    context: RowContext, cells: Sequence[tuple[str, Cell]], album_artist: str
) -> tuple[tuple[str, str], ...]:
    """Names and codes in a row.

    Parameters
    ----------
    cells : field id and cell, in the order of the columns
    album_artist : owner of a code without a name if no column of names is to its left
    """
    found: dict[str, str] = {}
    beside: tuple[str, ...] = (album_artist,) if album_artist else ()
    everybody = {name for key, cell in cells if key in BEARERS for name in _names(context, key, cell)} | set(beside)
    for key, cell in cells:
        if key in BEARERS and not cell.empty:
            beside = _names(context, key, cell)
        if key != "isni" or cell.empty:
            continue
        pairs = context.value("isni", cell) or ()
        if len([name for name, _ in pairs if not name]) > len(beside):
            context.fault(
                f"{cell.place} ISNI",
                f"{len(pairs)} codes for {len(beside)} names to the left",
                "one for each name",
                "Separate them by ';' in the order of the names, or write 'name: code'.",
            )
            continue
        unnamed = iter(beside)
        for name, code in pairs:
            whose = name or next(unnamed)
            if whose not in everybody:
                wanted = "a name in this row, or the release's artist"
                context.fault(f"{cell.place} ISNI", repr(whose), wanted, "Write it as it is spelt there.")
            elif found.setdefault(whose, code) != code:
                context.fault(
                    f"{cell.place} ISNI", f"a second code for {whose!r}", "one for each name", "Ask for the right one."
                )
    return tuple(found.items())


def agreed(
    context: RowContext, stated: Sequence[tuple[str, tuple[tuple[str, str], ...]]]
) -> tuple[dict[str, str], ...]:
    """The release's list of names and codes, from its rows; a name has one code on all of them.

    Parameters
    ----------
    stated : place of the cell, and the pairs of its row
    """
    places: dict[str, str] = {}
    codes: dict[str, str] = {}
    for place, pairs in stated:
        for name, code in pairs:
            before = codes.setdefault(name, code)
            places.setdefault(name, place)
            if before != code:
                one, other = (CODES["isni"].printed(each) for each in (code, before))
                found = f"{one} for {name!r}, which has {other} in {places[name]}"
                context.fault(f"{place} ISNI", found, "one code for each name", "Ask which of them is right.")
    return tuple({"name": name, "code": code} for name, code in codes.items())


def still_named(entries: Sequence[Any], release: Mapping[str, Any], tracks: Sequence[Mapping[str, Any]]) -> list[Any]:
    """Of an older file's *entries*, those whose name still occurs."""
    names = {str(release.get("artist", ""))}
    for holder in (release, *tracks):
        for key in ("artists", "composers", "lyricists", "writers", "credits"):
            names |= {one["name"] if isinstance(one, Mapping) else str(one) for one in holder.get(key, ())}
    return [entry for entry in entries if isinstance(entry, Mapping) and entry.get("name") in names]


def _names(context: RowContext, key: str, cell: Cell) -> tuple[str, ...]:
    """Names in a value; the release's artist is one name, even if it joins several."""
    if cell.empty or key == "album_artist":
        return (cell.text,) if cell.text else ()
    return tuple(name for name, _, _ in with_shares(context.value(key, cell) or ()))
