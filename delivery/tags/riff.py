"""Tags of a WAV file read by broadcast and desktop programs: LIST-INFO, ``bext`` and ``axml``."""

from __future__ import annotations

import struct
from collections.abc import Mapping
from pathlib import Path
from typing import BinaryIO

from delivery.model.ascii_text import sayable
from delivery.model.figure import Measurement
from delivery.tags import axml, bext, info
from delivery.tags.chunks import Chunk, Layout, body_of, layout_of
from delivery.tags.fields import FIELDS, from_names, held, plain_name
from delivery.tags.rewrite import New, place, rewrite

COLUMNS = ("info", "bext", "axml")

_FLOAT, _EXTENSIBLE = 3, 0xFFFE


def write(path: Path, values: Mapping[str, str], picture: bytes | None, measurement: Measurement | None) -> None:  # noqa: ARG001
    """Add the fields that these chunks store; other chunks, and entries of other ids, are unchanged.

    Parameters
    ----------
    values : field id -> text
    picture : not stored; accepted so that all tag formats have one signature
    measurement : of this very file, for the loudness fields of ``bext``; None leaves them unchanged

    Raises
    ------
    Unusable : unreadable chunks, or a plain file would exceed 4 GiB
    """
    layout = layout_of(path)
    with path.open("rb") as file:
        source = _Source(file, layout, path)
        wanted = {
            b"LIST": _info(source, values),
            b"bext": _bext(source, values, measurement),
            b"axml": _axml(source, values),
        }
        changed = {name: body for name, body in wanted.items() if body and [body] != source.bodies(name)}
    if not changed:
        return
    gone = [chunk for name in changed for chunk in source.chunks(name)]
    before = [New(name, body) for name, body in changed.items() if name == b"bext"]
    after = [New(name, body) for name, body in changed.items() if name != b"bext"]
    rewrite(path, layout, place(layout, before, after, gone))


def read_columns(path: Path) -> dict[str, dict[str, str]]:
    """Fields by column of the table.

    Raises
    ------
    Unusable : unreadable chunks
    """
    with path.open("rb") as file:
        source = _Source(file, layout_of(path), path)
        code = axml.isrc_of(source.first(b"axml"))
        return {
            "info": _info_fields(source.entries()),
            "bext": _fields(bext.parse(source.first(b"bext")).texts(), "bext"),
            "axml": {"isrc": code} if code else {},
        }


def read_isrcs(path: Path) -> tuple[str, ...]:
    """Every recording code in the ``axml`` chunk; the table's column has the first.

    Raises
    ------
    Unusable : unreadable chunks
    """
    with path.open("rb") as file:
        return axml.isrcs_of(_Source(file, layout_of(path), path).first(b"axml"))


def read_misplaced_isrc(path: Path) -> str:
    """A recording code in INFO's entry for the source; empty when there is none.

    Raises
    ------
    Unusable : unreadable chunks
    """
    with path.open("rb") as file:
        return info.misplaced_isrc(_Source(file, layout_of(path), path).entries())


def read_picture(path: Path) -> bytes | None:  # noqa: ARG001 - all tag formats are called alike
    """Always empty: these chunks store no picture."""
    return None


def read_bext(path: Path) -> bext.Bext:
    """The broadcast chunk; an empty one when the file has none.

    Raises
    ------
    Unusable : unreadable chunks
    """
    with path.open("rb") as file:
        return bext.parse(_Source(file, layout_of(path), path).first(b"bext"))


class _Source:
    """Chunk bodies of an open file."""

    def __init__(self, file: BinaryIO, layout: Layout, path: Path) -> None:
        self._file, self._layout, self._path = file, layout, path

    def chunks(self, id: bytes) -> tuple[Chunk, ...]:
        return self._layout.all_of(id, kind=b"INFO" if id == b"LIST" else b"")

    def bodies(self, id: bytes) -> list[bytes]:
        return [body_of(self._file, chunk, self._path) for chunk in self.chunks(id)]

    def first(self, id: bytes) -> bytes:
        """Empty if there is none."""
        return next(iter(self.bodies(id)), b"")

    def entries(self) -> list[info.Entry]:
        return [entry for body in self.bodies(b"LIST") for entry in info.entries(body)]


def _info(source: _Source, values: Mapping[str, str]) -> bytes:
    texts, old = _named(values, "info"), source.entries()
    if (code := info.misplaced_isrc(old)) and values.get("isrc") not in (None, "", code):
        old = [entry for entry in old if entry[0] != b"ISRC"]  # readers would use another recording's code
    return info.merged(old, texts) if texts else b""


def _bext(source: _Source, values: Mapping[str, str], measurement: Measurement | None) -> bytes:
    old, texts = source.first(b"bext"), _named(values, "bext")
    if "Description" in texts and not sayable(texts["Description"]):  # a code is more useful than question marks
        number = values.get("track_number", "")
        texts["Description"] = values.get("isrc", "") or (f"Track {number}" if number else "")
    if not (texts or measurement):
        return b""
    return bytes(bext.filled(bext.parse(old), texts, measurement, _process(source.first(b"fmt "))))


def _info_fields(entries: list[info.Entry]) -> dict[str, str]:
    """A recording code in the entry for the source is better than none: read, never written."""
    code = info.misplaced_isrc(entries)
    return _fields(info.texts(entries), "info") | ({"isrc": code} if code else {})


def _axml(source: _Source, values: Mapping[str, str]) -> bytes:
    """The new chunk; empty if there is nothing to store, or no place for it in the existing chunk."""
    isrc = held(values, "axml").get("isrc", "")
    return (axml.storable(isrc) and axml.with_isrc(source.first(b"axml"), isrc)) or b""


def _process(fmt: bytes) -> str:
    """The processing that made this file, after EBU R 98, as far as its format chunk states it."""
    if len(fmt) < 16:
        return ""
    tag, channels, rate_hz, _, _, bits = struct.unpack_from("<HHIIHH", fmt)
    tag = struct.unpack_from("<H", fmt, 24)[0] if tag == _EXTENSIBLE and len(fmt) >= 26 else tag
    return bext.history_line(rate_hz, bits, channels, "floating point" if tag == _FLOAT else "")


def _named(values: Mapping[str, str], column: str) -> dict[str, str]:
    """Texts by this column's names for the fields."""
    return {
        name_there: text for name, text in held(values, column).items() for name_there in FIELDS[name].places(column)
    }


def _fields(texts: Mapping[str, str], column: str) -> dict[str, str]:
    fields = from_names({plain_name(name): text for name, text in texts.items()}, column)
    if column == "bext" and not axml.storable(fields.get("isrc", "")):
        fields.pop("isrc", None)  # most programs store a reference of their own in that field
    return fields
