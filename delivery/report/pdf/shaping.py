"""Text to glyphs: HarfBuzz chooses and places them, and each word is shaped once for a document, at any size."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from itertools import chain, groupby
from typing import TYPE_CHECKING, Any, NamedTuple

import uharfbuzz as hb
from reportlab.pdfbase.ttfonts import ShapeData

if TYPE_CHECKING:
    from delivery.report.pdf.fonts import Face

FEATURES = {"kern": True, "liga": False, "dlig": False, "clig": False}
"""Latin letters stay single, so that text copied from the sheet is the text; joining scripts join by other features."""
_WORDS = re.compile("(?:[^ ]| +(?=[\u0300-\u036f\u200d]))+| +")
"""Words, and blanks between them; a mark, or a joiner, belongs to the blank before it."""


class Stretch(NamedTuple):
    """Glyphs in a row, left to right."""

    characters: str
    """What makes the PDF print the glyphs."""
    places: tuple[Any, ...]
    """Of each glyph, as the PDF library reads them."""
    advance: float
    """In thousandths of the type's size."""
    spells: str
    """Text for copying and searching, where the printed glyphs differ (joined, stacked letters); else empty."""


def shaped(text: str, face: Face, *, right_to_left: bool = False) -> tuple[Stretch, ...]:
    """*text* as glyphs, cut into stretches, each with the text it represents."""
    return _shaped(text, face, _segment(text, right_to_left=right_to_left).script, right_to_left=right_to_left)


def shaped_by_words(text: str, face: Face) -> tuple[Stretch, ...]:
    """As `shaped`, left to right, in a font that spaces no letter differently beside a blank: words are repeated."""
    script = _segment(text, right_to_left=False).script
    words = (_shaped(word, face, script, right_to_left=False) for word in _WORDS.findall(text))
    return tuple(_joined(chain.from_iterable(words)))


def _shaped(text: str, face: Face, script: str | None, *, right_to_left: bool) -> tuple[Stretch, ...]:
    key = (text, script, right_to_left)
    found = face.shaped.get(key)
    if found is None:
        found = face.shaped[key] = tuple(_stretches(text, face, script, right_to_left=right_to_left))
    return found


def _segment(text: str, *, right_to_left: bool) -> Any:
    """*text* for HarfBuzz, in the script of its first letter."""
    buffer = hb.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    buffer.direction = "rtl" if right_to_left else "ltr"
    return buffer


def _joined(stretches: Iterable[Stretch]) -> Iterator[Stretch]:
    """Neighbours that print the text itself become one."""
    for spells, group in groupby(stretches, key=lambda stretch: stretch.spells):
        row = list(group)
        if spells or len(row) == 1:
            yield from row
            continue
        characters, places, advances, _ = zip(*row, strict=True)
        yield Stretch("".join(characters), tuple(chain.from_iterable(places)), sum(advances), "")


def _stretches(text: str, face: Face, script: str | None, *, right_to_left: bool) -> Iterator[Stretch]:
    buffer = _segment(text, right_to_left=right_to_left)
    if script:
        buffer.script = script
    hb.shape(face.hb_font, buffer, FEATURES)
    infos = buffer.glyph_infos
    spelt = _spelt(text, [info.cluster for info in infos])
    made = [
        (info.cluster, spelt[info.cluster], *_glyph(face, info.codepoint, text[info.cluster], place.position))
        for info, place in zip(infos, buffer.glyph_positions, strict=True)
    ]
    for _, group in groupby(made, key=lambda glyph: -1 if glyph[1] == glyph[2] else glyph[0]):
        row = list(group)
        _, (spells, *_), characters, places = zip(*row, strict=True)
        own = "" if spells == characters[0] else spells
        yield Stretch("".join(characters), places, sum(place.x_advance for place in places), own)


def _spelt(text: str, clusters: list[int]) -> dict[int, str]:
    """The characters of each cluster, keyed by the index of its first character."""
    starts = sorted(set(clusters))
    return {start: text[start:end] for start, end in zip(starts, [*starts[1:], len(text)], strict=True)}


def _glyph(face: Face, glyph: int, wanted: str, moved: tuple[int, int, int, int]) -> tuple[str, Any]:
    """The character that prints a glyph, and its place.

    Parameters
    ----------
    moved : offset and advance, each across and up, in the font's units
    """
    key = (glyph, wanted, moved)
    if key not in face.glyphs:
        scale = face.ttf.pdfScale
        across, up, advance, upward = moved
        character = face.character(glyph, wanted, advance)
        width = face.ttf.face.charWidths[ord(character)]
        scaled = (scale(by) if by else 0 for by in (advance, upward, across, up))
        face.glyphs[key] = (character, ShapeData(0, *scaled, width))
    return face.glyphs[key]
