"""Chunks of a WAV, RF64, BW64 or AIFF file besides the audio, and their removal."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from pathlib import Path
from typing import BinaryIO

from delivery.model.carried import LABEL_COPY, Item
from delivery.tags import aiff_texts, axml, bext, carried_id3, info, points
from delivery.tags.chunks import Chunk, Layout, body_of, layout_of
from delivery.tags.guard import MOST_BYTES
from delivery.tags.kinds import item_of, size
from delivery.tags.rewrite import New, Piece, rewrite

_STRUCTURE = frozenset(
    (b"fmt ", b"data", b"ds64", b"fact", b"PEAK", b"slnt", b"wavl", b"COMM", b"SSND", b"FVER", b"CHAN")
)
"""Chunks of the audio itself; PEAK is measured from it."""
_FILLERS = frozenset((b"JUNK", b"junk", b"PAD ", b"FLLR", b"fllr"))
"""Padding that programs leave before the audio; it must be empty."""
_BY_ID = {
    b"cue ": "cue_points", b"adtl": "cue_points", b"plst": "cue_points", b"MARK": "cue_points", b"r64m": "cue_points",
    b"smpl": "loops", b"inst": "loops", b"INST": "loops", b"acid": "loops", b"strc": "loops",
    b"basc": "loops", b"trns": "loops", b"iXML": "ixml", b"chna": "adm", b"bxml": "adm", b"sxml": "adm",
    b"cart": "cart", b"ANNO": "comments", b"COMT": "comments",
}  # fmt: skip
_AIFF_FIELDS = {name_there: field for field, name_there in aiff_texts.CHUNKS.items()}
_MOST_LABELS = 8


def items(path: Path) -> tuple[Item, ...]:
    """Everything the file carries besides its audio, in file order.

    Raises
    ------
    Unusable : unreadable chunks
    """
    layout = layout_of(path)
    with path.open("rb") as file:
        found = [item for chunk in layout.chunks for item in _items(file, path, chunk)]
        return (*found, *_behind(file, layout))


def strip(path: Path, gone: Collection[Item]) -> None:
    """Remove *gone*, as named by `items`, from our own copy at *path*; the rest stays in place, byte for byte.

    Raises
    ------
    Unusable : unreadable chunks
    """
    layout = layout_of(path)
    with path.open("rb") as file:
        pieces = [piece for chunk in layout.chunks if (piece := without(file, path, chunk, gone)) is not None]
    rewrite(path, layout, pieces)


def without(file: BinaryIO, path: Path, chunk: Chunk, gone: Collection[Item]) -> Piece | None:
    """*chunk* without *gone*: the same chunk, a changed one, or None if nothing is left."""
    present = _items(file, path, chunk)
    going = [item for item in present if item in gone]
    if not going:
        return chunk
    shorten = _SHORTENED.get(chunk.kind or chunk.id)
    if len(going) == len(present) or shorten is None:
        return None
    body = shorten(body_of(file, chunk, path), gone)
    return New(chunk.id, body) if body else None


def carries(file: BinaryIO, path: Path, chunk: Chunk) -> bool:
    """True if *chunk* is more than audio or empty padding."""
    return bool(_items(file, path, chunk))


def _items(file: BinaryIO, path: Path, chunk: Chunk) -> list[Item]:
    if chunk.id in _STRUCTURE:
        return []
    if chunk.size > MOST_BYTES:
        return [Item("unknown", _place(chunk), f"{chunk.size} bytes")]
    body = body_of(file, chunk, path)
    if chunk.id in _FILLERS and not body.strip(b"\0"):
        return []
    read = _READ.get(chunk.kind or chunk.id)
    if read:
        return list(read(body))
    if chunk.id in _AIFF_FIELDS:
        return [Item(LABEL_COPY, _place(chunk), aiff_texts.decoded(body), _AIFF_FIELDS[chunk.id])]
    return [Item(_BY_ID.get(chunk.kind or chunk.id, "unknown"), _place(chunk), _chunk_text(chunk, body))]


def _behind(file: BinaryIO, layout: Layout) -> Iterator[Item]:
    """Data after the last chunk: a tag of another format, or anything else."""
    last = layout.chunks[-1]
    file.seek(last.end + last.size % 2)
    body = file.read(MOST_BYTES)
    if body.strip(b"\0"):
        yield Item("unknown", "after the last chunk", size(body))


def _place(chunk: Chunk) -> str:
    kind = f" {chunk.kind.decode('ascii', 'replace')}" if chunk.kind else ""
    return f"chunk {chunk.id.decode('ascii', 'replace').strip()}{kind}"


def _chunk_text(chunk: Chunk, body: bytes) -> str:
    """Labels of markers and notes as text, numbers of points; of anything else its size."""
    if chunk.id == b"ANNO":
        return aiff_texts.decoded(body)
    labels = points.labels(chunk.kind or chunk.id, body)
    if labels:
        more = f" and {len(labels) - _MOST_LABELS} more" if len(labels) > _MOST_LABELS else ""
        return ", ".join(repr(label) for label in labels[:_MOST_LABELS]) + more
    count = points.count(chunk.id, body)
    return size(body) if count is None else f"{count} {'point' if count == 1 else 'points'}"


def _info_items(body: bytes) -> Iterator[Item]:
    for entry in info.entries(body):
        if item := _info_item(entry):
            yield item


def _info_item(entry: info.Entry) -> Item | None:
    name, text = entry[0].decode("ascii", "replace"), info.text_of(entry)
    if not text:
        return None
    if info.misplaced_isrc([entry]):
        return Item(LABEL_COPY, f"INFO {name}", info.misplaced_isrc([entry]), "isrc")
    return item_of(name, text, f"INFO {name}", "info", None)


def _info_without(body: bytes, gone: Collection[Item]) -> bytes:
    return info.merged([entry for entry in info.entries(body) if _info_item(entry) not in gone], {})


def _bext_items(body: bytes) -> Iterator[Item]:
    """One item for each field with a value; a recording code counts as one in any field."""
    for name, text in bext.parse(body).as_texts().items():
        if name == "OriginatorReference" and axml.storable(text):
            yield Item(LABEL_COPY, f"bext {name}", text, "isrc")
        else:
            yield Item("bext", f"bext {name}", text)


def _bext_without(body: bytes, gone: Collection[Item]) -> bytes:
    names = {item.place.removeprefix("bext ") for item in _bext_items(body) if item in gone}
    return bytes(bext.parse(body).without(names))


def _axml_items(body: bytes) -> Iterator[Item]:
    code = axml.isrc_of(body)
    if code:
        yield Item(LABEL_COPY, "axml", code, "isrc")
    if not code or b"audioFormatExtended" in body:
        yield Item("adm", "chunk axml", size(body))


def _axml_without(body: bytes, gone: Collection[Item]) -> bytes:  # noqa: ARG001 - called when only the code is removed
    return axml.without_isrc(body)


def _id3_items(body: bytes) -> Iterator[Item]:
    yield from carried_id3.items_of(body)


_READ: dict[bytes, Callable[[bytes], Iterator[Item]]] = {
    b"INFO": _info_items, b"bext": _bext_items, b"axml": _axml_items, b"id3 ": _id3_items, b"ID3 ": _id3_items,
}  # fmt: skip
_SHORTENED: dict[bytes, Callable[[bytes, Collection[Item]], bytes]] = {
    b"INFO": _info_without, b"bext": _bext_without, b"axml": _axml_without,
    b"id3 ": carried_id3.body_without, b"ID3 ": carried_id3.body_without,
}  # fmt: skip
