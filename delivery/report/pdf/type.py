"""Setting type: text to lines of shaped glyphs, in any script and direction, and lines onto a page."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from itertools import groupby, islice
from pathlib import Path
from typing import Any, NamedTuple

import uharfbuzz as hb
from reportlab.lib.colors import HexColor
from reportlab.pdfbase.ttfonts import ShapeData, ShapedStr

from delivery.report.font_files import INVISIBLE, WORLD_LAST
from delivery.report.pdf.bidi import base_level, visual_runs
from delivery.report.pdf.fonts import REPLACEMENT, Face, FontBook

ELLIPSIS = "\u2026"
FEATURES = {"kern": True, "liga": False, "dlig": False, "clig": False}
"""Latin letters stay single, so that text copied from the sheet is the text; joining scripts join by other features."""

_WIDE = r"\u3000-\u30ff\u3400-\u9fff\uac00-\ud7af\uf900-\ufaff\uff00-\uffef"
_PIECES = re.compile(
    rf"[^\S\u00a0]+|[{_WIDE}][\u3001\u3002\uff0c\uff01\uff1f\u30fc\u300d\u300f\uff09]*|(?:[^\s{_WIDE}]|\u00a0)+"
)
"""White space that may end a line; a wide character with what must follow it; any other word."""


@dataclass(frozen=True)
class Style:
    """Size, weight and colour of a text."""

    size: float
    leading: float
    weight: str = "regular"
    colour: str = "#16181a"
    base: int | None = None
    """Direction of the paragraph: 0 left to right, 1 right to left, None by its first strong letter."""

    def strong(self) -> Style:
        """The same style in strong weight."""
        return replace(self, weight="strong")

    def ink(self, colour: str) -> Style:
        """The same style in another colour."""
        return replace(self, colour=colour)


@dataclass(frozen=True)
class Run:
    """Glyphs of one font, left to right, ready to print."""

    face: Face
    glyphs: Any
    """A string of printing characters that carries its positions."""
    width: float
    spells: str
    """Text for copying and searching, where the printed glyphs differ (joined, stacked letters); else empty."""


@dataclass(frozen=True)
class Line:
    """A set line of text."""

    runs: tuple[Run, ...]
    style: Style
    width: float

    def draw(self, canvas: Any, x: float, y: float) -> None:
        """Print with the baseline's left end at *x*, *y*, in points from the page's lower left."""
        for run in self.runs:
            self._draw(canvas, run, x, y)
            x += run.width

    def _draw(self, canvas: Any, run: Run, x: float, y: float) -> None:
        text = canvas.beginText(x, y)
        text.setFont(run.face.name, self.style.size)
        text.setFillColor(ink(self.style.colour))
        text.textOut(run.glyphs)
        if run.spells:
            spelt = (b"\xfe\xff" + run.spells.encode("utf-16-be")).hex().upper()
            canvas.addLiteral(f"/Span <</ActualText <{spelt}>>> BDC")
        canvas.drawText(text)
        if run.spells:
            canvas.addLiteral("EMC")


class Setter:
    """Sets type in one document's fonts and caches shaped text."""

    def __init__(self, book: FontBook) -> None:
        self._book = book
        self._lines: dict[tuple[str, Style], Line] = {}
        self._paragraphs: dict[tuple[str, Style, float, int], list[Line]] = {}

    def line(self, text: str, style: Style) -> Line:
        """*text* in one line, however long."""
        if (text, style) not in self._lines:
            runs = tuple(self._runs(text, style))
            self._lines[text, style] = Line(runs, style, sum(run.width for run in runs))
        return self._lines[text, style]

    def width(self, text: str, style: Style) -> float:
        """Width of *text* in points."""
        return self.line(text, style).width

    def fitted(self, text: str, style: Style, width: float) -> Line:
        """*text* in one line of at most *width*, its end given up for an ellipsis where it must."""
        return self.lines(text, style, width, 1)[0]

    def lines(self, text: str, style: Style, width: float, most: int = 14) -> list[Line]:
        """*text* broken to *width* points; never more than *most* lines, the last then ends in an ellipsis."""
        key = (text, style, width, most)
        if key not in self._paragraphs:
            self._paragraphs[key] = self._paragraph(text, style, width, most)
        return self._paragraphs[key]

    def _paragraph(self, text: str, style: Style, width: float, most: int) -> list[Line]:
        style = replace(style, base=base_level(text) if style.base is None else style.base)
        rows = list(islice(self._broken(text, style, width), most + 1))
        if len(rows) > most:
            rows = [*rows[: most - 1], self._shortened(rows[most - 1], style, width)]
        return [self.line(row, style) for row in rows or [""]]

    def _shortened(self, row: str, style: Style, width: float) -> str:
        while row and self.width(row + ELLIPSIS, style) > width:
            row = row[:-1].rstrip()
        return row + ELLIPSIS

    def _broken(self, text: str, style: Style, width: float) -> Iterator[str]:
        """Rows of pieces whose widths add up: no piece is shaped twice, and no script joins across them."""
        row, used = "", 0.0
        for piece in _PIECES.findall(text):
            for part in self._parts(piece, style, width):
                if row.strip() and used + self.width(part.rstrip(), style) > width:
                    yield row.strip()
                    row, used = "", 0.0
                row += part
                used += self.width(part, style) if row.strip() else 0.0
        if row.strip():
            yield row.strip()

    def _parts(self, piece: str, style: Style, width: float) -> list[str]:
        """A word, or its pieces when it is wider than the column: at joints if there are any, else anywhere."""
        if self.width(piece, style) <= width:
            return [piece]
        parts: list[str] = []
        for joint in re.findall(r"[^\-_/.,:]*[\-_/.,:]|[^\-_/.,:]+", piece):
            parts += [joint] if self.width(joint, style) <= width else self._anywhere(joint, style, width)
        return parts

    def _anywhere(self, piece: str, style: Style, width: float) -> list[str]:
        parts: list[str] = []
        row = ""
        for cluster in _clusters(piece):
            if row and self.width(row + cluster, style) > width:
                parts.append(row)
                row = ""
            row += cluster
        return [*parts, row]

    def _runs(self, text: str, style: Style) -> Iterator[Run]:
        for stretch, level in visual_runs(text, style.base):
            faces = list(self._by_font(stretch))
            for part, file in reversed(faces) if level % 2 else faces:
                yield from _shaped(part, self._book.face(file, style.weight), style.size, right_to_left=bool(level % 2))

    def _by_font(self, text: str) -> Iterator[tuple[str, Path]]:
        """Cut where the font changes. Marks and punctuation stay with the letters before them if they can."""
        if text.isascii() and text.isprintable():
            yield text, self._book.latin
            return
        homes: list[tuple[str, Path]] = []
        for character in text:
            homes += self._home(character, homes[-1][1] if homes else None)
        for file, group in groupby(homes, key=lambda home: home[1]):
            yield "".join(character for character, _ in group), file

    def _home(self, character: str, before: Path | None) -> list[tuple[str, Path]]:
        if before is not None and self._book.has(before, character) and _leans(character, before.name == WORLD_LAST):
            return [(character, before)]
        if (home := self._book.home(character)) is not None:
            return [(character, home)]
        return [] if INVISIBLE.fullmatch(character) else [(REPLACEMENT, self._book.latin)]


@cache
def ink(colour: str) -> Any:
    """The PDF library's colour of '#rrggbb', parsed once."""
    return HexColor(colour)


def _leans(character: str, on_emoji: bool) -> bool:
    """Whether a character would rather stay in the font before it; pictures keep only their own modifiers."""
    kind = unicodedata.category(character)
    return kind[0] == "M" or kind == "Cf" or (not on_emoji and kind[0] in "PN")


def _clusters(text: str) -> list[str]:
    """Letters with the marks that belong to them."""
    return re.findall(r".[\u0300-\u036f\u0591-\u05c7\u064b-\u065f\u0900-\u0dff\u0e31-\u0e4e\u200c\u200d\ufe0f]*", text)


def _shaped(text: str, face: Face, size: float, *, right_to_left: bool) -> Iterator[Run]:
    """*text* as glyphs, cut into runs, each with the text it represents."""
    buffer = hb.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    buffer.direction = "rtl" if right_to_left else "ltr"
    hb.shape(face.hb_font, buffer, FEATURES)
    glyphs = list(zip(buffer.glyph_infos, buffer.glyph_positions, strict=True))
    spelt = _spelt(text, [info.cluster for info, _ in glyphs])
    made = [_Glyph.of(face, text, spelt, info, place) for info, place in glyphs]
    for _, group in groupby(made, key=lambda glyph: glyph.cluster if glyph.spells else -1):
        row = list(group)
        printing = ShapedStr("".join(glyph.character for glyph in row), [glyph.place for glyph in row])
        yield Run(face, printing, sum(glyph.place.x_advance for glyph in row) * size / 1000, row[0].spells)


def _spelt(text: str, clusters: list[int]) -> dict[int, str]:
    """The characters of each cluster, by the index of its first."""
    starts = sorted(set(clusters))
    return {start: text[start:end] for start, end in zip(starts, [*starts[1:], len(text)], strict=True)}


class _Glyph(NamedTuple):
    character: str
    place: Any
    cluster: int
    spells: str

    @classmethod
    def of(cls, face: Face, text: str, spelt: dict[int, str], info: Any, place: Any) -> _Glyph:
        cluster, scale = info.cluster, face.ttf.pdfScale
        character = face.character(info.codepoint, text[cluster], place.x_advance)
        width = face.ttf.face.charWidths[ord(character)]
        moved = (place.x_advance, place.y_advance, place.x_offset, place.y_offset)
        return cls(
            character,
            ShapeData(cluster, *(scale(by) if by else 0 for by in moved), width),
            cluster,
            "" if spelt[cluster] == character else spelt[cluster],
        )
