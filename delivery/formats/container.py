"""What every container declares: extension, codings, writer, limits, tag formats. Data, no lists elsewhere."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Container:
    """One container: what it can hold and how it is tagged."""

    id: str
    """As specs name it: 'wav', 'aiff', 'flac', 'mp3', 'm4a', 'opus'."""
    title: str
    extension: str
    """With the dot."""
    codings: tuple[str, ...]
    """'pcm', 'float', 'mp3', 'aac', 'opus'; the first is the usual one."""
    bits: tuple[int, ...]
    """Bit depths it can hold for pcm; empty for lossy."""
    max_rate_hz: int
    max_channels: int
    tag_formats: tuple[str, ...]
    """By module name in ``tags``, in the order they are written; empty where label copy is not stored."""
    chunked: bool = False
    """True of RIFF and AIFF, whose chunks may be carried along."""
    pcm_codec: str = ""
    """What its lossless samples are coded with, a key of `CODECS`; empty: they are written as they are."""
    most_sound_bytes: int | None = None
    """What its size fields can count, with room for tags; None: no limit that a file reaches."""
    compressed: bool = False
    """True where the size of lossless sound depends on the sound."""
    sealed: bool = False
    """True when the container itself carries a checksum of the samples (FLAC)."""
    note: str = ""
    """A limit worth mentioning in `explain`."""

    @property
    def lossless(self) -> bool:
        """True if it holds integers of at least one bit depth."""
        return bool(self.bits)
