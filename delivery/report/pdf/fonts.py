"""The fonts of one PDF document: cut to its text, set at two weights, registered for printing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any
from unicodedata import normalize

import uharfbuzz as hb
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from delivery.report.font_files import covered, cut, font_files

if TYPE_CHECKING:
    from delivery.report.pdf.shaping import Stretch

WEIGHTS: Mapping[str, int] = {"regular": 400, "strong": 600}
FIRST_PRIVATE = 0xE000
REPLACEMENT = "\ufffd"
ALWAYS = "".join(map(chr, range(0x20, 0x7F))) + f"{REPLACEMENT}\u2026\u2212\u2192\u25cc"
"""What layout adds by itself: punctuation, ellipsis, minus, arrow, and the circle that carries a mark alone."""


@dataclass
class Face:
    """One font at one weight, for one document: what shaping needs and what the PDF needs."""

    name: str
    file: Path
    ttf: Any
    hb_font: Any
    characters: frozenset[int]
    private: dict[int, str] = field(default_factory=dict)
    """Glyphs without a character (joined, stacked) -> a private character of this document."""
    glyphs: dict[tuple[int, str, tuple[int, int, int, int]], tuple[str, Any]] = field(default_factory=dict)
    """What `shaping` made of each glyph."""
    shaped: dict[tuple[str, str | None, bool], tuple[Stretch, ...]] = field(default_factory=dict)
    """What `shaping` made of each text, by script and direction."""

    def character(self, glyph: int, wanted: str, advance: int) -> str:
        """The character that makes the PDF print *glyph*: *wanted* itself where it can."""
        known = self.ttf.face.charToGlyph
        if known.get(ord(wanted)) == glyph and ord(wanted) <= 0xFFFF:  # the PDF's map to text ends there
            return wanted
        if glyph not in self.private:
            private = next(code for code in range(FIRST_PRIVATE + len(self.private), 0xF8FF) if code not in known)
            known[private] = glyph
            self.ttf.face.charWidths[private] = self.ttf.pdfScale(advance)
            self.private[glyph] = chr(private)
        return self.private[glyph]


class FontBook:
    """The fonts of one document, cut to *text* and registered for printing."""

    def __init__(self, text: Iterable[str], lang: str) -> None:
        joined = "".join(text)
        apart = normalize("NFKD", joined) + normalize("NFD", joined)  # shaping takes some letters apart
        self._wanted = frozenset(map(ord, set(joined) | set(apart) | set(ALWAYS)))
        self._files = font_files(lang)
        self._faces: dict[tuple[Path, str], Face] = {}
        self._homes: dict[str, Path | None] = {}

    def has(self, file: Path, character: str) -> bool:
        """True if the font has the character."""
        return ord(character) in covered(file)

    def home(self, character: str) -> Path | None:
        """The first font that has *character*; None when no font has."""
        if character not in self._homes:
            self._homes[character] = next((file for file in self._files if self.has(file, character)), None)
        return self._homes[character]

    @property
    def latin(self) -> Path:
        """The font of Latin, Greek and Cyrillic."""
        return self._files[0]

    def is_latin(self, text: str) -> bool:
        """True if the Latin font has every character of *text*."""
        return covered(self.latin).issuperset(map(ord, text))

    def face(self, file: Path, weight: str) -> Face:
        """The face of *file* in *weight*, made when first used."""
        if (file, weight) not in self._faces:
            self._faces[file, weight] = self._make(file, weight)
        return self._faces[file, weight]

    def _make(self, file: Path, weight: str) -> Face:
        characters = self._wanted & covered(file)
        data = cut(file, WEIGHTS[weight], characters)
        name = f"{file.stem.partition('[')[0]}-{weight.capitalize()}"
        ttf = TTFont(name, BytesIO(data), shapable=True)
        ttf.face.name = name.encode("ascii")  # cutting leaves the variable font's own name on both weights
        ttf.unregister()
        pdfmetrics.registerFont(ttf)
        return Face(name, file, ttf, hb.Font(hb.Face(hb.Blob(data))), characters)
