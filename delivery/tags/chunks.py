"""Positions of the chunks of a RIFF, RF64, BW64 or AIFF file. Reads headers only, and checks every size.

Sources: RIFF of 1991; EBU Tech 3306 (RF64, ``ds64``); ITU-R BS.2088 (BW64); AIFF 1.3 (the same, big-endian).
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import BinaryIO

from delivery.errors import Unusable
from delivery.tags.guard import MOST_BYTES, broken

UNKNOWN = 0xFFFFFFFF
"""A 32-bit size replaced by one in ``ds64``."""
MOST_CHUNKS = 4096
_SOUND = {b"WAVE": b"data", b"AIFF": b"SSND", b"AIFC": b"SSND"}
_KINDS = {b"RIFF": (b"WAVE",), b"RF64": (b"WAVE",), b"BW64": (b"WAVE",), b"FORM": (b"AIFF", b"AIFC")}


@dataclass(frozen=True, slots=True)
class Chunk:
    """Position and size of a chunk."""

    id: bytes
    start: int
    """First byte of the body, counted from the start of the file."""
    size: int
    """Bytes of the body, without the pad byte of an odd one."""
    kind: bytes = b""
    """Kind of a LIST, such as INFO."""
    wide: bool = False
    """The size is in ds64."""

    @property
    def end(self) -> int:
        """Index of the byte after the body."""
        return self.start + self.size


@dataclass(frozen=True, slots=True)
class Layout:
    """The chunks of a RIFF or AIFF file."""

    form: bytes
    """RIFF, RF64, BW64 or FORM."""
    kind: bytes
    """WAVE, AIFF or AIFC."""
    chunks: tuple[Chunk, ...]
    """In file order; exactly one is the audio."""

    @property
    def order(self) -> str:
        """Byte order of sizes, in struct notation."""
        return ">" if self.form == b"FORM" else "<"

    @property
    def sound(self) -> Chunk:
        """The chunk with the audio."""
        return next(chunk for chunk in self.chunks if chunk.id == _SOUND[self.kind])

    @property
    def tight(self) -> bool:
        """True if every chunk begins where the previous one, padded to even length, ends."""
        starts = [chunk.start for chunk in self.chunks]
        return starts[0] == 20 and all(b.start == a.end + a.size % 2 + 8 for a, b in pairwise(self.chunks))

    def all_of(self, *ids: bytes, kind: bytes = b"") -> tuple[Chunk, ...]:
        """Chunks of these ids; of a LIST, those of that *kind*."""
        return tuple(chunk for chunk in self.chunks if chunk.id in ids and chunk.kind == kind)


def is_chunked(path: Path) -> bool:
    """True for a file that begins as RIFF, RF64, BW64 or AIFF does."""
    with path.open("rb") as file:
        head = file.read(12)
    return head[8:12] in _KINDS.get(head[:4], ())


def layout_of(path: Path) -> Layout:
    """Find every chunk.

    Raises
    ------
    Unusable : not such a file; a chunk larger than the file; no audio; more than 4096 chunks
    """
    with path.open("rb") as file:
        head = file.read(12)
        form, kind = head[:4], head[8:12]
        if kind not in _KINDS.get(form, ()):
            raise broken(path, f"a file that begins {head[:12]!r}", "a RIFF, RF64, BW64 or AIFF file")
        layout = Layout(form, kind, tuple(_walk(file, path, form)))
    if not any(chunk.id == _SOUND[kind] for chunk in layout.chunks):
        raise broken(path, "no sound chunk", f"a {_SOUND[kind].decode()} chunk")
    return layout


def body_of(file: BinaryIO, chunk: Chunk, path: Path) -> bytes:
    """A chunk's body in memory, up to a size limit.

    Raises
    ------
    Unusable : more than 64 MiB
    """
    if chunk.size > MOST_BYTES:
        raise broken(path, f"a {_name(chunk.id)} chunk of {chunk.size} bytes", f"at most {MOST_BYTES} bytes")
    file.seek(chunk.start)
    return file.read(chunk.size)


def _walk(file: BinaryIO, path: Path, form: bytes) -> list[Chunk]:
    file_end = file.seek(0, 2)
    file.seek(4)
    order = ">" if form == b"FORM" else "<"
    (promised,) = struct.unpack(order + "I", file.read(4))
    wide = _ds64(file, path, file_end) if form in (b"RF64", b"BW64") else {}
    promised = wide.get(b"RIFF", [promised])[0]
    # A header off by a few bytes, or never finished, is common; each chunk is checked against the file itself.
    end = min(8 + promised, file_end) if promised else file_end
    chunks: list[Chunk] = []
    at = 12
    while at + 8 <= end and not _blank(file, at):
        chunk = _chunk(file, path, at, order, wide)
        if chunk.end > file_end:
            raise _lying(path, chunk, file_end)
        if len(chunks) == MOST_CHUNKS:
            raise broken(path, f"more than {MOST_CHUNKS} chunks", "a sound file")
        chunks.append(chunk)
        at = _next(file, chunk, end)
    return chunks


def _chunk(file: BinaryIO, path: Path, at: int, order: str, wide: dict[bytes, list[int]]) -> Chunk:
    file.seek(at)
    head = file.read(12)
    name, size = head[:4], struct.unpack(order + "I", head[4:8])[0]
    if not _printable(name):
        raise broken(path, f"no chunk at byte {at}, where one should begin", "one chunk after the other")
    elsewhere = size == UNKNOWN and bool(wide.get(name))
    size = wide[name].pop(0) if elsewhere else size
    return Chunk(name, at + 8, size, head[8 : 8 + min(size, 4)] if name == b"LIST" else b"", elsewhere)


def _next(file: BinaryIO, chunk: Chunk, end: int) -> int:
    """Start of the next chunk: some writers omit the pad byte of an odd chunk."""
    if chunk.size % 2 == 0 or chunk.end >= end:
        return chunk.end
    file.seek(chunk.end)
    head = file.read(5)
    forgotten = head[0] != 0 and _printable(head[:4]) and not _printable(head[1:5])
    return chunk.end if forgotten else chunk.end + 1


def _ds64(file: BinaryIO, path: Path, file_end: int) -> dict[bytes, list[int]]:
    """64-bit sizes by chunk id, in file order; the form's own under RIFF."""
    file.seek(12)
    head = file.read(36)
    if len(head) < 36 or head[:4] != b"ds64" or struct.unpack("<I", head[4:8])[0] < 28:
        raise broken(path, "no ds64 chunk at its head", "the 64-bit sizes of an RF64 file")
    riff, data, _, rows = struct.unpack("<QQQI", head[8:36])
    if rows > MOST_CHUNKS or 48 + 12 * rows > file_end:
        raise broken(path, f"a ds64 table of {rows} rows", f"at most {MOST_CHUNKS}, inside the file")
    sizes: dict[bytes, list[int]] = {b"RIFF": [riff], b"data": [data]}
    for _ in range(rows):
        name, size = struct.unpack("<4sQ", file.read(12))
        sizes.setdefault(name, []).append(size)
    return sizes


def _blank(file: BinaryIO, at: int) -> bool:
    """True for zeros where a chunk should begin: some programs pad a file to a round size."""
    file.seek(at)
    return file.read(4) == bytes(4)


def _printable(id: bytes) -> bool:
    return len(id) == 4 and all(0x20 <= byte < 0x7F for byte in id)


def _name(id: bytes) -> str:
    return repr(id.decode("ascii", "replace"))


def _lying(path: Path, chunk: Chunk, file_end: int) -> Unusable:
    there = file_end - chunk.start
    return broken(
        path, f"a {_name(chunk.id)} chunk that promises {chunk.size} bytes", f"no more than the {there} there"
    )
