"""Copy chunks of a master into a WAV or AIFF made from it, with every position mapped to the new file."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from delivery.model.carried import Item, Positions
from delivery.tags import bext, carried_chunks, points
from delivery.tags.chunks import Layout, body_of, is_chunked, layout_of
from delivery.tags.rewrite import New, replace_chunks

POINTS = ("chunk cue", "chunk LIST adtl", "chunk MARK")
"""Kinds of items that can be copied into a file of another kind, or into a joined one."""
_BEFORE_THE_SOUND = (b"bext",)


def carry(master: Path, file: Path, gone: Collection[Item], positions: Positions, *, same_loudness: bool) -> None:
    """Copy everything in *master*, except *gone*, into our own *file*.

    Between a WAV and an AIFF, cue points and their labels become markers, or the reverse.

    Parameters
    ----------
    same_loudness : the loudness in the broadcast chunk is still valid

    Raises
    ------
    Unusable : unreadable chunks in either
    """
    source, target = layout_of(master), layout_of(file)
    if source.order == target.order:
        found = list(_alike(master, source, gone, positions, same_loudness=same_loudness))
    else:
        found = _turned(_points(master, source, gone, positions), target)
    if found:
        before = [piece for piece in found if piece.id in _BEFORE_THE_SOUND]
        after = [piece for piece in found if piece.id not in _BEFORE_THE_SOUND]
        replace_chunks(file, before, after, ())


def carry_points(masters: Sequence[tuple[Path, Positions]], file: Path) -> None:
    """Write the cue points or markers of all *masters*, each at its song's position, into one WAV: a disc or side.

    They are renumbered; labels are kept.

    Raises
    ------
    Unusable : unreadable chunks in a master
    """
    found = [
        point
        for master, positions in masters
        if is_chunked(master)
        for point in _points(master, layout_of(master), (), positions)
    ]
    if found:
        numbered = [(number, place, label) for number, (_, place, label) in enumerate(found, start=1)]
        replace_chunks(file, (), _turned(numbered, layout_of(file)), ())


def _alike(
    master: Path, source: Layout, gone: Collection[Item], positions: Positions, *, same_loudness: bool
) -> Iterator[New]:
    with master.open("rb") as file:
        for chunk in source.chunks:
            if not carried_chunks.carries(file, master, chunk):
                continue
            piece = carried_chunks.without(file, master, chunk, gone)
            if piece is None:
                continue
            body = piece.body if isinstance(piece, New) else body_of(file, piece, master)
            if chunk.id == b"bext":
                body = _bext(body, positions, same_loudness=same_loudness)
            yield New(chunk.id, points.moved(chunk.kind or chunk.id, body, positions))


def _bext(body: bytes, positions: Positions, *, same_loudness: bool) -> bytes:
    """The time reference counts samples, so it is converted; loudness that is no longer valid is removed."""
    read = bext.parse(body)
    moved = replace(read, time_reference=max(0, positions.length(read.time_reference) - positions.shift))
    return bytes(moved if same_loudness else moved.without({"Loudness"}))


def _points(master: Path, source: Layout, gone: Collection[Item], positions: Positions) -> list[tuple[int, int, str]]:
    """(id, position, label) of every point that may be copied."""
    bodies: dict[bytes, bytes] = {}
    with master.open("rb") as file:
        for chunk in source.chunks:
            kind = chunk.kind or chunk.id
            if kind in (b"cue ", b"adtl", b"MARK") and carried_chunks.without(file, master, chunk, gone) is chunk:
                bodies[kind] = body_of(file, chunk, master)
    found = points.markers(bodies[b"MARK"]) if b"MARK" in bodies else []
    if b"cue " in bodies:
        found = points.named_cues(bodies[b"cue "], bodies.get(b"adtl", b""))
    return [(number, positions.at(place), label) for number, place, label in found]


def _turned(found: list[tuple[int, int, str]], target: Layout) -> list[New]:
    if not found:
        return []
    if target.form == b"FORM":  # an AIFF's marker ids are positive and have 16 bits
        numbered = [(number, place, label) for number, (_, place, label) in enumerate(found, start=1)]
        return [New(b"MARK", points.mark_chunk(numbered))]
    labels = points.adtl_chunk(found)
    return [New(b"cue ", points.cue_chunk(found)), *([New(b"LIST", labels)] if labels else [])]
