"""Songs that continue into each other, as one stream of samples, and any stretch of it at another rate. An edge.

Rate conversion, error feedback and lossy encoders look beyond a single sample. A song treated by itself is given
silence where its neighbour goes on, and clicks there. So a song is cut out of the conversion of the whole stream, on
the stream's clock. To make one song, no more of the others is read than can be heard in it; songs are therefore made
side by side, in bounded memory, and come out the same whatever else is made.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from delivery.audio.blocks import open_sound
from delivery.audio.facts import BLOCK_FRAMES
from delivery.chain import render_steps as steps
from delivery.chain.joined import alike
from delivery.chain.plan import converted_frames, frames_at_cut
from delivery.errors import Unreadable, Unusable
from delivery.model.chain import Chain, StepKind

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Master:
    """What a song is made from."""

    file: Path
    chain: Chain
    frames: int
    audio_hash: str
    """Seed of the dither; for untouched songs also the proof."""


@dataclass(frozen=True, slots=True)
class Stream:
    """Masters of one rate and number of channels, end to end, with silence before the first and after the last."""

    masters: tuple[Master, ...]
    rate_hz: int
    channels: int

    @property
    def seed(self) -> str:
        """Of the dither."""
        return "".join(master.audio_hash for master in self.masters)

    def begins(self, index: int) -> int:
        """Frames before the song at *index*, counting from 0; the number of songs gives the whole length."""
        return sum(master.frames for master in self.masters[:index])

    def instant(self, index: int, to_hz: int) -> int:
        """The same at another rate: every cut lies on the common clock, so lengths of songs add up to the whole."""
        if index == len(self.masters) == 1:
            return converted_frames(self.begins(1), self.rate_hz, to_hz)  # never nothing
        return frames_at_cut(self.begins(index), self.rate_hz, to_hz)

    def samples(self, start: int, stop: int) -> Iterator[Array]:
        """The masters' samples from frame *start* to *stop*, which may lie outside: there is silence.

        Raises
        ------
        Unreadable : a file's sound cannot be read that far
        Unusable : songs that differ in rate or channels, or a sample that is not a number
        """
        yield from self._silence(min(stop, 0) - start)
        at = 0
        for master in self.masters:
            first, after = max(start - at, 0), min(stop - at, master.frames)
            if first < after:
                yield from self._of(master, first, after)
            at += master.frames
        yield from self._silence(stop - max(start, at))

    def converted(self, start: int, stop: int, to_hz: int) -> Iterator[Array]:
        """From frame *start* to *stop*, both counted at *to_hz*; raises as ``samples`` does."""
        if to_hz == self.rate_hz:
            return self.samples(start, stop)
        return steps.converted(self.samples, self.rate_hz, to_hz, self.channels, start, stop)

    def _of(self, master: Master, first: int, after: int) -> Iterator[Array]:
        name, left = master.file.name, after - first
        with open_sound(master.file, count=False) as sound:
            facts = sound.facts
            copied = master.chain.step(StepKind.CHANNELS) is not None
            channels = 1 if copied else self.channels
            if (facts.rate_hz, facts.channels) != (self.rate_hz, channels):
                found = f"{facts.rate_hz} Hz, {facts.channels} channels"
                wanted = f"{self.rate_hz} Hz, {channels} channels"
                raise Unusable(name, found, wanted, "Joined songs must agree.")
            blocks = sound.blocks(start=first)
            for block in blocks if facts.integers else steps.finite(blocks, name, facts.rate_hz, first):
                yield np.repeat(block[:left], 2, axis=1) if copied else block[:left]
                left -= len(block)
                if left <= 0:
                    return
        raise Unreadable(name, f"{left} samples too few", "a master that holds still", "Build again.")

    def _silence(self, frames: int) -> Iterator[Array]:
        for at in range(0, frames, BLOCK_FRAMES):
            yield np.zeros((min(BLOCK_FRAMES, frames - at), self.channels))


@dataclass(frozen=True, slots=True)
class Place:
    """A song's place in its stream; a song that continues into no other is a stream of its own."""

    stream: Stream
    index: int = 0

    @property
    def master(self) -> Master:
        return self.stream.masters[self.index]

    @property
    def name(self) -> str:
        """For messages."""
        return self.master.file.name

    def span(self, to_hz: int) -> tuple[int, int]:
        """First frame and the one after the last, at *to_hz* and on the stream's clock."""
        return self.stream.instant(self.index, to_hz), self.stream.instant(self.index + 1, to_hz)

    def after(self, to_hz: int) -> int:
        """Frames of the stream that follow the song."""
        return self.stream.instant(len(self.stream.masters), to_hz) - self.span(to_hz)[1]

    def treated_alike(self, kind: StepKind, to_hz: int) -> int:
        """Frames directly before the song that go through the same step with the same settings."""
        index = self.index
        while index and alike(kind, self.stream.masters[index - 1].chain, self.master.chain):
            index -= 1
        return self.span(to_hz)[0] - self.stream.instant(index, to_hz)
