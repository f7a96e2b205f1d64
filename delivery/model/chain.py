"""Chain: the fewest steps that make one deliverable, as data that can be shown, tested and repeated."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any


class StepKind(StrEnum):
    """Kind of a step; steps occur only in this order."""

    COPY = "copy"
    """The file's bytes; nothing is decoded."""
    REWRAP = "rewrap"
    """The same samples in another container or bit depth that holds them exactly."""
    CHANNELS = "channels"
    """One channel copied to both, sample by sample and without gain."""
    RATE = "rate"
    GAIN = "gain"
    REQUANTISE = "requantise"
    """Dither and round to the target's bit depth: always last, exactly once."""
    ENCODE = "encode"


@dataclass(frozen=True, slots=True)
class Target:
    """Form of the deliverable."""

    container: str
    """Id of a member of ``formats``: 'wav', 'flac', 'mp3' ..."""
    coding: str
    """'pcm', 'float', 'mp3', 'aac', 'opus'."""
    rate_hz: int
    channels: int
    bits: int | None
    """None for lossy codings."""
    bitrate_kbps: int | None = None
    vbr_quality: int | None = None
    """MP3 of variable bit rate, 0 (best) to 9; then there is no ``bitrate_kbps``."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a chain."""

    kind: StepKind
    sentence: str
    """'rate 96 -> 44.1 kHz'."""
    because: str
    """The reason, naming the spec's key."""
    settings: Mapping[str, Any] = field(default_factory=dict)
    """RATE: from_hz, to_hz. GAIN: gain_db. REQUANTISE: bits, dither, from_bits, and silence if it stays zero.
    ENCODE: coding, and bitrate_kbps or vbr_quality."""


@dataclass(frozen=True, slots=True)
class Chain:
    """The steps from a master to one file."""

    steps: tuple[Step, ...]
    target: Target

    @property
    def same_samples(self) -> bool:
        """True if no sample value changes, though one channel may be copied to both."""
        return all(step.kind in (StepKind.COPY, StepKind.REWRAP, StepKind.CHANNELS) for step in self.steps)

    @property
    def identical(self) -> bool:
        """True if the shipped samples are identical to the master's."""
        return all(step.kind in (StepKind.COPY, StepKind.REWRAP) for step in self.steps)

    def step(self, kind: StepKind) -> Step | None:
        """The step of that *kind*; None if there is none."""
        return next((step for step in self.steps if step.kind is kind), None)
