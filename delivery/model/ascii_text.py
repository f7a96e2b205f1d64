"""Transliterate text to ASCII, for file names and for chunks that hold nothing else. Pure."""

from __future__ import annotations

import re
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


_HAN = "\u3005-\u3007\u3021-\u3029\u3038-\u303b\u3400-\u4dbf\u4e00-\u9fff\uf900-\ufaff\U00020000-\U000323af"
_KANA = "\u3040-\u30ff\u31f0-\u31ff\uff66-\uff9f"
"""Blocks of Han characters with their marks, and of kana: Unicode's Blocks.txt."""
_HAN_WORD = re.compile(f"[{_KANA}]*[{_HAN}][{_HAN}{_KANA}]*")
"""Han characters with the kana that belong to their words."""


def in_ascii(text: str) -> str:
    """Transliterate to ASCII: Latin letters lose their accents, other scripts go letter by letter.

    Emoji are left out, and so are words with Han characters: how these are read depends on the language and the word
    ('港' is read minato, kou or gang), so letters would pass off a guess as the title.
    """
    read = _HAN_WORD.sub(" ", unicodedata.normalize("NFC", text))
    return "".join(map(_in_ascii, read)).strip() if read != text else "".join(map(_in_ascii, text))


def has_unread(text: str) -> bool:
    """True if *text* has words that `in_ascii` leaves out, for their reading is not known."""
    return bool(_HAN_WORD.search(unicodedata.normalize("NFC", text)))


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
