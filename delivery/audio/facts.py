"""What a sound file says of itself, and how a place in it is told to people."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from delivery.errors import Unreadable

BLOCK_FRAMES = 65_536
"""A megabyte of stereo: it stays near the processor while every meter looks at it. Tried from 8192 to 131 072."""
HIGH_RATE_HZ = 64_000
"""At higher rates blocks are twice as long: then what is done once for every block weighs more than that."""


def block_frames(rate_hz: int) -> int:
    """Frames in a block when every meter is to look at it."""
    return BLOCK_FRAMES if rate_hz <= HIGH_RATE_HZ else 2 * BLOCK_FRAMES


@dataclass(frozen=True, slots=True)
class SoundFacts:
    """The header in our words. Nothing here is taken from the file's name."""

    path: Path
    container: str
    """'wav', 'w64', 'aiff', 'caf', 'flac', 'dsf', 'dff', 'mp3', 'm4a', 'opus', 'ogg', 'aac'."""
    riff_form: str
    """'RIFF', 'RF64' or 'BW64' for WAV; empty for everything else."""
    coding: str
    """'pcm' (every lossless integer coding), 'float', 'dsd', 'mp3', 'aac', 'opus', 'vorbis', or the file's own word."""
    rate_hz: int
    channels: int
    frames: int
    """For lossy codings: as decoded, the encoder's padding trimmed the way the file requires."""
    bits: int | None
    """Word length the header states; None for lossy codings."""
    size_bytes: int
    extensible: bool = False
    """WAV with the extensible header (format tag 0xFFFE)."""
    decoded_by: str = "read directly"
    """'libsndfile' or 'FFmpeg' where a library decoded the samples."""
    speakers: tuple[str, ...] = ()
    """Position of each channel, by the names of ``model.speakers``; empty where the file does not state it."""
    channel_mask: int = 0
    """As a WAVE header states it; 0 where it states none, and for every other container."""

    @property
    def integers(self) -> bool:
        """True when the samples are whole numbers of at most 32 bits."""
        return self.coding == "pcm"

    @property
    def lossy(self) -> bool:
        return self.bits is None

    @property
    def duration_s(self) -> float:
        return self.frames / self.rate_hz


MOST_CHANNELS = 64
"""In plain PCM; more is left to libsndfile and its own limits."""
PLAIN_BYTES = {False: (2, 3, 4), True: (4, 8)}
"""Bytes a sample of plain integers (False) and plain floats (True)."""


@dataclass(frozen=True, slots=True)
class Layout:
    """Where the samples of uncompressed PCM lie in a file; interleaved."""

    rate_hz: int
    channels: int
    sample_bytes: int
    begins_at: int
    frames: int
    order: str = "<"
    """'<' little-endian, '>' big-endian."""
    floats: bool = False
    """IEEE 754 of 4 or 8 bytes; else integers of 2, 3 or 4 bytes."""


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
    """Only for what can be read without a library."""
    states_length: bool = False
    """A compressed file that says how long it is, not only how it begins."""
    speakers: tuple[str, ...] = ()
    """As in SoundFacts; empty where the header does not settle it."""
    channel_mask: int = 0
    """As in SoundFacts."""


def checked(facts: SoundFacts) -> SoundFacts:
    """The same facts; raises Unreadable when they are not those of any sound."""
    if facts.rate_hz <= 0 or facts.channels <= 0:
        raise unreadable(facts.path, f"a header of {facts.channels} channels at {facts.rate_hz} Hz")
    return facts


def unreadable(path: Path, found: str, wanted: str = "a whole sound file", remedy: str = "") -> Unreadable:
    """This package's one kind of error; its place is the file's name."""
    return Unreadable(path.name, found, wanted, remedy or "Copy or export the file again.")


def refused_by_system(path: Path, problem: OSError) -> Unreadable:
    """What the system answered instead of the bytes of *path*."""
    if isinstance(problem, FileNotFoundError):
        return unreadable(path, "no file of this name", "a sound file", "Check the name and the folder.")
    if isinstance(problem, PermissionError):
        return unreadable(path, "a file that may not be read", remedy="Ask for permission to read it.")
    return unreadable(path, f"a file that cannot be read ({problem.strerror})")


def clock(seconds: float) -> str:
    """'1:02.345': minutes, seconds, milliseconds, cut off rather than rounded up."""
    milliseconds = int(seconds * 1000)
    return f"{milliseconds // 60_000}:{milliseconds // 1000 % 60:02d}.{milliseconds % 1000:03d}"
