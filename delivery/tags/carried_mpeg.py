"""Tags of an MP3 besides its frames, at both ends and of every form; and their removal."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

from delivery.model.carried import Item
from delivery.tags import carried_id3, tails
from delivery.tags.guard import MOST_BYTES


def items(path: Path) -> tuple[Item, ...]:
    """Everything the file carries besides its frames."""
    ends = tails.ends_of(path)
    return tuple(tails.items(path, (*ends.head, *ends.tail)))


def strip(path: Path, gone: Collection[Item]) -> None:
    """Remove *gone* from our own copy at *path*. Of several tags the first stays, with the permitted frames."""
    ends = tails.ends_of(path)
    first = next((tag for tag in ends.head if tag.form == "ID3v2"), None)
    kept = b""
    if first:
        with path.open("rb") as file:
            file.seek(first.start)
            body = file.read(min(first.end - first.start, MOST_BYTES))
        kept = carried_id3.body_without(body, gone)
    tails.cut_to(path, ends.start, ends.end)
    if kept:
        carried_id3.load(kept).save(path, v1=0, v2_version=4, padding=lambda _: 0)
