"""Rewrite a chunked file with other chunks around the same audio, which is streamed, never held in memory.

Only used on the hidden copy of a build, which is deleted with its folder on failure.
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from delivery.errors import Unusable
from delivery.tags.chunks import UNKNOWN, Chunk, Layout, body_of, layout_of

_BLOCK_BYTES = 2**20
_HELD_BYTES = 16 * 2**20

_LAST = (b"LIST", b"axml", b"ID3 ", b"id3 ")
"""Our own chunks after the audio, in this order and after all others, so that the order of writing does not matter."""


@dataclass(frozen=True, slots=True)
class New:
    """A chunk to write, with the interface of an existing one."""

    id: bytes
    body: bytes
    wide: bool = False

    @property
    def size(self) -> int:
        """Bytes of the body."""
        return len(self.body)

    @property
    def kind(self) -> bytes:
        """Kind of a LIST; empty for other chunks."""
        return self.body[:4] if self.id == b"LIST" else b""


Piece = Chunk | New


def place(layout: Layout, before: Sequence[New], after: Sequence[New], gone: Sequence[Chunk]) -> list[Piece]:
    """The new order of a file: all chunks but *gone*, *before* directly before the audio, *after* at the end.

    Everything before the audio stays where simple readers look for it (``fmt`` first), and EBU Tech 3285 requires
    ``bext`` before ``data``.
    """
    kept = [chunk for chunk in layout.chunks if chunk not in gone]
    at = kept.index(layout.sound)
    tail: list[Piece] = [*kept[at + 1 :], *after]
    return [*kept[:at], *before, layout.sound, *sorted(tail, key=_rank)]


def rewrite(path: Path, layout: Layout, pieces: Sequence[Piece]) -> None:
    """Make *path* hold exactly these pieces: in place if only chunks after the audio change, else by a new file.

    Raises
    ------
    Unusable : a plain RIFF or AIFF file would exceed 4 GiB
    """
    total = _total(pieces)
    if total > UNKNOWN and layout.form in (b"RIFF", b"FORM"):
        found = f"{total + 8} bytes with its tags"
        raise Unusable(
            path.name, found, f"at most {UNKNOWN + 8} bytes", "Ask for an RF64 file, which has no such limit."
        )
    after = pieces[pieces.index(layout.sound) + 1 :]
    held = sum(piece.size for piece in after)
    if (
        layout.tight
        and _padded_by_zero(path, layout)
        and tuple(pieces[: -len(after) or None]) == _through_sound(layout)
        and held <= _HELD_BYTES
    ):
        _replace_tail(path, layout, after, total)
    else:
        _write_anew(path, layout, pieces)


def replace_chunks(path: Path, before: Sequence[New], after: Sequence[New], gone: Sequence[Chunk]) -> None:
    """``place`` and ``rewrite`` in one."""
    layout = layout_of(path)
    rewrite(path, layout, place(layout, before, after, gone))


def _rank(piece: Piece) -> int:
    ours = piece.id in _LAST and piece.kind in (b"", b"INFO")
    return _LAST.index(piece.id) if ours else -1


def _through_sound(layout: Layout) -> tuple[Chunk, ...]:
    return layout.chunks[: layout.chunks.index(layout.sound) + 1]


def _padded_by_zero(path: Path, layout: Layout) -> bool:
    """True if each odd chunk before the audio is followed by the required zero (AIFF 1.3; RIFF of 1991)."""
    with path.open("rb") as file:
        for chunk in _through_sound(layout)[:-1]:
            if chunk.size % 2:
                file.seek(chunk.end)
                if file.read(1) != b"\0":
                    return False
    return True


def _replace_tail(path: Path, layout: Layout, after: Sequence[Piece], total: int) -> None:
    with path.open("r+b") as file:
        bodies = [body_of(file, piece, path) if isinstance(piece, Chunk) else piece.body for piece in after]
        file.seek(layout.sound.end)
        file.write(b"\0" * (layout.sound.size % 2))
        for piece, body in zip(after, bodies, strict=True):
            file.write(_header(piece, layout.order) + body + b"\0" * (len(body) % 2))
        file.truncate()
        _write_total(file, layout, total)


def _write_anew(path: Path, layout: Layout, pieces: Sequence[Piece]) -> None:
    beside = path.with_name(f".{path.name}.tagging")
    with ExitStack() as undo:
        undo.callback(beside.unlink, missing_ok=True)
        write_pieces(path, beside, layout, pieces)
        beside.replace(path)


def write_pieces(path: Path, to: Path, layout: Layout, pieces: Sequence[Piece]) -> None:
    """Write a file *to* of exactly these pieces; chunks among them are those of *layout*, in *path*."""
    with path.open("rb") as source, to.open("wb") as target:
        target.write(layout.form + b"\0\0\0\0" + layout.kind)
        for piece in pieces:
            target.write(_header(piece, layout.order))
            _copy(source, piece, target)
            target.write(b"\0" * (piece.size % 2))
        _write_total(target, layout, _total(pieces))


def _total(pieces: Sequence[Piece]) -> int:
    """Size of a form with these pieces, as its header states it."""
    return 4 + sum(8 + piece.size + piece.size % 2 for piece in pieces)


def _header(piece: Piece, order: str) -> bytes:
    return piece.id + struct.pack(order + "I", UNKNOWN if piece.wide else piece.size)


def _copy(source: BinaryIO, piece: Piece, target: BinaryIO) -> None:
    if not isinstance(piece, Chunk):
        target.write(piece.body)
        return
    source.seek(piece.start)
    left = piece.size
    while left:
        block = source.read(min(left, _BLOCK_BYTES))
        if not block:
            raise OSError("the file became shorter while it was read")
        target.write(block)
        left -= len(block)


def _write_total(file: BinaryIO, layout: Layout, total: int) -> None:
    wide = layout.form in (b"RF64", b"BW64")
    file.seek(4)
    file.write(struct.pack(layout.order + "I", UNKNOWN if wide else total))
    if wide:
        file.seek(20)  # ds64 is the first chunk; its first number is the size of the form
        file.write(struct.pack("<Q", total))
