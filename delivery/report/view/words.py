"""From values to words: safe text, lengths, codes in their printed form. Pure; all such formatting is done here."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import TYPE_CHECKING

from delivery.model.answer import Answer, Result
from delivery.model.artist import display_artist

if TYPE_CHECKING:
    from delivery.model.release import Release, Track
    from delivery.report.view.elements import Verdict

NOT_SUPPLIED = "not supplied"
NOT_STATED = "not stated"
TO_NOTE = "to note"
"""Not met, but only advised: the file is ready."""

SHAPES = {
    Result.READY: "full",
    Result.REMARKS: "half",
    Result.NOT_READY: "cross",
    Result.UNUSABLE: "bar",
    Answer.MET: "full",
    Answer.ACCEPTED: "full",
    Answer.WAIVED: "half",
    Answer.NOT_MET: "cross",
    Answer.NOT_MEASURED: "ring",
}

_MINUS = re.compile(r"(?<![\w.\-])-(?=\d)")
_UNIT = re.compile(r"(?<=\d) (?=(?:dBTP|dBFS|dB|LUFS|LU|kHz|Hz|ms|s|%|bit|px|kbit/s)\b)")
_BIDI_CONTROLS = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_SPELLING = frozenset("\u200c\u200d\u0600\u0601\u0602\u0603\u0604\u0605\u06dd\u070f\u08e2")
"""Format characters that belong to words: Persian and Indic joiners, Arabic number signs."""


def plain(text: object) -> str:
    """*text* in one line without active characters: controls, direction overrides, lone surrogates.

    Composed (NFC), so that a font needs no combining marks where a whole letter exists.
    """
    line = str(text)
    if line.isascii() and line.isprintable():  # nearly every text, and a sheet has tens of thousands
        return " ".join(line.split())
    spaced = "".join(_plain_character(character) for character in line)
    return unicodedata.normalize("NFC", " ".join(spaced.split()))


def _plain_character(character: str) -> str:
    if character in _BIDI_CONTROLS:
        return ""
    category = unicodedata.category(character)
    if category == "Cs" or ord(character) & 0xFFFE == 0xFFFE:
        return "\ufffd"
    if category in ("Cc", "Zl", "Zp"):
        return " "
    return "" if category == "Cf" and character not in _SPELLING else character


def in_command(name: str) -> str:
    """A name or path as an argument of a command that is printed: in quotes where a shell would split it."""
    line = plain(name)
    return f'"{line}"' if set(line) & set(" &'()") else line


def supplied(text: object) -> str:
    """The text, or that it was not supplied."""
    return plain(text) or NOT_SUPPLIED


def verdict(result: Result | Answer, detail: str = "") -> Verdict:
    """Word and shape of a result."""
    from delivery.report.view.elements import Verdict  # not needed by a command that only measures

    return Verdict(result.value, SHAPES[result], detail)


def day(value: date | None) -> str:
    """ISO 8601 date, or 'not stated'."""
    return value.isoformat() if value else NOT_STATED


def clock(seconds: float, digits: int) -> str:
    """'4:03.250' for 243.25 s at three digits; hours only when there are any."""
    whole = round(seconds * 10**digits)
    units, part = divmod(whole, 10**digits)
    minutes, second = divmod(units, 60)
    hours, minute = divmod(minutes, 60)
    head = f"{hours}:{minute:02}" if hours else f"{minute}"
    return f"{head}:{second:02}" + (f".{part:0{digits}}" if digits else "")


def clock_beside(seconds: float, digits: int, limits: Iterable[float]) -> str:
    """The same with as many more digits as show on which side of each limit it lies."""
    known = tuple(limits)
    for finer in range(digits, 9):
        shown = round(seconds * 10**finer) / 10**finer
        if all((shown > at, shown < at) == (seconds > at, seconds < at) for at in known):
            return clock(seconds, finer)
    return clock(seconds, 9)


def at(seconds: float) -> str:
    """A place in a file, to the tenth of a second."""
    return clock(seconds, 1)


def places(place: str, at_s: tuple[float, ...], shown: int = 4) -> str:
    """What it is about, or the first few times, and how many more there are."""
    times = [at(seconds) for seconds in at_s[:shown]]
    more = [f"and {len(at_s) - shown} more"] if len(at_s) > shown else []
    return ", ".join([*([plain(place)] if place else []), *times, *more])


def isrc(code: str) -> str:
    """As printed in the ISRC handbook, with hyphens; texts that are not 12 characters are unchanged."""
    code = plain(code)
    return f"{code[:2]}-{code[2:5]}-{code[5:7]}-{code[7:]}" if len(code) == 12 else code or NOT_SUPPLIED


def short_hash(digest: str) -> str:
    """The first eight digits."""
    return digest[:8]


def credited(track: Track, release: Release) -> str:
    """The track's artists as in tags, discs and file names."""
    return supplied(display_artist(track.artists, release.artist))


def titled(title: str, version: str) -> str:
    """Title with its version in brackets."""
    return f"{supplied(title)} ({plain(version)})" if plain(version) else supplied(title)


def number(release: Release, track: Track) -> str:
    """'3', or '2.3' for the third track of the second disc."""
    return numbers(release)[track.position]


def numbers(release: Release) -> dict[int | None, str]:
    """Printed track number by position; the release itself under None."""
    several = len({track.disc for track in release.tracks}) > 1
    printed = (f"{track.disc}.{track.number}" if several else f"{track.number}" for track in release.tracks)
    return {None: "release", **dict(zip((track.position for track in release.tracks), printed, strict=True))}


def listed(items: Iterable[str]) -> str:
    """'a, b and c'."""
    *head, last = list(items) or [""]
    return f"{', '.join(head)} and {last}" if head else last


def counted(count: int, one: str, many: str = "") -> str:
    """'1 file', '12 files'."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def size(size_bytes: int) -> str:
    """'612 kB', '3.42 GB': three figures, in steps of 1000."""
    value, unit = float(size_bytes), "bytes"
    for larger in ("kB", "MB", "GB", "TB", "PB"):
        if value < 999.5:
            break
        value, unit = value / 1000, larger
    if unit == "bytes":
        return f"{size_bytes} bytes"
    figures = f"{value:#.3g}".rstrip(".") if value < 999.5 else f"{value:.0f}"
    return f"{figures} {unit}"


def kilohertz(rate_hz: float) -> str:
    """'44.1 kHz'."""
    return f"{rate_hz / 1000:g} kHz"


def unique(items: Iterable[str]) -> Iterator[str]:
    """Each text once, in order of first sight."""
    return iter(dict.fromkeys(items))


def runs(numbers: Sequence[str]) -> str:
    """'1, 3 to 6, 9': consecutive numbers are merged; other texts are unchanged."""
    drawn: list[list[str]] = []
    for number in numbers:
        last = drawn[-1][-1] if drawn else ""
        if number.isdecimal() and last.isdecimal() and int(number) == int(last) + 1:
            drawn[-1].append(number)
        else:
            drawn.append([number])
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(run) for run in drawn)


def typographic(text: str) -> str:
    """True minus signs and arrows, and units that stay with their numbers; for figures, never for names."""
    return _UNIT.sub("\u00a0", _MINUS.sub("\u2212", text)).replace("->", "\u2192")
