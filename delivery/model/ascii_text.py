"""Transliterate text to ASCII, for file names and for chunks that hold nothing else. Pure."""

from __future__ import annotations

import unicodedata

LATIN = str.maketrans(
    {
        "ß": "ss", "ẞ": "SS", "æ": "ae", "Æ": "AE", "œ": "oe", "Œ": "OE", "ø": "o", "Ø": "O", "đ": "d", "Đ": "D",
        "ð": "d", "Ð": "D", "þ": "th", "Þ": "Th", "ł": "l", "Ł": "L", "ħ": "h", "Ħ": "H", "ı": "i", "ŋ": "ng",
        "‘": "'", "’": "'", "‚": "'", "‛": "'", "“": "'", "”": "'", "„": "'", "‟": "'", "«": "'", "»": "'", "′": "'",
        "‐": "-", "‑": "-", "‒": "-", "–": "-", "—": "-", "―": "-", "−": "-", "⁄": "-", "·": "-", "•": "-", "×": "x",
        "Ŋ": "NG",
    }
)  # fmt: skip
"""Letters and marks that no Unicode decomposition turns into ASCII. Common practice, no source."""

_SPELT = ("GREEK", "CYRILLIC")
"""European alphabets that can be transliterated letter by letter; other scripts give unrecognisable names."""


def in_ascii(text: str) -> str:
    """Transliterate to ASCII: Latin letters lose their accents, other scripts go letter by letter.

    It is neither a translation nor a reading of names: '港の算術' becomes the names of its characters. Emoji are
    left out.
    """
    return "".join(map(_in_ascii, unicodedata.normalize("NFC", text)))


def sayable(text: str) -> bool:
    """True if ASCII can represent *text*: it has letters or digits, and all are Latin, Greek or Cyrillic."""
    letters = [char for char in unicodedata.normalize("NFC", text) if unicodedata.category(char)[0] in "LN"]
    return bool(letters) and all(_in_latin(char) or _script(char) in _SPELT for char in letters)


def _in_ascii(char: str) -> str:
    if char.isascii():
        return char
    latin = _in_latin(char)
    if latin is not None:
        return latin
    if unicodedata.category(char)[0] not in "LNM":
        return ""
    from anyascii import anyascii

    return "".join(c for c in anyascii(char) if c.isascii())


def _in_latin(char: str) -> str | None:
    """ASCII letters behind accents and ligatures; empty for marks alone, None for other scripts."""
    bare = unicodedata.normalize("NFKD", char).translate(LATIN)
    latin = "".join(c for c in bare if not unicodedata.combining(c))
    return latin if latin.isascii() else None


def _script(char: str) -> str:
    return unicodedata.name(char, "").partition(" ")[0]
