"""A finished file as it was before its tags were written: others can be written without rendering it again."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import BinaryIO

from blake3 import blake3

from delivery.errors import DeliveryError
from delivery.regular import open_regular
from delivery.tags.chunks import is_chunked, layout_of
from delivery.tags.rewrite import write_pieces

_OF_SOUND = (b"fmt ", b"fact", b"data", b"COMM", b"FVER", b"SSND")
"""Chunks that describe or hold the sound: all that a new file has before tags."""
_ID3_HEAD = 10


def write_bare(source: Path, target: Path) -> bool:
    """Write *source*, a WAV, AIFF or MP3 of ours, without its tags to the new file *target*; False for any other.

    That *target* is what was rendered has to be proven by :func:`mark_of` and by its samples.

    Raises
    ------
    OSError : *target* cannot be written, or *source* not read
    """
    try:
        if not is_chunked(source):
            return _write_untagged_mp3(source, target)
        layout = layout_of(source)
    except DeliveryError:
        return False
    if layout.form not in (b"RIFF", b"FORM"):
        return False
    write_pieces(source, target, layout, [chunk for chunk in layout.chunks if chunk.id in _OF_SOUND])
    return True


def mark_of(path: Path) -> str:
    """BLAKE3 of the bytes of a file; of a WAV or AIFF without those of its samples, which have a hash of their own.

    Raises
    ------
    Unusable : unreadable chunks
    OSError : it cannot be read
    """
    layout = layout_of(path) if is_chunked(path) else None
    digest = blake3()
    with open_regular(path) as file:
        if layout is None:
            digest.update(file.read())
        else:
            digest.update(file.read(layout.sound.start))
            file.seek(layout.sound.end)
            digest.update(file.read())
    return str(digest.hexdigest())


def mark_behind_id3(path: Path) -> str:
    """BLAKE3 of an MP3's bytes behind the tag at its head, if it has one: all that decoders take for audio.

    Raises
    ------
    OSError : it cannot be read
    """
    digest = blake3()
    with open_regular(path) as file:
        _pass_id3(file)
        digest.update(file.read())
    return str(digest.hexdigest())


def _pass_id3(file: BinaryIO) -> bool:
    """Go to the byte behind the tag at the head; False: there is none, and the file is at its start."""
    head = file.read(_ID3_HEAD)
    tagged = head[:3] == b"ID3" and len(head) == _ID3_HEAD
    a, b, c, d = head[6:] if tagged else bytes(4)
    file.seek(_ID3_HEAD + (a << 21 | b << 14 | c << 7 | d) if tagged else 0)  # seven bits a byte (ID3v2.4, 6.2)
    return tagged


def _write_untagged_mp3(source: Path, target: Path) -> bool:
    with open_regular(source) as file:
        if not _pass_id3(file):
            return False
        with target.open("xb") as new:
            shutil.copyfileobj(file, new, 2**20)
    return True
