"""What a file is, by its first bytes and its chunk table; never by its name.

libsndfile quietly shortens a WAV or AIFF whose header promises more than the file holds, so the promise is
compared with the bytes here. Sources: RIFF/WAVE (Multimedia Programming Interface 1.0, 1991), EBU Tech 3306 (RF64),
ITU-R BS.2088 (BW64), AIFF-C draft 1991, RFC 9639 (FLAC), RFC 7845 (Opus in Ogg), ISO 11172-3 (MP3 frame header).
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from delivery.audio.facts import clock, unreadable

UNKNOWN_SIZE = 0xFFFFFFFF
RIFF_LIMIT_BYTES = 0xFFFFFFFF + 8
FORMAT_TAGS = {0x0001: "pcm", 0x0003: "float", 0x0055: "mp3", 0x0006: "a-law", 0x0007: "mu-law"}
EXTENSIBLE_TAG = 0xFFFE
AIFF_FLOATS = (b"fl32", b"FL32", b"fl64", b"FL64")
AIFF_INTEGERS = (b"NONE", b"twos", b"sowt", b"raw ", b"in24", b"in32", b"24ni", b"23ni")


@dataclass(frozen=True, slots=True)
class Layout:
    """Where the samples of a plain integer WAV lie; little-endian, interleaved."""

    rate_hz: int
    channels: int
    sample_bytes: int
    begins_at: int
    frames: int


@dataclass(frozen=True, slots=True)
class Header:
    """What the first bytes settle; the decoder adds the rest."""

    container: str
    riff_form: str = ""
    coding: str = ""
    """Empty: ask the decoder."""
    bits: int | None = None
    extensible: bool = False
    size_bytes: int = 0
    layout: Layout | None = None


def read_header(path: Path) -> Header:
    """Look into *path*.

    Raises
    ------
    Unreadable : vanished, a folder, not permitted, empty, no sound file, or shorter than its header promises
    """
    if path.is_dir():
        raise unreadable(path, "a folder", "a sound file", "Name a file inside it.")
    try:
        with path.open("rb") as file:
            return _header(path, file)
    except FileNotFoundError as problem:
        raise unreadable(path, "no file of this name", "a sound file", "Check the name and the folder.") from problem
    except PermissionError as problem:
        raise unreadable(path, "a file that may not be read", remedy="Ask for permission to read it.") from problem
    except OSError as problem:
        raise unreadable(path, f"a file that cannot be read ({problem.strerror})") from problem


def _header(path: Path, file: BinaryIO) -> Header:
    start = file.read(64)
    size_bytes = file.seek(0, 2)
    if not start:
        raise unreadable(path, "an empty file")
    if start[:4] in (b"RIFF", b"RF64", b"BW64") and start[8:12] == b"WAVE":
        return _wave(path, file, size_bytes)
    if start[:4] == b"FORM" and start[8:12] in (b"AIFF", b"AIFC"):
        return _aiff(path, file, size_bytes)
    return Header(_kind(path, file, start), size_bytes=size_bytes)


def _kind(path: Path, file: BinaryIO, start: bytes) -> str:
    if start[:3] == b"ID3":
        tag_bytes = sum((byte & 0x7F) << shift for byte, shift in zip(start[6:10], (21, 14, 7, 0), strict=True))
        file.seek(10 + tag_bytes)
        return "flac" if file.read(4) == b"fLaC" else "mp3"
    if start[:4] == b"fLaC":
        return "flac"
    if start[:4] == b"OggS":
        return "opus" if b"OpusHead" in start else "ogg"
    if start[4:8] == b"ftyp":
        return "m4a"
    if _mpeg_layer(start) == 3:
        return "mp3"
    if len(start) > 1 and start[0] == 0xFF and start[1] & 0xF6 == 0xF0:
        return "aac"
    raise unreadable(path, "no sound in a form this program knows", "WAV, AIFF, FLAC, MP3, M4A, Opus or Ogg")


def _mpeg_layer(start: bytes) -> int:
    """3 for the header of an MPEG layer III frame, else 0; a UTF-16 byte order mark also begins with ones."""
    if len(start) < 4 or start[0] != 0xFF or start[1] & 0xE6 != 0xE2:
        return 0
    version, bitrate, rate = start[1] >> 3 & 3, start[2] >> 4, start[2] >> 2 & 3
    return 3 if version != 1 and bitrate not in (0, 15) and rate != 3 else 0


def _chunks(file: BinaryIO, size_bytes: int, order: str) -> Iterator[tuple[bytes, int, int]]:
    """(id, first byte of the content, promised size) of each chunk whose header is there."""
    at = 12
    while at + 8 <= size_bytes:
        file.seek(at)
        name, promised = struct.unpack(f"{order}4sI", file.read(8))
        yield name, at + 8, promised
        at += 8 + promised + promised % 2


def _wave(path: Path, file: BinaryIO, size_bytes: int) -> Header:
    file.seek(0)
    form = file.read(4).decode("ascii")
    if form == "RIFF" and size_bytes > RIFF_LIMIT_BYTES:
        raise unreadable(path, "more bytes than a RIFF header can count", remedy="Save it as RF64.")
    fmt, long_size = b"", 0
    for name, at, promised in _chunks(file, size_bytes, "<"):
        file.seek(at)
        if name == b"ds64" and form != "RIFF":
            long_size = struct.unpack("<8xQ", file.read(16).ljust(16, b"\0"))[0]
        elif name == b"fmt ":
            fmt = file.read(min(promised, 40))
        elif name == b"data":
            return _wave_with_data(path, file, form, fmt, at, long_size if promised == UNKNOWN_SIZE else promised)
    raise unreadable(path, "a WAV without a data chunk")


def _wave_with_data(path: Path, file: BinaryIO, form: str, fmt: bytes, at: int, promised: int) -> Header:
    if len(fmt) < 16:
        raise unreadable(path, "a WAV that does not say its format before its sound")
    tag, channels, rate_hz, _bytes_a_second, frame_bytes, bits = struct.unpack("<HHIIHH", fmt[:16])
    extensible = tag == EXTENSIBLE_TAG and len(fmt) >= 26
    if extensible:
        valid_bits, _mask, tag = struct.unpack("<HIH", fmt[18:26])
        bits = valid_bits or bits
    size_bytes = file.seek(0, 2)
    if promised == 0 and size_bytes > at:
        _refuse_unfinished(path, file, at, size_bytes)
    if promised == 0 and form != "RIFF" and size_bytes > at:
        raise unreadable(path, "a long WAV without its size table")
    _refuse_short(path, promised, size_bytes - at, frame_bytes * rate_hz)
    coding = FORMAT_TAGS.get(tag, f"wav format {tag:#06x}")
    lossless = coding in ("pcm", "float")
    plain = coding == "pcm" and channels and rate_hz and frame_bytes in (2 * channels, 3 * channels, 4 * channels)
    layout = Layout(rate_hz, channels, frame_bytes // channels, at, promised // frame_bytes) if plain else None
    return Header("wav", form, coding, bits if lossless else None, extensible, size_bytes, layout)


def _refuse_unfinished(path: Path, file: BinaryIO, at: int, size_bytes: int) -> None:
    """A recorder that stopped without finishing leaves 0 as the size of the data; what follows is sound, no chunks."""
    end = at
    file.seek(at)
    while end + 8 <= size_bytes:
        file.seek(end)
        name, promised = struct.unpack("<4sI", file.read(8))
        if not all(32 <= byte < 127 for byte in name):
            break
        end += 8 + promised + promised % 2
    if end < size_bytes:
        raise unreadable(path, f"a header that was never finished: 0 bytes of sound stated, {size_bytes - at} present")


def _refuse_short(path: Path, promised: int, present: int, bytes_a_second: int) -> None:
    if promised <= present:
        return
    if promised == UNKNOWN_SIZE:
        raise unreadable(path, "a header without the length of the sound, as left by a stream")
    reached = f"; the sound stops at {clock(present / bytes_a_second)}" if bytes_a_second else ""
    raise unreadable(path, f"{present} bytes of sound where the header promises {promised}{reached}")


def _aiff(path: Path, file: BinaryIO, size_bytes: int) -> Header:
    common, sound, needed = b"", -1, 0
    rate_bytes = 0
    for name, at, promised in _chunks(file, size_bytes, ">"):
        file.seek(at)
        if name == b"COMM":
            common = file.read(min(promised, 22))
        elif name == b"SSND":
            sound = size_bytes - at - 8
            needed = promised - 8
            if promised > size_bytes - at:
                break
    if len(common) < 18:
        raise unreadable(path, "an AIFF without its common chunk")
    channels, frames, bits, exponent, mantissa = struct.unpack(">hIhHQ", common[:18])
    kind = common[18:22] if file.seek(8) and file.read(4) == b"AIFC" else b"NONE"
    frame_bytes = channels * ((bits + 7) // 8)
    rate_hz = mantissa * 2.0 ** ((exponent & 0x7FFF) - 16383 - 63)
    rate_bytes = round(frame_bytes * rate_hz)
    coding = "float" if kind in AIFF_FLOATS else "pcm" if kind in AIFF_INTEGERS else kind.decode("latin-1").strip()
    if frames and sound < 0:
        raise unreadable(path, "an AIFF without a sound chunk")
    if coding in ("pcm", "float"):
        needed = max(needed, frames * frame_bytes)
    _refuse_short(path, needed, max(sound, 0), rate_bytes)
    return Header("aiff", "", coding, bits if coding in ("pcm", "float") else None, False, size_bytes)
