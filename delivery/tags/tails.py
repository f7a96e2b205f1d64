"""Tags before and after the audio of any file: ID3v1, ID3v2, APEv2, Lyrics3. Found by their signatures.

Sources: ID3v2.4.0 main structure (head, foot); ID3v1 (128 bytes, 'TAG'; the extended 227 'TAG+'); APEv2 (32-byte header
and footer 'APETAGEX'); Lyrics3 v2 ('LYRICSBEGIN' ... size ... 'LYRICS200').
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import BinaryIO

from delivery.errors import DeliveryError
from delivery.model.carried import LABEL_COPY, Item
from delivery.tags import carried_id3
from delivery.tags.fields import JOINT
from delivery.tags.guard import MOST_BYTES, clear, mutagen
from delivery.tags.kinds import item_of, size

_ID3V1 = (("title", 3, 33), ("artist", 33, 63), ("album", 63, 93), ("release_date", 93, 97))


@dataclass(frozen=True, slots=True)
class Tag:
    """A tag at one end of a file."""

    form: str
    """'ID3v2', 'ID3v1', 'APEv2', 'Lyrics3'."""
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Ends:
    """Start and end of a file's audio, and the tags before and after it."""

    start: int
    end: int
    head: tuple[Tag, ...]
    """In file order."""
    tail: tuple[Tag, ...]


def ends_of(path: Path) -> Ends:
    """The file without the tags at its ends."""
    with path.open("rb") as file:
        end = file.seek(0, 2)
        head = tuple(_heads(file, end))
        start = head[-1].end if head else 0
        tail = tuple(reversed(list(_tails(file, start, end))))
        return Ends(start, tail[0].start if tail else end, head, tail)


def items(path: Path, tags: tuple[Tag, ...]) -> Iterator[Item]:
    """Items in these tags."""
    for tag in tags:
        with path.open("rb") as file:
            file.seek(tag.start)
            body = file.read(min(tag.end - tag.start, MOST_BYTES))
        if tag.form == "ID3v2":
            yield from carried_id3.items_of(body)
        elif tag.form == "ID3v1":
            yield from _id3v1(body[-128:])
        elif tag.form == "APEv2":
            yield from _ape(body)
        else:
            yield Item("lyrics", tag.form, size(body))


def cut_to(path: Path, start: int, end: int) -> None:
    """Cut our own copy at *path* to the bytes from *start* to *end*."""
    whole = path.stat().st_size
    if end < whole:
        with path.open("r+b") as file:
            file.truncate(end)
    if start:
        beside = path.with_name(f".{path.name}.cutting")
        try:
            with path.open("rb") as source, beside.open("wb") as target:
                source.seek(start)
                while block := source.read(2**20):
                    target.write(block)
            beside.replace(path)
        finally:
            beside.unlink(missing_ok=True)


def _heads(file: BinaryIO, end: int) -> Iterator[Tag]:
    at = 0
    while tag := _at_head(file, at, end):
        yield tag
        at = tag.end


def _tails(file: BinaryIO, start: int, end: int) -> Iterator[Tag]:
    """Last one first."""
    while tag := _at_tail(file, start, end):
        yield tag
        end = tag.start


def _at_head(file: BinaryIO, at: int, end: int) -> Tag | None:
    head = _read(file, at, 32)
    if head[:3] == b"ID3" and len(head) >= 10:
        stop = at + 10 + _size(head[6:10]) + (10 if head[5] & 0x10 else 0)
        return Tag("ID3v2", at, stop) if stop <= end else None
    if head[:8] == b"APETAGEX" and len(head) == 32:
        stop = at + 32 + struct.unpack_from("<I", head, 12)[0]
        return Tag("APEv2", at, stop) if stop <= end else None
    return None


def _at_tail(file: BinaryIO, start: int, at: int) -> Tag | None:
    if at - start >= 128 and _read(file, at - 128, 3) == b"TAG":
        extended = at - start >= 355 and _read(file, at - 355, 4) == b"TAG+"
        return Tag("ID3v1", at - (355 if extended else 128), at)
    foot = _read(file, at - 32, 32) if at - start >= 32 else b""
    if foot[:8] == b"APETAGEX":
        length, _, flags = struct.unpack_from("<III", foot, 12)
        first = at - length - (32 if flags & 0x80000000 else 0)
        return Tag("APEv2", first, at) if first >= start else None
    if foot[22:25] == b"3DI":
        first = at - 20 - _size(foot[28:32])
        return Tag("ID3v2", first, at) if first >= start and _read(file, first, 3) == b"ID3" else None
    if foot[23:] == b"LYRICS200" and foot[17:23].isdigit():
        first = at - 15 - int(foot[17:23])
        return Tag("Lyrics3", first, at) if first >= start and _read(file, first, 11) == b"LYRICSBEGIN" else None
    return None


def _id3v1(body: bytes) -> Iterator[Item]:
    texts = {name: body[a:b].partition(b"\0")[0].decode("latin-1").strip() for name, a, b in _ID3V1}
    yield from (Item(LABEL_COPY, "ID3v1", text, name) for name, text in texts.items() if text)
    comment = body[97:127].partition(b"\0")[0].decode("latin-1").strip()
    if comment:
        yield Item("comments", "ID3v1", comment)
    if not any(texts.values()) and not comment:
        yield Item("others", "ID3v1", size(body))


def _ape(body: bytes) -> Iterator[Item]:
    try:
        with clear(Path("APEv2"), "reading"):
            tag = mutagen("apev2").APEv2(BytesIO(body))
    except DeliveryError:
        yield Item("others", "APEv2", size(body))
        return
    for key, value in sorted(tag.items()):
        text = size(bytes(value.value)) if isinstance(value.value, bytes) else JOINT.join(str(value).split("\0"))
        kind = "pictures" if key.lower().startswith("cover art") else ""
        item = Item(kind, f"APEv2 {key}", text) if kind else item_of(key, text, f"APEv2 {key}", "vorbis")
        if item:
            yield item


def _size(raw: bytes) -> int:
    return sum((byte & 0x7F) << shift for byte, shift in zip(raw, (21, 14, 7, 0), strict=True))


def _read(file: BinaryIO, at: int, length: int) -> bytes:
    file.seek(max(0, at))
    return file.read(length)
