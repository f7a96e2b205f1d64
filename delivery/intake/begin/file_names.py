"""Parse a master's file name: number, title, version, guest, code. Proposals, never facts. Pure."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from itertools import takewhile
from typing import Any

from delivery.intake.begin.name_parts import DASHED_VERSION, Parts, parts_of, without_studio_words
from delivery.intake.resolve_paths import composed
from delivery.intake.yaml.schema_formats import stored_isrc

CODE = re.compile(
    r"[\s_\-(\[]*(?<![A-Za-z0-9])([A-Za-z]{2}-?[A-Za-z0-9]{3}-?[0-9]{2}-?[0-9]{5})(?![A-Za-z0-9])[\s_)\]]*"
)
NUMBER = re.compile(
    r"(?:(?P<disc>[0-9]{1,2})[-.](?=[0-9]{2}\D))?(?P<number>[0-9]{1,3})(?P<after>[\s._\-]+)(?P<title>\S.*)"
)
ARTIST_FIRST = re.compile(r"(?P<artist>.*\w.*?)\s+-\s+(?P<number>[0-9]{1,3})\s+-\s+(?P<title>.*\w.*)")
GUEST_FIRST = re.compile(
    r"(?P<artist>.*\w.*?)\s+(?:feat\.?|ft\.?|featuring)\s+(?P<guest>[^()\[\]]*?\w)\s+-\s+(?P<title>.*\w.*)",
    re.IGNORECASE,
)
"""'Ada Fenn feat. Jo Lin - Gull': the guest belongs to the artist, so a title follows."""
DISC_FOLDER = re.compile(r"(?:cd|disc|disk|lp)[\s._\-]*([0-9]{1,2})(?![0-9])", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Guess:
    """What a file name suggests about a track."""

    title: str
    number: int | None = None
    disc: int | None = None
    isrc: str = ""
    artist: str = ""
    version: str = ""
    guest: str = ""
    """The part of 'feat. Ada & Bo' after the keyword, as written."""
    sure: bool = False
    """The number is written like a track number ('01', '1.'), not like the start of a title ('99 Lanterns')."""


def guess(stem: str) -> Guess:
    """Read a file name without its suffix: '01 Low Water', '1-03_Low_Water_24-96', 'ZZOSL2600001 Low Water' ..."""
    text = composed(stem).strip()
    if " " not in text:
        text = text.replace("_", " ")
    text, isrc = _without_code(text)
    text = without_studio_words(text)
    named = ARTIST_FIRST.fullmatch(text)
    if named:
        parts = parts_of(named["title"].strip())
        return _guess(parts, int(named["number"]), isrc=isrc, artist=named["artist"].strip(), sure=True)
    numbered = NUMBER.fullmatch(text)
    if not numbered or int(numbered["number"]) == 0:
        return _titled(text, isrc=isrc)
    sure = bool(numbered["disc"]) or numbered["number"].startswith("0") or bool(numbered["after"].strip())
    disc = int(numbered["disc"]) if numbered["disc"] else None
    return _titled(numbered["title"].strip(), int(numbered["number"]), disc=disc, isrc=isrc, sure=sure)


def _titled(text: str, number: int | None = None, **others: Any) -> Guess:
    """The part after the number: a title, or an artist with a guest and then the title."""
    credited = GUEST_FIRST.fullmatch(text)
    if not credited or DASHED_VERSION.fullmatch(without_studio_words(credited["title"], doubtful=True)):
        return _guess(parts_of(text), number, **others)
    parts = replace(parts_of(credited["title"]), guest=credited["guest"].strip())
    return _guess(parts, number, artist=credited["artist"].strip(), **others)


def _guess(parts: Parts, number: int | None = None, **others: Any) -> Guess:
    return Guess(parts.title, number, version=parts.version, guest=parts.guest, **others)


def _without_code(text: str) -> tuple[str, str]:
    found = CODE.search(text)
    if not found:
        return text, ""
    rest = f"{text[: found.start()]} {text[found.end() :]}".strip(" -_")
    return rest or text, stored_isrc(found[1])


def shared_end(titles: list[str]) -> int:
    """Number of words that all *titles* end with, leaving each at least one: words common to every file are not part of
    the title."""
    words = [title.casefold().split() for title in titles]
    most = min(map(len, words), default=0) - 1
    alike = (len({tuple(one[-many:]) for one in words}) == 1 for many in range(1, most + 1))
    return sum(1 for _ in takewhile(bool, alike)) if len(titles) > 1 else 0


def disc_of_folder(name: str) -> int | None:
    """'CD1', 'Disc 2 - Live' ...: the disc number, or None."""
    found = DISC_FOLDER.match(name.strip())
    return int(found[1]) if found and int(found[1]) > 0 else None


def natural(text: str) -> list[tuple[int, int, str]]:
    """Sort key in which '2 Song' precedes '10 Song', ignoring case and accent encoding."""
    pieces = re.split(r"([0-9]+)", composed(text).casefold())
    return [(0, int(piece), "") if piece.isdecimal() else (1, 0, piece) for piece in pieces if piece]
