"""Which characters a file name may hold on Windows, macOS and Linux at once. Pure: text in, text out.

Sources: Microsoft, "Naming Files, Paths, and Namespaces" (forbidden characters, device names, final dots and
spaces); POSIX.1-2017, 3.170 Filename (no slash, no NUL, no leading hyphen for portability); Unicode UAX #15
(normalisation forms), UAX #29 (what must not be cut apart) and the property Default_Ignorable_Code_Point.
"""

from __future__ import annotations

import re
import unicodedata
from itertools import takewhile

from delivery.model.ascii_text import in_ascii as in_ascii

UNTITLED = "untitled"
"""Name used if no character survived."""

_REPLACED = str.maketrans(
    {"/": "-", "\\": "-", "|": "-", "<": "(", ">": ")", '"': "'", "*": None, "?": None, "%": "pct"}
)
"""Forbidden on Windows; and %, which RFC 8493 has bags encode but the most used bag reader does not decode."""

_INVISIBLE = frozenset("\u034f\u115f\u1160\u17b4\u17b5\u180b\u180c\u180d\u3164\uffa0").union(
    map(chr, range(0xFE00, 0xFE10)), map(chr, range(0xE0100, 0xE01F0))
)
"""Default-ignorable letters and marks; the other default-ignorable characters are category Cf, removed below."""

_NOT_IN_NAMES = frozenset({"Cc", "Cf", "Cs", "Co", "Cn"})
"""Control, format (bidi, zero-width, soft hyphen), lone surrogate, private use, unassigned."""

_AS_IT_IS = re.compile(r"(?:[A-Za-z0-9_.,'()&+-]| (?! ))*")
"""Texts that `cleaned` leaves alone: most."""

_DEVICE = re.compile(r"(CON|PRN|AUX|NUL|CONIN\$|CONOUT\$|(?:COM|LPT)[0-9¹²³])(?= *(?:\.|$))", re.IGNORECASE)


def cleaned(text: str, *, ascii_only: bool = False) -> str:
    """*text* as one line that all three systems accept in a name, in NFC; may be empty.

    With *ascii_only*, Latin letters lose their accents and other scripts are transliterated.
    """
    if _AS_IT_IS.fullmatch(text):
        return text
    line = unicodedata.normalize("NFC", in_ascii(text) if ascii_only else text)
    line = re.sub(r"\s*:(?:\s+|$)", " - ", line).replace(":", "-")
    spaced = "".join(" " if char.isspace() else char for char in line if char.isspace() or _allowed(char))
    return unicodedata.normalize("NFC", re.sub(" +", " ", spaced.translate(_REPLACED)))


def bare_ends(stem: str) -> str:
    """Remove leading and trailing characters that hide a file, look like an option or are dropped by Windows."""
    return stem.lstrip(" ._-").rstrip(" .")


def no_device(stem: str) -> str:
    """'CON', 'nul.live' and the like become 'CON_', 'nul_.live': Windows takes them for a device with any extension."""
    return _DEVICE.sub(r"\1_", stem, count=1) if _DEVICE.match(stem) else stem


def clusters(text: str) -> list[str]:
    """*text* split into clusters that must stay whole: a letter with its marks, an emoji with its tone, a flag."""
    found: list[str] = []
    for char in text:
        if found and _continues(found[-1], char):
            found[-1] += char
        else:
            found.append(char)
    return found


def cut(text: str, max_bytes: int) -> str:
    """The longest beginning of *text* that fits in *max_bytes* of UTF-8 without splitting a cluster."""
    room = max_bytes

    def fits(cluster: str) -> bool:
        nonlocal room
        room -= len(cluster.encode("utf-8"))
        return room >= 0

    return "".join(takewhile(fits, clusters(text)))


def key(name: str) -> str:
    """Comparison key: names with one key may collide on some system; case, width and accent composition are ignored."""
    return unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold())


def _allowed(char: str) -> bool:
    return unicodedata.category(char) not in _NOT_IN_NAMES and char not in _INVISIBLE


def _continues(cluster: str, char: str) -> bool:
    if unicodedata.category(char).startswith("M") or "\U0001f3fb" <= char <= "\U0001f3ff":
        return True
    flag_letters = "\U0001f1e6" <= char <= "\U0001f1ff" and "\U0001f1e6" <= cluster[0] <= "\U0001f1ff"
    return flag_letters and len(cluster) == 1
