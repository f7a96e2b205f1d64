"""Songs that continue into each other, as one stream of samples, and any stretch of it at another rate. An edge.

Rate conversion, error feedback and lossy encoders look beyond a single sample. A song treated by itself is given
silence where its neighbour goes on, and clicks there. So a song is cut out of the conversion of the whole stream, on
the stream's clock. To make one song, no more of the others is read than can be heard in it; songs are therefore made
side by side, in bounded memory, and come out the same whatever else is made.

Songs whose masters have unlike rates are no one stream, for each has a clock of its own. They lend each other their
edges, converted to the borrower's rate. What is lent has an edge itself, at the very cut, for which the lender borrows
in turn from the song it lends to: every turn makes what is left of the edge 5 to 12 dB smaller.
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
from delivery.chain.plan import converted_frames, frames_at_cut
from delivery.errors import Unreadable, Unusable
from delivery.model.chain import Chain, StepKind

Array = NDArray[np.float64]

LENDINGS = 20
"""Turns of borrowing: enough for an error below -115 dBFS at a full tone, of whatever two usual rates."""


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
    before: Stream | None = None
    """Sound of another rate that leads to the first, in place of silence."""
    after: Stream | None = None
    """The same that the last continues into."""

    @property
    def seed(self) -> str:
        """Of the dither."""
        return "".join(master.audio_hash for master in self.masters)

    @property
    def content(self) -> str:
        """Names all the sound that can be heard in it, for caches."""
        return " ".join(stream.seed if stream else "-" for stream in (self.before, self, self.after))

    def begins(self, index: int) -> int:
        """Frames before the song at *index*, counting from 0; the number of songs gives the whole length."""
        return sum(master.frames for master in self.masters[:index])

    def instant(self, index: int, to_hz: int) -> int:
        """The same at another rate: every cut lies on the common clock, so lengths of songs add up to the whole."""
        if index == len(self.masters) == 1:
            return converted_frames(self.begins(1), self.rate_hz, to_hz)  # never nothing
        return frames_at_cut(self.begins(index), self.rate_hz, to_hz)

    def length(self, to_hz: int) -> int:
        """Frames of the whole at another rate."""
        return self.instant(len(self.masters), to_hz)

    def samples(self, start: int, stop: int, lendings: int = LENDINGS) -> Iterator[Array]:
        """The masters' samples from frame *start* to *stop*, which may lie outside: there is silence, or what is lent.

        Raises
        ------
        Unreadable : a file's sound cannot be read that far
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
        """From frame *start* to *stop*, both counted at *to_hz*; raises as ``samples`` does."""

        def samples(first: int, after: int) -> Iterator[Array]:
            return self.samples(first, after, lendings)

        if to_hz == self.rate_hz:
            return samples(start, stop)
        return steps.converted(samples, self.rate_hz, to_hz, self.channels, start, stop)

    def _before(self, start: int, stop: int, lendings: int) -> Iterator[Array]:
        """What stands before the first song, from frame *start* to *stop*, neither above 0."""
        if self.before and lendings and start < stop:
            end = self.before.length(self.rate_hz)
            lender = replace(self.before, after=self)
            return lender.converted(end + start, end + stop, self.rate_hz, lendings - 1)
        return self._silence(stop - start)

    def _after(self, start: int, stop: int, lendings: int) -> Iterator[Array]:
        """What stands behind the last song, counted from its end."""
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

    def before(self, to_hz: int) -> int:
        """Frames that lead to the song, those that are lent among them."""
        lent = self.stream.before.length(to_hz) if self.stream.before else 0
        return lent + self.span(to_hz)[0]

    def after(self, to_hz: int) -> int:
        """Frames that follow the song, those that are lent among them."""
        lent = self.stream.after.length(to_hz) if self.stream.after else 0
        return lent + self.stream.length(to_hz) - self.span(to_hz)[1]

    def treated_alike(self, kind: StepKind, to_hz: int) -> int:
        """Frames directly before the song that go through the same step with the same settings."""
        index = self.index
        while index and alike(kind, self.stream.masters[index - 1].chain, self.master.chain):
            index -= 1
        return self.span(to_hz)[0] - self.stream.instant(index, to_hz)
