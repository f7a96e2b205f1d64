"""Contents of FLAC and Ogg files besides the audio: comments, pictures, cue sheets, application blocks; and their
removal."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from pathlib import Path
from typing import Any

from delivery.model.carried import LABEL_COPY, Item
from delivery.tags import tails, vorbis
from delivery.tags.guard import clear
from delivery.tags.kinds import item_of, size
from delivery.tags.picture import look

_PICTURE, _CUE_SHEET, _APPLICATION, _PADDING = 6, 5, 2, 1
_STRUCTURE = (0, 3, 4)
"""STREAMINFO, SEEKTABLE, VORBIS_COMMENT (RFC 9639, 8.1); comments are checked one by one."""
_BINARY = ("METADATA_BLOCK_PICTURE", "COVERART")


def items(path: Path) -> tuple[Item, ...]:
    """Everything the file carries besides its audio.

    Raises
    ------
    Unusable : unreadable blocks or pages
    """
    file = vorbis.load(path)
    ends = tails.ends_of(path)
    found = [item for key, text in file.tags or () if (item := _comment(key, text))]
    blocks = [item for block in getattr(file, "metadata_blocks", ()) for item in _block(block)]
    return (*found, *blocks, *tails.items(path, (*ends.head, *ends.tail)))


def strip(path: Path, gone: Collection[Item]) -> None:
    """Remove *gone* from our own copy at *path*, with padding and tags at its ends.

    Raises
    ------
    Unusable : unreadable blocks or pages
    """
    ends = tails.ends_of(path)
    tails.cut_to(path, ends.start, ends.end)
    file = vorbis.load(path)
    with clear(path, "writing"):
        if file.tags is not None:
            kept = [(key, text) for key, text in file.tags if _comment(key, text) not in gone]
            file.tags[:] = kept
        if hasattr(file, "metadata_blocks"):
            if file.cuesheet and not _block_stays(file.cuesheet, gone):
                file.cuesheet = None  # otherwise the library would write it back
            file.metadata_blocks[:] = [b for b in file.metadata_blocks if _block_stays(b, gone)]
        file.save(padding=lambda _: 0)


def _comment(key: str, text: str) -> Item | None:
    sentence = size(text.encode()) if key.upper() in _BINARY else text
    return item_of(key, sentence, f"Vorbis {key.upper()}", "vorbis")


def _block(block: Any) -> Iterator[Item]:
    if block.code in (*_STRUCTURE, _PADDING):
        return
    if block.code == _PICTURE:
        yield Item("pictures", "FLAC PICTURE", str(look(block.data) or f"{block.mime}, {size(block.data)}"))
    elif block.code == _CUE_SHEET:
        number = block.media_catalog_number.decode("ascii", "replace").strip("\0 ")
        if number:
            yield Item(LABEL_COPY, "FLAC CUESHEET", number, "upc")
        codes = (track.isrc.decode("ascii", "replace").strip("\0 ") for track in block.tracks if track.isrc)
        yield from (Item(LABEL_COPY, "FLAC CUESHEET", code, "isrc") for code in codes if code)
        yield Item("cue_points", "FLAC CUESHEET", f"{len(block.tracks)} tracks")
    else:
        name = block.data[:4].decode("ascii", "replace") if block.code == _APPLICATION else str(block.code)
        yield Item("unknown", f"FLAC block {name}", size(block.data))


def _block_stays(block: Any, gone: Collection[Item]) -> bool:
    """False for a cue sheet that names another recording or product: it is removed as a whole."""
    return block.code != _PADDING and not any(item in gone for item in _block(block))
