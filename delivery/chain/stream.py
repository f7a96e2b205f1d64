"""Songs that continue into each other as one stream of samples, and any span of it at another rate. Performs I/O.

Rate conversion, error feedback and lossy encoders look beyond a single sample. A song processed by itself would meet
silence where its neighbour continues, and click there. So a song is cut out of the conversion of the whole stream, on
the stream's clock. For one song, only the part of its neighbours that affects it is read; songs are therefore made in
parallel, in bounded memory, and the result does not depend on which others are made.

Songs whose masters differ in rate are not one stream, since each has its own clock. Each uses the edge of the other,
converted to its own rate, as context. This context has an edge itself at the cut, so it is computed with context from
the first song in turn: each iteration reduces the remaining error by 5 to 12 dB.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from delivery.audio.blocks import open_sound
from delivery.audio.facts import BLOCK_FRAMES
from delivery.chain import render_steps as steps
from delivery.chain.joined import alike
from delivery.chain.prediction import converted_frames, frames_at_cut
from delivery.errors import Unreadable, Unusable
from delivery.model.chain import Chain, StepKind

Array = NDArray[np.float64]

LENDINGS = 20
"""Iterations of this exchange: enough for an error below -115 dBFS at full level, for any two usual rates."""


@dataclass(frozen=True, slots=True)
class Master:
    """The source of one song."""

    file: Path
    chain: Chain
    frames: int
    audio_hash: str
    """Seed of the dither; for unchanged songs also the proof."""


@dataclass(frozen=True, slots=True)
class Stream:
    """Masters of one rate and channel count, joined without a gap, with silence before the first and after the last."""

    masters: tuple[Master, ...]
    rate_hz: int
    channels: int
    before: Stream | None = None
    """Context of another rate before the first song, in place of silence."""
    after: Stream | None = None
    """The same after the last."""

    @property
    def seed(self) -> str:
        """Seed of the dither."""
        return "".join(master.audio_hash for master in self.masters)

    @property
    def content(self) -> str:
        """Identifies all audio that affects the song, for caches."""
        return " ".join(stream.seed if stream else "-" for stream in (self.before, self, self.after))

    def begins(self, index: int) -> int:
        """Frames before the song at *index*, from 0; the number of songs gives the total length."""
        return sum(master.frames for master in self.masters[:index])

    def instant(self, index: int, to_hz: int) -> int:
        """The same at another rate: every cut lies on the common clock, so the songs' lengths add up to the total."""
        if index == len(self.masters) == 1:
            return converted_frames(self.begins(1), self.rate_hz, to_hz)  # at least one frame
        return frames_at_cut(self.begins(index), self.rate_hz, to_hz)

    def length(self, to_hz: int) -> int:
        """Total frames at another rate."""
        return self.instant(len(self.masters), to_hz)

    def samples(self, start: int, stop: int, lendings: int = LENDINGS) -> Iterator[Array]:
        """The masters' samples from frame *start* to *stop*; outside the stream, silence or the neighbours' context.

        Raises
        ------
        Unreadable : a file cannot be decoded that far
        Unusable : songs that differ in rate or channels, or a sample that is not a number
        """
        yield from self._before(start, min(stop, 0), lendings)
        at = 0
        for master in self.masters:
            first, after = max(start - at, 0), min(stop - at, master.frames)
            if first < after:
                yield from self._of(master, first, after)
            at += master.frames
        yield from self._after(max(start - at, 0), stop - at, lendings)

    def converted(self, start: int, stop: int, to_hz: int, lendings: int = LENDINGS) -> Iterator[Array]:
        """Frames *start* to *stop*, both counted at *to_hz*. Raises as ``samples`` does."""

        def samples(first: int, after: int) -> Iterator[Array]:
            return self.samples(first, after, lendings)

        if to_hz == self.rate_hz:
            return samples(start, stop)
        return steps.converted(samples, self.rate_hz, to_hz, self.channels, start, stop)

    def _before(self, start: int, stop: int, lendings: int) -> Iterator[Array]:
        """Context before the first song, from frame *start* to *stop*, neither above 0."""
        if self.before and lendings and start < stop:
            end = self.before.length(self.rate_hz)
            lender = replace(self.before, after=self)
            return lender.converted(end + start, end + stop, self.rate_hz, lendings - 1)
        return self._silence(stop - start)

    def _after(self, start: int, stop: int, lendings: int) -> Iterator[Array]:
        """Context after the last song, counted from its end."""
        if self.after and lendings and start < stop:
            return replace(self.after, before=self).converted(start, stop, self.rate_hz, lendings - 1)
        return self._silence(stop - start)

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
        raise Unreadable(name, f"{left} samples too few", "an unchanged master", "Build again.")

    def _silence(self, frames: int) -> Iterator[Array]:
        for at in range(0, frames, BLOCK_FRAMES):
            yield np.zeros((min(BLOCK_FRAMES, frames - at), self.channels))


@dataclass(frozen=True, slots=True)
class Place:
    """A song's place in its stream; a single song is a stream of its own."""

    stream: Stream
    index: int = 0

    @property
    def master(self) -> Master:
        """The song's own master."""
        return self.stream.masters[self.index]

    @property
    def name(self) -> str:
        """Name for messages."""
        return self.master.file.name

    def span(self, to_hz: int) -> tuple[int, int]:
        """First frame and one past the last, at *to_hz* and on the stream's clock."""
        return self.stream.instant(self.index, to_hz), self.stream.instant(self.index + 1, to_hz)

    def before(self, to_hz: int) -> int:
        """Frames before the song, context included."""
        lent = self.stream.before.length(to_hz) if self.stream.before else 0
        return lent + self.span(to_hz)[0]

    def after(self, to_hz: int) -> int:
        """Frames after the song, context included."""
        lent = self.stream.after.length(to_hz) if self.stream.after else 0
        return lent + self.stream.length(to_hz) - self.span(to_hz)[1]

    def treated_alike(self, kind: StepKind, to_hz: int) -> int:
        """Frames directly before the song that get the same step with the same settings."""
        index = self.index
        while index and alike(kind, self.stream.masters[index - 1].chain, self.master.chain):
            index -= 1
        return self.span(to_hz)[0] - self.stream.instant(index, to_hz)
