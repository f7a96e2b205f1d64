"""WAV headers: RIFF/WAVE (Multimedia Programming Interface 1.0, 1991), RF64 (EBU Tech 3306), BW64 (ITU-R BS.2088)."""

from __future__ import annotations

import struct
from pathlib import Path
from typing import BinaryIO

from delivery.audio.chunks import UNKNOWN_SIZE, chunks, refuse_short
from delivery.audio.facts import MOST_CHANNELS, PLAIN_BYTES, Header, Layout, unreadable
from delivery.audio.speakers import of_mask

RIFF_LIMIT_BYTES = 0xFFFFFFFF + 8
FORMAT_TAGS = {0x0001: "pcm", 0x0003: "float", 0x0055: "mp3", 0x0006: "a-law", 0x0007: "mu-law"}
EXTENSIBLE_TAG = 0xFFFE


def wave_header(path: Path, file: BinaryIO, size_bytes: int) -> Header:
    """Raises Unreadable for a file without format or audio, or with less audio than stated."""
    file.seek(0)
    form = file.read(4).decode("ascii")
    if form == "RIFF" and size_bytes > RIFF_LIMIT_BYTES:
        raise unreadable(path, "more bytes than a RIFF header permits", remedy="Save it as RF64.")
    fmt, long_size = b"", 0
    for name, at, promised in chunks(file, size_bytes, "<"):
        file.seek(at)
        if name == b"ds64" and form != "RIFF":
            long_size = struct.unpack("<8xQ", file.read(16).ljust(16, b"\0"))[0]
        elif name == b"fmt ":
            fmt = file.read(min(promised, 40))
        elif name == b"data":
            long = promised == UNKNOWN_SIZE and form != "RIFF"
            return with_data(path, file, form, fmt, at, long_size if long else promised)
    raise unreadable(path, "a WAV without a data chunk")


def with_data(path: Path, file: BinaryIO, form: str, fmt: bytes, at: int, promised: int) -> Header:
    """Header from a format chunk and *promised* bytes of audio that begin at *at*; raises Unreadable as above."""
    if len(fmt) < 16:
        raise unreadable(path, "a WAV without a format chunk before its data")
    tag, channels, rate_hz, _bytes_a_second, frame_bytes, bits = struct.unpack("<HHIIHH", fmt[:16])
    extensible = tag == EXTENSIBLE_TAG and len(fmt) >= 26
    mask = 0
    if extensible:
        valid_bits, mask, tag = struct.unpack("<HIH", fmt[18:26])
        bits = valid_bits or bits
    size_bytes = file.seek(0, 2)
    if promised == 0:
        _refuse_unfinished(path, file, at, size_bytes)
    refuse_short(path, promised, size_bytes - at, frame_bytes * rate_hz)
    coding = FORMAT_TAGS.get(tag, f"wav format {tag:#06x}")
    lossless = coding in ("pcm", "float")
    sample_bytes = frame_bytes // channels if 0 < channels <= MOST_CHANNELS and frame_bytes % channels == 0 else 0
    floats = coding == "float"
    plain = rate_hz and lossless and sample_bytes in PLAIN_BYTES[floats]
    layout = Layout(rate_hz, channels, sample_bytes, at, promised // frame_bytes, "<", floats) if plain else None
    speakers = of_mask(mask, channels)
    stated_bits = bits if lossless else None
    return Header(
        "wav", form, coding, stated_bits, extensible, size_bytes, layout, speakers=speakers, channel_mask=mask
    )


def _refuse_unfinished(path: Path, file: BinaryIO, at: int, size_bytes: int) -> None:
    """Refuse a file with a data size of 0 followed by data, as left by a recorder that stopped without finishing."""
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
