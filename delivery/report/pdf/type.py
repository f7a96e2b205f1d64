"""Setting type: text to lines of shaped glyphs, in any script and direction, and lines onto a page."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import groupby, islice
from pathlib import Path
from typing import Any, NamedTuple

from reportlab.lib.colors import HexColor
from reportlab.lib.rl_accel import fp_str
from reportlab.pdfbase.ttfonts import ShapedStr

from delivery.report.font_files import INVISIBLE, WORLD_LAST
from delivery.report.pdf.bidi import base_level, visual_runs
from delivery.report.pdf.fonts import REPLACEMENT, Face, FontBook
from delivery.report.pdf.shaping import shaped, shaped_by_words

ELLIPSIS = "\u2026"

_WIDE = r"\u3000-\u30ff\u3400-\u9fff\uac00-\ud7af\uf900-\ufaff\uff00-\uffef"
_PIECES = re.compile(
    rf"[^\S\u00a0]+|[{_WIDE}][\u3001\u3002\uff0c\uff01\uff1f\u30fc\u300d\u300f\uff09]*|(?:[^\s{_WIDE}]|\u00a0)+"
)
"""White space that may end a line; a wide character with what must follow it; any other word."""


class Style(NamedTuple):
    """Size, weight and colour of a text."""

    size: float
    leading: float
    weight: str = "regular"
    colour: str = "#16181a"
    base: int | None = None
    """Direction of the paragraph: 0 left to right, 1 right to left, None by its first strong letter."""

    def strong(self) -> Style:
        """The same style in strong weight."""
        return self._replace(weight="strong")

    def ink(self, colour: str) -> Style:
        """The same style in another colour."""
        return self._replace(colour=colour)


@dataclass
class Run:
    """Glyphs of one font, left to right, ready to print in one document."""

    face: Face
    glyphs: Any
    """A string of printing characters that carries its positions."""
    width: float
    spells: str
    """Text for copying and searching, where the printed glyphs differ (joined, stacked letters); else empty."""
    operators: str = ""
    """What prints it wherever the pen is; empty until it was printed once: heads, labels and verdicts recur."""


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
        run.operators = run.operators or self._operators(canvas, run)
        if run.spells:
            spelt = (b"\xfe\xff" + run.spells.encode("utf-16-be")).hex().upper()
            canvas.addLiteral(f"/Span <</ActualText <{spelt}>>> BDC")
        canvas.addLiteral(f"BT 1 0 0 1 {fp_str(x, y)} Tm {run.operators}")
        if run.spells:
            canvas.addLiteral("EMC")

    def _operators(self, canvas: Any, run: Run) -> str:
        """Colour, font and glyphs, as the PDF library writes them behind the position."""
        text = canvas.beginText(0, 0)
        text.setFont(run.face.name, self.style.size)
        text.setFillColor(ink(self.style.colour))
        text.textOut(run.glyphs)
        return str(text.getCode().partition(" Tm ")[2])


class Setter:
    """Sets type in one document's fonts and caches shaped text."""

    def __init__(self, book: FontBook) -> None:
        self._book = book
        self._lines: dict[tuple[str, Style], Line] = {}
        self._paragraphs: dict[tuple[str, Style, float, int], list[Line]] = {}

    def line(self, text: str, style: Style) -> Line:
        """*text* in one line, however long."""
        key = (text, style)
        line = self._lines.get(key)
        if line is None:
            runs = tuple(self._runs(text, style))
            line = self._lines[key] = Line(runs, style, sum(run.width for run in runs))
        return line

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
        style = style._replace(base=base_level(text)) if style.base is None else style
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
                wide, bare = self.width(part, style), part.rstrip()
                if row.strip() and used + (wide if bare == part else self.width(bare, style)) > width:
                    yield row.strip()
                    row, used = "", 0.0
                row += part
                used += wide if row.strip() else 0.0
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
                yield from self._set(
                    part, self._book.face(file, style.weight), style.size, right_to_left=level % 2 == 1
                )

    def _set(self, text: str, face: Face, size: float, *, right_to_left: bool) -> Iterator[Run]:
        by_words = face.file == self._book.latin and not right_to_left
        found = shaped_by_words(text, face) if by_words else shaped(text, face, right_to_left=right_to_left)
        for stretch in found:
            printing = ShapedStr(stretch.characters, [*stretch.places])
            yield Run(face, printing, stretch.advance * size / 1000, stretch.spells)

    def _by_font(self, text: str) -> Iterator[tuple[str, Path]]:
        """Cut where the font changes. Marks and punctuation stay with the letters before them if they can."""
        if self._book.is_latin(text):
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
