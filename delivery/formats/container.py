"""What every container declares: extension, codings, limits, tag tag formats. Data, no branches elsewhere."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Container:
    id: str
    """As specs name it: 'wav', 'aiff', 'flac', 'mp3', 'm4a', 'opus'."""
    title: str
    extension: str
    """With the dot."""
    codings: tuple[str, ...]
    """'pcm', 'float', 'mp3', 'aac', 'opus'; the first is what it is usually for."""
    bits: tuple[int, ...]
    """Word lengths it can hold for pcm; empty for lossy."""
    max_rate_hz: int
    max_channels: int
    tag_formats: tuple[str, ...]
    """Tag tag_formats, by module name in ``tags``, in the order they are written."""
    sealed: bool = False
    """True when the container itself carries a checksum of the samples (FLAC)."""
    note: str = ""
    """A limit worth telling, for `explain`."""

    @property
    def lossless(self) -> bool:
        return bool(self.bits)
