"""Fonts for any script: found by name, cut to the characters a sheet prints, set at two weights.

They lie in ``fonts/`` beside this module; only the large East Asian ones come from a package of their own.

One font stands for Latin, Greek and Cyrillic; every other character goes to the first font that has it. Variable fonts
are cut and pinned to one weight in a single step by HarfBuzz (milliseconds even for the large East Asian ones), which
keeps the layout features that shaping needs.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from importlib.util import find_spec
from io import BytesIO
from pathlib import Path
from typing import Any
from unicodedata import normalize

import uharfbuzz as hb
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from delivery.errors import Unfinished

FOLDER = Path(__file__).parents[1] / "fonts"
LATIN = "IBMPlexSans[wdth,wght].ttf"
WORLD_FIRST, WORLD_LAST = "NotoSans[wght].ttf", "NotoEmoji[wght].ttf"
EAST_ASIA = "justmytype_intl_cjk"
EAST_ASIAN_FONTS: Mapping[str, str] = {
    region: f"fonts/ofl/notosans{region.lower()}/NotoSans{region}[wght].ttf" for region in ("JP", "KR", "SC", "TC")
}
WEIGHTS: Mapping[str, int] = {"regular": 400, "strong": 600}
FIRST_PRIVATE = 0xE000
REPLACEMENT = "\ufffd"
ALWAYS = "".join(map(chr, range(0x20, 0x7F))) + f"{REPLACEMENT}\u2026\u2212\u2192\u25cc"
"""What layout adds by itself: punctuation, ellipsis, minus, arrow, and the circle that carries a mark alone."""


def package_folder(package: str) -> Path | None:
    """Where an installed package keeps its files; nothing of it is run."""
    spec = find_spec(package)
    places = spec.submodule_search_locations if spec else None
    return Path(next(iter(places))) if places else None


def font_files(lang: str) -> tuple[Path, ...]:
    """Every font, in the order in which they are searched for a character.

    Raises
    ------
    Unfinished : the one font that nothing can be printed without is missing
    """
    if not (FOLDER / LATIN).is_file():
        raise Unfinished(LATIN, "no such font", "the font of the sheet", "Install the program again, whole.")
    order = {LATIN: 0, WORLD_FIRST: 1, WORLD_LAST: 3}
    found = sorted(FOLDER.glob("*.ttf"), key=lambda path: (order.get(path.name, 2), path.name))
    east = package_folder(EAST_ASIA)
    if east is not None:
        found += [path for path in (east / EAST_ASIAN_FONTS[region] for region in regions(lang)) if path.is_file()]
    return tuple(found)


def regions(lang: str) -> tuple[str, ...]:
    """Which forms of the shared ideographs to prefer: the document's language decides."""
    tag = lang.lower().replace("_", "-")
    first = "JP"
    if tag.startswith("ko"):
        first = "KR"
    elif tag.startswith("zh"):
        first = "TC" if any(mark in tag for mark in ("hant", "-tw", "-hk", "-mo")) else "SC"
    return (first, *(region for region in ("JP", "SC", "TC", "KR") if region != first))


@lru_cache(maxsize=64)
def _face(path: Path) -> Any:
    return hb.Face(hb.Blob.from_file_path(str(path)))


@lru_cache(maxsize=64)
def covered(path: Path) -> frozenset[int]:
    return frozenset(_face(path).unicodes)


@lru_cache(maxsize=256)
def cut(path: Path, weight: int, characters: frozenset[int]) -> bytes:
    """A static TrueType font of *characters* alone, at *weight*, its other axes at their defaults."""
    face = _face(path)
    wanted = hb.SubsetInput()
    wanted.sets(hb.SubsetInputSets.UNICODE).update(characters)
    wanted.pin_all_axes_to_default(face)
    for axis in face.axis_infos:
        if axis.tag == "wght":
            wanted.pin_axis_location(face, "wght", min(max(weight, axis.min_value), axis.max_value))
    return bytes(hb.subset(face, wanted).blob.data)


@dataclass
class Face:
    """One font at one weight, for one document: what shaping needs and what the PDF needs."""

    name: str
    ttf: Any
    hb_font: Any
    characters: frozenset[int]
    private: dict[int, str] = field(default_factory=dict)
    """Glyphs that no character stands for (joined, stacked) -> a private character of this document."""

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
        said = "".join(text)
        apart = normalize("NFKD", said) + normalize("NFD", said)  # shaping takes some letters apart
        self._wanted = frozenset(map(ord, set(said) | set(apart) | set(ALWAYS)))
        self._files = font_files(lang)
        self._faces: dict[tuple[Path, str], Face] = {}
        self._homes: dict[str, Path | None] = {}

    def has(self, file: Path, character: str) -> bool:
        return ord(character) in covered(file)

    def home(self, character: str) -> Path | None:
        """The first font that has *character*; None when no font has."""
        if character not in self._homes:
            self._homes[character] = next((file for file in self._files if self.has(file, character)), None)
        return self._homes[character]

    @property
    def latin(self) -> Path:
        return self._files[0]

    def face(self, file: Path, weight: str) -> Face:
        if (file, weight) not in self._faces:
            self._faces[file, weight] = self._make(file, weight)
        return self._faces[file, weight]

    def _make(self, file: Path, weight: str) -> Face:
        characters = self._wanted & covered(file)
        data = cut(file, WEIGHTS[weight], characters)
        name = f"{file.name.partition('[')[0]}-{weight.capitalize()}"
        ttf = TTFont(name, BytesIO(data), shapable=True)
        ttf.face.name = name.encode("ascii")  # cutting leaves the variable font's own name on both weights
        ttf.unregister()
        pdfmetrics.registerFont(ttf)
        return Face(name, ttf, hb.Font(hb.Face(hb.Blob(data))), characters)
