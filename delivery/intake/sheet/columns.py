"""Which field a header means, regardless of language, case, accents and brackets. Pure."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Mapping

from delivery.model.fields import FIELDS

PERSON = ("composer", "lyricist", "writer")
OF_PERSON = ("ipi", "society", "share", "publisher")
"""Header words for a person in the nearest column to the left."""

MOST_WORDS = 8
"""Most words in a header about persons; longer ones are texts."""
IGNORED = "ignore"
"""Name of a column to skip in a mapping."""

_NOISE = frozenset(
    {"name", "names", "legal", "full", "real", "s", "optional", "required", "the", "if", "any", "mandatory"}
)
_SIGNS = str.maketrans(
    {"℗": " p line ", "©": " c line ", "№": " no ", "ß": "ss", "ø": "o", "ł": "l", "æ": "ae", "ı": "i"}
)


def words_of(header: str) -> str:
    """'Duration [mm:ss]*' -> 'duration mm ss': small letters without accents and punctuation; '#' and '%' stay."""
    bare = unicodedata.normalize("NFKD", header.casefold().translate(_SIGNS))
    letters = "".join(c for c in bare if not unicodedata.combining(c) or "\u3099" <= c <= "\u309a")
    return " ".join(re.sub(r"[^\w#%]|_", " ", unicodedata.normalize("NFC", letters)).split())


_FIELDS = {words_of(word): field.id for field in FIELDS.values() for word in (field.title, *field.headings)}


def about_person(header: str) -> tuple[str, str]:
    """Person and detail: 'lyricist' and 'ipi' for 'Lyricist IPI'; empty texts if a header names no such pair."""
    words = [word for word in words_of(header).split() if not word.isdecimal() and word not in _NOISE]
    for at in range(1, len(words) if len(words) <= MOST_WORDS else 0):
        for some, others in ((words[:at], words[at:]), (words[at:], words[:at])):
            whose, what = _FIELDS.get(" ".join(some), ""), _FIELDS.get(" ".join(others), "")
            if whose in PERSON and what in OF_PERSON:
                return whose, what
    return "", ""


def field_of(header: str, known: Mapping[str, str] | None = None) -> str:
    """Id of the field that a header means; empty if no word of the table (or of *known*, the client's) matches."""
    own = known or {}
    outside = re.sub(r"[(\[{].*?[)\]}]", " ", header)
    for text in (header, outside):
        key = words_of(text)
        for form in (key, _without(key, str.isdecimal), _without(key, _NOISE.__contains__),
                     _without(key, lambda word: word.isdecimal() or word in _NOISE)):  # fmt: skip
            if form and (found := own.get(form) or _FIELDS.get(form)):
                return found
    return about_person(outside)[1]


def _without(key: str, gone: Callable[[str], bool]) -> str:
    return " ".join(word for word in key.split() if not gone(word))
