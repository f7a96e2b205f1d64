"""Frames of an ID3v2 tag, and the tag without some of them. Pure: bytes in, bytes out."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

from delivery.errors import DeliveryError
from delivery.model.carried import LABEL_COPY, Item
from delivery.tags.fields import JOINT
from delivery.tags.guard import clear, mutagen
from delivery.tags.kinds import item_of, kind_of
from delivery.tags.picture import look

_FREE = "TXXX:"
_UNREADABLE = "a tag that cannot be read"


def items_of(body: bytes) -> Iterator[Item]:
    """One item per frame; a single one for an unreadable tag."""
    try:
        tag = load(body)
    except DeliveryError:
        yield Item("others", "ID3", _UNREADABLE)
        return
    for frame in () if tag is None else tag.values():
        yield from _items(frame)
    for raw in () if tag is None else tag.unknown_frames:
        yield Item("others", f"ID3 {raw[:4].decode('ascii', 'replace')}", f"{len(raw)} bytes")


def body_without(body: bytes, gone: Collection[Item]) -> bytes:
    """The tag, in version 2.4, without the frames of *gone*; empty if no frame is left."""
    try:
        tag = load(body)
    except DeliveryError:
        return b""
    if tag is None:
        return b""
    for key in [key for key, frame in tag.items() if any(item in gone for item in _items(frame))]:
        del tag[key]
    tag.unknown_frames = []
    return rendered(tag) if len(tag) else b""


def rendered(tag: Any) -> bytes:
    """Bytes of a tag, of even length, since many readers fail on odd chunks."""
    made = BytesIO()
    with clear(Path("ID3"), "writing"):
        tag.save(made, v1=0, v2_version=4, padding=lambda _: 0)
    body = made.getvalue()
    if len(body) % 2:
        made = BytesIO()
        tag.save(made, v1=0, v2_version=4, padding=lambda _: 1)
        body = made.getvalue()
    return body


def load(body: bytes) -> Any:
    """mutagen's tag of these bytes; None if there is none.

    Raises
    ------
    Unusable : a tag that cannot be read
    """
    with clear(Path("ID3"), "reading"):
        try:
            return mutagen("id3").ID3(BytesIO(body))
        except mutagen("id3").ID3NoHeaderError:
            return None


def _items(frame: Any) -> Iterator[Item]:
    """One item, none for data a player needs, or one per person in a list of people."""
    if frame.FrameID == "TIPL":
        for function, name in frame.people:
            field = kind_of(f"TIPL:{function}", "id3", _FREE)[1]
            yield Item(LABEL_COPY, f"ID3 TIPL {function}", name, field)
        return
    key = _FREE + frame.desc if frame.FrameID == "TXXX" else frame.FrameID
    if frame.FrameID == "COMM" and frame.desc.upper().startswith("ITUN"):
        key = _FREE + frame.desc  # gapless data and gains that some programs store in comments
    if item := item_of(key, _text(frame), f"ID3 {_key(frame)}", "id3", _FREE):
        yield item


def _key(frame: Any) -> str:
    """'TXXX:mood', 'PRIV:owner': the frame and its qualifier, without its contents."""
    key = ":".join(str(frame.HashKey).split(":")[:2])
    return "".join(c if c.isprintable() else " " for c in key).rstrip(":")[:60]


def _text(frame: Any) -> str:
    if frame.FrameID == "APIC":
        return str(look(frame.data) or f"{frame.mime}, {len(frame.data)} bytes")
    if frame.FrameID in ("TMCL",):
        return JOINT.join(f"{role}: {name}" for role, name in frame.people)
    content = frame.genres if frame.FrameID == "TCON" else getattr(frame, "text", None)
    if isinstance(content, list) and content:
        return JOINT.join(str(line) for line in content)
    if isinstance(content, str):
        return content
    data = getattr(frame, "data", None)
    if isinstance(data, bytes):
        return f"{len(data)} bytes"
    return str(frame)[:200]
