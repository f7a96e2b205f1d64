"""Detect a file's kind by its first bytes, never by its name.

Sources: RFC 9639 (FLAC), RFC 3533 and RFC 7845 (Ogg, Opus), Vorbis I, ISO 14496-12 (MP4), ISO 11172-3 (MP3 frames),
ISO 13818-7 (ADTS), ID3v2.4 (size of a tag in front), DSF 1.01 (Sony, 2005), DSDIFF 1.5 (Philips, 2004).
"""

from __future__ import annotations

from pathlib import Path
from typing import BinaryIO

from delivery.audio.aiff import aiff_header
from delivery.audio.caf import caf_header
from delivery.audio.facts import Header, refused_by_system, unreadable
from delivery.audio.speakers import of_flac
from delivery.audio.w64 import RIFF as W64
from delivery.audio.w64 import w64_header
from delivery.audio.wave import wave_header
from delivery.regular import open_regular

LONGEST_OGG_PAGE = 65_307
LONGEST_MP3_FRAME = 2_881
DSF_CHUNK_BYTES = (28).to_bytes(8, "little")
KNOWN_CODINGS = {"flac": "pcm", "mp3": "mp3", "opus": "opus", "aac": "aac", "dsf": "dsd", "dff": "dsd"}


def read_header(path: Path) -> Header:
    """Read the header of *path*.

    Raises
    ------
    Unreadable : missing, a folder, not permitted, empty, not a sound file, or shorter than stated in its header
    """
    try:
        if path.is_dir():
            raise unreadable(path, "a folder", "a sound file", "Name a file inside it.")
        with open_regular(path) as file:
            return _header(path, file)
    except OSError as problem:
        raise refused_by_system(path, problem) from problem


def _header(path: Path, file: BinaryIO) -> Header:
    start = file.read(64)
    size_bytes = file.seek(0, 2)
    if not start:
        raise unreadable(path, "an empty file")
    if start[:4] in (b"RIFF", b"RF64", b"BW64") and start[8:12] == b"WAVE":
        return wave_header(path, file, size_bytes)
    if start[:4] == b"FORM" and start[8:12] in (b"AIFF", b"AIFC"):
        return aiff_header(path, file, size_bytes)
    if start[:16] == W64:
        return w64_header(path, file, size_bytes)
    if start[:4] == b"caff":
        return caf_header(path, file, size_bytes)
    container = _kind(path, file, start)
    if container in ("ogg", "opus"):
        _refuse_endless_ogg(path, file, size_bytes)
    bits, speakers = _flac_facts(file) if container == "flac" else (None, ())
    return Header(
        container,
        coding=KNOWN_CODINGS.get(container, _ogg_coding(start)),
        bits=bits,
        size_bytes=size_bytes,
        states_length=container == "m4a" or (container == "mp3" and _counts_its_frames(file)),
        speakers=speakers,
    )


def _kind(path: Path, file: BinaryIO, start: bytes) -> str:
    if start[:3] == b"ID3":
        file.seek(_id3_bytes(start))
        return "flac" if file.read(4) == b"fLaC" else "mp3"
    if start[:4] == b"fLaC":
        return "flac"
    if start[:4] == b"DSD " and start[4:12] == DSF_CHUNK_BYTES:
        return "dsf"
    if start[:4] == b"FRM8" and start[12:16] == b"DSD ":
        return "dff"
    if start[:4] == b"OggS":
        return "opus" if b"OpusHead" in start else "ogg"
    if start[4:8] == b"ftyp":
        return "m4a"
    if _mpeg_layer(start) == 3:
        return "mp3"
    if len(start) > 1 and start[0] == 0xFF and start[1] & 0xF6 == 0xF0:
        return "aac"
    wanted = "WAV, AIFF, FLAC, W64, CAF, DSF, DFF, MP3, M4A, Opus or Ogg"
    raise unreadable(path, "no audio in a form this program supports", wanted)


def _flac_facts(file: BinaryIO) -> tuple[int | None, tuple[str, ...]]:
    """Bit depth in the first metadata block (RFC 9639, 8.2), and positions; neither if it is cut off."""
    file.seek(0)
    begins = _id3_bytes(file.read(10))
    file.seek(begins)
    start = file.read(22)
    if len(start) < 22:
        return None, ()
    channels = (start[20] >> 1 & 7) + 1
    return ((start[20] & 1) << 4 | start[21] >> 4) + 1, of_flac(file, begins + 4, channels)


def _refuse_endless_ogg(path: Path, file: BinaryIO, size_bytes: int) -> None:
    """Refuse an Ogg file without a marked last page (RFC 3533, header type 4): it was cut short."""
    file.seek(max(size_bytes - LONGEST_OGG_PAGE, 0))
    end = file.read()
    page = end[max(end.rfind(b"OggS"), 0) :]
    lacing = page[27 : 27 + page[26]] if len(page) > 26 else b""
    if not lacing or not page[5] & 4 or len(page) < 27 + len(lacing) + sum(lacing):
        raise unreadable(path, "an Ogg file without its end")


def _counts_its_frames(file: BinaryIO) -> bool:
    """True if the first frame of an MP3 is the usual table with the number of frames."""
    file.seek(0)
    file.seek(_id3_bytes(file.read(10)))
    frame = file.read(LONGEST_MP3_FRAME)
    return b"Xing" in frame or b"Info" in frame


def _id3_bytes(start: bytes) -> int:
    if start[:3] != b"ID3":
        return 0
    return 10 + sum((byte & 0x7F) << shift for byte, shift in zip(start[6:10], (21, 14, 7, 0), strict=False))


def _ogg_coding(start: bytes) -> str:
    return "vorbis" if start[:4] == b"OggS" and b"\x01vorbis" in start else ""


def _mpeg_layer(start: bytes) -> int:
    """3 for the header of an MPEG layer III frame, else 0; a UTF-16 byte order mark also begins with ones."""
    if len(start) < 4 or start[0] != 0xFF or start[1] & 0xE6 != 0xE2:
        return 0
    version, bitrate, rate = start[1] >> 3 & 3, start[2] >> 4, start[2] >> 2 & 3
    return 3 if version != 1 and bitrate not in (0, 15) and rate != 3 else 0
