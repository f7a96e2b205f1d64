"""Contents of an MP4 file besides the audio: the tags of its ``ilst``, and atoms elsewhere; and their removal.

A foreign atom is turned into free space of the same size, filled with zeros: nothing moves, so the tables of audio
positions stay valid (ISO/IEC 14496-12, 8.1.2).
"""

from __future__ import annotations

import struct
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from delivery.model.carried import Item
from delivery.tags import mp4
from delivery.tags.fields import JOINT
from delivery.tags.guard import clear
from delivery.tags.kinds import item_of, size
from delivery.tags.picture import look

_TALKERS = frozenset((b"uuid", b"meta", b"udta", b"Xtra", b"XMP_"))
"""Atoms outside ``moov/udta/meta/ilst`` in which programs store their own texts."""
_PLAYED = frozenset((b"hdlr", b"free", b"skip", b"ilst"))
_MOST = 65_536


@dataclass(frozen=True, slots=True)
class _Atom:
    name: bytes
    start: int
    body: int
    end: int


def items(path: Path) -> tuple[Item, ...]:
    """Everything the file carries besides its audio.

    Raises
    ------
    Unusable : not an MP4 file, or unreadable atoms
    """
    file = mp4.load(path)
    found = [item for key, value in (file.tags or {}).items() for item in _tag(key, value)]
    with path.open("rb") as raw:
        return (*found, *(item for atom in _foreign(raw) for item in _atom(raw, atom)))


def strip(path: Path, gone: Collection[Item]) -> None:
    """Remove *gone* from our own copy at *path*.

    Raises
    ------
    Unusable : as `items`
    """
    file = mp4.load(path)
    if file.tags is not None:
        going = [key for key, value in file.tags.items() if any(item in gone for item in _tag(key, value))]
        with clear(path, "writing"):
            for key in going:
                del file.tags[key]
            if going:
                file.save(padding=lambda _: 0)
    with path.open("r+b") as raw:
        for atom in [atom for atom in _foreign(raw) if any(item in gone for item in _atom(raw, atom))]:
            raw.seek(atom.start + 4)
            raw.write(b"free")
            raw.seek(atom.body)
            raw.write(bytes(atom.end - atom.body))


def _tag(key: str, value: Any) -> Iterator[Item]:
    name = mp4.atom_name(key)
    if key == "covr":
        pictures = value if isinstance(value, list) else [value]
        yield from (Item("pictures", "MP4 covr", str(look(bytes(each)) or size(bytes(each)))) for each in pictures)
        return
    texts = mp4.texts(key, value)
    joint = "/" if key in ("trkn", "disk") else JOINT
    text = joint.join(text for text in texts.values() if text) or str(value)[:200]
    if item := item_of(name, text, f"MP4 {name.removeprefix('free:')}", "mp4", "free:"):
        yield item


def _foreign(file: BinaryIO) -> Iterator[_Atom]:
    """Atoms with texts of other programs, outside of the tag itself."""
    end = file.seek(0, 2)
    for atom in _inside(file, 0, end):
        if atom.name == b"moov":
            for child in _inside(file, atom.body, atom.end):
                if child.name == b"udta":
                    grand = _inside(file, child.body, child.end)
                    yield from (one for one in grand if one.name not in (b"meta", *_PLAYED))
                elif child.name == b"trak":
                    yield from (one for one in _inside(file, child.body, child.end) if one.name in _TALKERS)
                elif child.name in _TALKERS:
                    yield child
        elif atom.name in _TALKERS:
            yield atom


def _inside(file: BinaryIO, at: int, end: int) -> list[_Atom]:
    found: list[_Atom] = []
    while at + 8 <= end and len(found) < _MOST:
        file.seek(at)
        head = file.read(16)
        length, name = struct.unpack(">I4s", head[:8])
        body = at + 8
        if length == 1 and len(head) == 16:
            (length,), body = struct.unpack(">Q", head[8:]), at + 16
        stop = end if length == 0 else at + length
        if stop < body or stop > end:
            break
        found.append(_Atom(name, at, body, stop))
        at = stop
    return found


def _atom(file: BinaryIO, atom: _Atom) -> Iterator[Item]:
    file.seek(atom.body)
    body = file.read(min(atom.end - atom.body, 4096))
    if body.strip(b"\0"):
        name = atom.name.decode("latin-1")
        yield Item("others", f"MP4 atom {name}", f"{atom.end - atom.body} bytes")
