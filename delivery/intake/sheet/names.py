"""Split several names in one cell: at separators where certain, by asking where not. Pure.

The meaning of a joining word depends on the kind of name. Legal names have a first and a last part, so 'Ilse Merrow &
Tam Varrick' are two people; an act is often named this way ('Merrow & the Glass Tide'), and a company nearly always.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Mapping, Sequence

from delivery.intake.sheet.cells import Cell
from delivery.intake.sheet.parsed import CellError, Choice, Parsed
from delivery.intake.sheet.people import BARE_SHARE, ROLE, SHARE, with_bare_shares
from delivery.intake.sheet.placeholders import is_placeholder, refuse_open
from delivery.model.fields import FIELDS
from delivery.model.fields.row import People

LONGEST = 2_000
"""Maximum characters of all names in one cell; enough for an orchestra."""


KINDS: Mapping[str, People] = {field.id: field.people for field in FIELDS.values() if field.people}
"""Field -> kind of people it holds."""


def _joint(pattern: str) -> re.Pattern[str]:
    """Pattern of a joint, outside of brackets only: '(C/A)' is one role."""
    return re.compile(rf"(?:{pattern})(?![^(\[]{{0,80}}[)\]])", re.IGNORECASE)


SURE = _joint(r"\s*[;；؛\n|]\s*|\s+[/／]\s+(?!\d)")
COMMA = _joint(r"\s*(?:(?<!\d),|,(?!\d))\s*")
"""Not in the share '33,3'."""
LIST_COMMA = _joint(r"\s*[、，،]\s*")
"""Commas of scripts in which no surname precedes a comma."""
SLASH = _joint(r"(?<!\bc)(?<!\bw)(?<!\b[apf]/k)\s?(?:(?<![\d\s])[/／]|[/／](?!\s?\d))(?!k/a\b)\s?")
"""Not in 'c/o', 'w/', 'a/k/a', 'p/k/a', 'f/k/a', nor in the share '1/2'."""
JOINED = _joint(r"\s*[&＆]\s*|\s+(?:and|und|et|och|og|oraz|и|\+)\s+")
PERHAPS_JOINED = _joint(r"\s+(?:y|e|i|en|ja|ve|és)\s+")
"""Within surnames as well: 'Ortega y Gasset'."""
VERSUS = _joint(r"\s+(?:x|×|vs\.?|versus)\s+")
WITH = _joint(r"\s+(?:with|mit|avec|w/)\s+")
GUEST = re.compile(r"\s*[(\[]?\b(?:feat\.?|ft\.?|featuring)\s.*", re.IGNORECASE)
QUOTED = re.compile(r"[\"“„«](.+)[\"”“»]")
_BAND = re.compile(
    r"(?:the|his|her|their|my|los|las|les|la|le|die|der|das|seine?|ihre?|son|ses|su|sus|i|gli|de|het)\b.*"
    r"|.*\b(?:band|orchestra|orchester|orchestre|orquesta|ensemble|trio|quartett?|quintett?|choir|chor|friends|co)\.?",
    re.IGNORECASE,
)
"""What follows a leader's name: '& the Glass Tide', 'and Friends'."""


def names_in(cell: Cell, kind: People) -> Parsed:
    """The names in *cell*, and a remark if a separator was uncertain.

    Raises
    ------
    CellError : it may be one name or several, listed as choices; or a placeholder
    """
    if len(cell.text) > LONGEST:
        raise CellError(
            f"names of at most {LONGEST:,} characters together", "Is this a text? Put the names alone here."
        )
    quoted = QUOTED.fullmatch(cell.text)
    if quoted and (_unjoined(quoted[1], kind) != [quoted[1]] or _doubtful(quoted[1], kind)):
        return Parsed((quoted[1],))
    parts = split_list(cell)
    remark = ""
    if len(parts) == 1 and COMMA.search(parts[0]):
        pieces = _pieces(COMMA, parts[0])
        if all(map(_whole, pieces)):
            parts = pieces
        elif not any(map(is_east_asian, pieces)):
            remark = f"{cell.place}: {parts[0]!r} is read as one name; separate several names with ';'"
    _refuse_gaps(parts)
    refuse_open(parts)
    split = [piece for part in parts for piece in _unjoined(part, kind)]
    if split != parts:
        remark = f"{cell.place}: {cell.text!r} is read as {len(split)} names"
    if kind is People.PERSON and any(map(BARE_SHARE.fullmatch, split)):
        split = _with_shares(split)
        remark = f"{cell.place}: {cell.text!r} is read as names with their shares: {'; '.join(split)}"
    if doubt := next((pieces for part in split if (pieces := _doubtful(part, kind))), None):
        _ask(cell, split, doubt, kind)
    return Parsed(tuple(split), remark)


def _with_shares(names: Sequence[str]) -> list[str]:
    marked = with_bare_shares(names)
    if marked is None:
        raise CellError(
            "names alone, or a share in percent after each name",
            "If the numbers are shares, write each as '50 %'; together they make 100 %.",
        )
    return marked


def split_list(cell: Cell) -> list[str]:
    """Split at unambiguous separators."""
    return _pieces(SURE, "\n".join(cell.lines))


def _unjoined(part: str, kind: People) -> list[str]:
    """The parts of joined names that are certainly several."""
    if kind is not People.PERSON:
        return [part]
    for joint in (LIST_COMMA, SLASH, JOINED):
        pieces = _pieces(joint, part)
        if len(pieces) > 1 and all(map(_whole, pieces)):
            return [one for piece in pieces for one in _unjoined(piece, kind)]
    return [part]


def _doubtful(part: str, kind: People) -> list[str]:
    """The names that *part* may contain instead of being one; empty if it is certainly one."""
    guest = GUEST.search(part) if kind is People.ACT else None
    for joint, doubt in DOUBTS[kind]:
        pieces = _pieces(joint, part[: guest.start()] if guest else part)
        if len(pieces) > 1 and doubt(pieces):
            return [*pieces[:-1], pieces[-1] + guest[0]] if guest else pieces
    return []


def _ask(cell: Cell, split: Sequence[str], doubt: Sequence[str], kind: People) -> None:
    apart = [piece for part in split for piece in (doubt if _doubtful(part, kind) == list(doubt) else [part])]
    one = {People.ACT: "one act", People.PERSON: "one person", People.FIRM: "one firm"}[kind]
    raise CellError(
        f"{one} or {len(apart)} names, separated",
        f"Separate several names with ';': {'; '.join(apart)}. "
        f'If it is {one}, write its name in full in quotation marks: "{cell.text}".',
        (Choice(f"{len(apart)} names: {'; '.join(apart)}", tuple(apart)), Choice(f"{one}: {cell.text}", tuple(split))),
    )


def _pieces(separator: re.Pattern[str], text: str) -> list[str]:
    return [piece.strip() for piece in separator.split(text) if piece.strip()]


def _whole(piece: str) -> bool:
    """True for a first and a last name, as far as its script shows."""
    bare = SHARE.sub("", ROLE.sub("", SHARE.sub("", piece))).strip()
    share = BARE_SHARE.fullmatch(bare)
    bare = share["name"].strip() if share else bare
    return len(bare.split()) > 1 or (is_east_asian(bare) and len(bare) > 2)


def is_east_asian(text: str) -> bool:
    """Scripts that write names without a space."""
    return bool(text) and unicodedata.east_asian_width(text[0]) in "WF"


def _any_whole(pieces: Sequence[str]) -> bool:
    """False for a duo of two single names or a leader with a band."""
    return any(map(_whole, pieces)) and not any(_BAND.fullmatch(piece) for piece in pieces[1:])


def _always(_pieces: Sequence[str]) -> bool:
    return True


def _all_whole(pieces: Sequence[str]) -> bool:
    return all(map(_whole, pieces))


DOUBTS: Mapping[People, tuple[tuple[re.Pattern[str], Callable[[Sequence[str]], bool]], ...]] = {
    People.ACT: ((LIST_COMMA, _always), (SLASH, _always), (VERSUS, _always), (JOINED, _any_whole), (WITH, _any_whole),
               (PERHAPS_JOINED, _all_whole)),
    People.PERSON: ((LIST_COMMA, _always), (SLASH, _always), (JOINED, _always), (PERHAPS_JOINED, _all_whole)),
    People.FIRM: ((LIST_COMMA, _always), (SLASH, _any_whole)),
}  # fmt: skip
"""What may join several names of each kind, and whether it does so often enough to ask."""


def _refuse_gaps(parts: Sequence[str]) -> None:
    """'Ilse Merrow; TBC': the list is not complete yet."""
    known = [part for part in parts if not is_placeholder(part)]
    if known and len(known) < len(parts):
        gap = next(part for part in parts if is_placeholder(part))
        raise CellError(
            "all names",
            f"{gap!r} is a placeholder for a name: ask for the name, or remove it.",
            (Choice(f"without {gap!r}: {'; '.join(known)}", tuple(known)),),
        )
