"""Glyphs that a reader's machine may lack travel in the page: fonts cut to exactly the characters it needs. Pure.

Latin, Greek and Cyrillic are on every machine that shows web pages; all else comes along, so that a Japanese title is
read everywhere. Bytes depend on the text and the shipped fonts alone.
"""

from __future__ import annotations

import base64
from collections.abc import Iterable
from itertools import groupby
from pathlib import Path
from unicodedata import normalize

from delivery.report.font_files import covered, cut, font_files

EVERYWHERE = frozenset(
    (*range(0x0530), *range(0x1E00, 0x200C), *range(0x2010, 0x2070), *map(ord, "€№™©℗↑↓↕→←−×±≤≥–—…"))
)
"""Latin with its extensions, Greek, Cyrillic, general punctuation, and signs of every system font."""
FAMILY = "sheet"
WEIGHT = 400


def font_faces(texts: Iterable[str], lang: str) -> str:
    """``@font-face`` rules for the characters of *texts*, one for each font; empty where none has to travel."""
    needed = {ord(character) for text in texts for character in text} - EVERYWHERE
    if not needed:
        return ""
    homes: dict[Path, set[int]] = {}
    files = font_files(lang)
    for character in sorted(needed):
        home = next((file for file in files if character in covered(file)), None)
        if home is not None:
            homes.setdefault(home, set()).add(character)
    return "".join(_face(file, frozenset(characters)) for file, characters in homes.items())


def _face(file: Path, characters: frozenset[int]) -> str:
    """With the font's joiners and circle, and the letters that shaping takes some characters apart into.

    They are in the range too: browsers look up each of them there, not in the font alone.
    """
    text = "".join(map(chr, sorted(characters)))
    apart = set(map(ord, normalize("NFKD", text) + normalize("NFD", text))) | {0x200C, 0x200D, 0x25CC}
    shaped = characters | ((apart & covered(file)) - EVERYWHERE)
    data = base64.b64encode(cut(file, WEIGHT, shaped, hints=False)).decode("ascii")
    return (
        f'@font-face {{ font-family: "{FAMILY}"; src: url(data:font/ttf;base64,{data}) format("truetype"); '
        f"unicode-range: {_ranges(sorted(shaped))}; }}\n"
    )


def _ranges(characters: list[int]) -> str:
    """'U+6E2F, U+7B97-7B98': neighbours together (CSS Fonts 4, unicode-range)."""
    runs = (
        [character for _, character in run] for _, run in groupby(enumerate(characters), key=lambda at: at[1] - at[0])
    )
    return ", ".join(f"U+{run[0]:X}" if len(run) == 1 else f"U+{run[0]:X}-{run[-1]:X}" for run in runs)
