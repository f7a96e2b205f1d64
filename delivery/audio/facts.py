"""Facts from a sound file's header, and positions in it as text."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from delivery.errors import Unreadable

BLOCK_FRAMES = 65_536
METERED_FRAMES = 4 * BLOCK_FRAMES
"""Frames in a block that every meter reads: 4 MB of stereo. In smaller ones, which fit in nearer caches, the cost of
every call is more than what they save."""


@dataclass(frozen=True, slots=True)
class SoundFacts:
    """Facts of the header. Nothing here is taken from the file's name."""

    path: Path
    container: str
    """'wav', 'w64', 'aiff', 'caf', 'flac', 'dsf', 'dff', 'mp3', 'm4a', 'opus', 'ogg', 'aac'."""
    riff_form: str
    """'RIFF', 'RF64' or 'BW64' for WAV; empty for everything else."""
    coding: str
    """'pcm' (every lossless integer coding), 'float', 'dsd', 'mp3', 'aac', 'opus', 'vorbis', or the file's own name for
    it."""
    rate_hz: int
    channels: int
    frames: int
    """For lossy codings: as decoded, the encoder's padding trimmed as the file requires."""
    bits: int | None
    """Bit depth stated in the header; None for lossy codings."""
    size_bytes: int
    extensible: bool = False
    """WAV with the extensible header (format tag 0xFFFE)."""
    decoded_by: str = "read directly"
    """'libsndfile' or 'FFmpeg' if a library decoded the samples."""
    speakers: tuple[str, ...] = ()
    """Position of each channel, by the names of ``model.speakers``; empty if the file does not state it."""
    channel_mask: int = 0
    """Channel mask of a WAVE header; 0 if it has none, and for every other container."""

    @property
    def integers(self) -> bool:
        """True if the samples are integers of at most 32 bits."""
        return self.coding == "pcm"

    @property
    def lossy(self) -> bool:
        """True if the coding is lossy: there is no bit depth."""
        return self.bits is None

    @property
    def duration_s(self) -> float:
        """Length in seconds."""
        return self.frames / self.rate_hz


MOST_CHANNELS = 64
"""Limit for plain PCM; more channels are left to libsndfile and its own limits."""
PLAIN_BYTES = {False: (2, 3, 4), True: (4, 8)}
"""Bytes a sample of plain integers (False) and plain floats (True)."""


@dataclass(frozen=True, slots=True)
class Layout:
    """Layout of the samples of uncompressed, interleaved PCM in a file."""

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
    """Facts from the first bytes; the decoder adds the rest."""

    container: str
    riff_form: str = ""
    coding: str = ""
    """Empty: known only to the decoder."""
    bits: int | None = None
    extensible: bool = False
    size_bytes: int = 0
    layout: Layout | None = None
    """Only for audio that can be read without a library."""
    states_length: bool = False
    """True for a compressed file that states its length."""
    speakers: tuple[str, ...] = ()
    """As in SoundFacts; empty if the header does not state it."""
    channel_mask: int = 0
    """As in SoundFacts."""


def checked(facts: SoundFacts) -> SoundFacts:
    """The same facts; raises Unreadable if they are impossible."""
    if facts.rate_hz <= 0 or facts.channels <= 0:
        raise unreadable(facts.path, f"a header of {facts.channels} channels at {facts.rate_hz} Hz")
    return facts


def unreadable(path: Path, found: str, wanted: str = "a whole sound file", remedy: str = "") -> Unreadable:
    """The only error of this package; its place is the file's name."""
    return Unreadable(path.name, found, wanted, remedy or "Copy or export the file again.")


def refused_by_system(path: Path, problem: OSError) -> Unreadable:
    """The system's error on opening *path*, as Unreadable."""
    if isinstance(problem, FileNotFoundError):
        return unreadable(path, "no file of this name", "a sound file", "Check the name and the folder.")
    if isinstance(problem, PermissionError):
        return unreadable(path, "a file that may not be read", remedy="Ask for permission to read it.")
    return unreadable(path, f"a file that cannot be read ({problem.strerror})")


def clock(seconds: float) -> str:
    """'1:02.345': minutes, seconds, milliseconds, cut off rather than rounded up."""
    milliseconds = int(seconds * 1000)
    return f"{milliseconds // 60_000}:{milliseconds // 1000 % 60:02d}.{milliseconds % 1000:03d}"
