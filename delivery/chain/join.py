"""Join songs into one continuous file for a disc or side, and cut them out of it again as proof. Performs I/O.

Each song is processed by its own chain only, except that songs joined without a gap are converted as one stream if the
sample rate changes. Gaps and padding are digital silence, without dither.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from delivery.audio.blocks import open_sound
from delivery.audio.digest import AudioDigest
from delivery.audio.pcm import PcmForm, write_pcm
from delivery.chain import render_steps as steps
from delivery.chain.carrier import Segment, segments
from delivery.chain.stream import Master, Stream
from delivery.dsp.writing.dither import Requantiser
from delivery.errors import Occupied, Unusable
from delivery.model.carrier import Programme, Song
from delivery.model.chain import StepKind, Target

Array = NDArray[np.float64]
Integers = NDArray[np.int32]

SILENCE_FRAMES = 65_536


def join(programme: Programme, masters: Mapping[int, Master], target: Target, file: Path) -> None:
    """Write the continuous WAV *file* of *programme*; memory does not grow with length.

    Parameters
    ----------
    masters : by track position

    Raises
    ------
    Unreadable, Unusable, Over : as rendering a single song does; or songs of one stream that differ in rate
    Occupied : *file* exists
    Unfinished : the machine failed; after any failure no *file* remains
    """
    if file.exists():
        raise Occupied(
            file.name, "a file of that name", "a path that does not exist yet", "Nothing is ever overwritten"
        )
    form = PcmForm("wav", "pcm", target.rate_hz, target.channels, _bits(target))
    try:
        write_pcm(file, form, programme.length, _integers(programme, masters, target))
    except BaseException:  # an interrupt leaves no half-made file either
        file.unlink(missing_ok=True)
        raise


def cut_again(file: Path, programme: Programme) -> tuple[str, ...]:
    """Audio hash of each song, cut out of the written *file* at the positions of *programme*; the rest must be silence.

    The hash is the one a file of its own would have: rate, channels and samples, whatever the container.

    Raises
    ------
    Unreadable : the audio cannot be decoded to its end
    Unusable : sound in a gap, or a file of another length
    """
    with open_sound(file) as sound:
        facts = sound.facts
        if facts.frames != programme.length:
            raise _not_as_planned(file, f"{facts.frames} samples", f"{programme.length} samples")
        digests = [AudioDigest(facts.rate_hz, facts.channels, facts.integers) for _ in programme.songs]
        at = 0
        for block in sound.blocks():
            _follow(file, block, at, programme.songs, digests)
            at += len(block)
    return tuple(digest.hexdigest() for digest in digests)


def unlike_neighbours(programme: Programme, masters: Mapping[int, tuple[int, int]]) -> tuple[tuple[int, int], ...]:
    """Pairs of positions joined without a gap whose masters differ in sample rate or channels.

    Parameters
    ----------
    masters : (rate_hz, channels) by track position
    """
    return tuple(
        (before.position, after.position)
        for before, after in itertools.pairwise(programme.songs)
        if after.joined and masters[before.position] != masters[after.position]
    )


def _integers(programme: Programme, masters: Mapping[int, Master], target: Target) -> Iterator[Integers]:
    chains = {position: master.chain for position, master in masters.items()}
    at = 0
    for segment in segments(programme, chains):
        yield from _silence(segment.begins - at, target.channels)
        yield from _segment(segment, [masters[song.position] for song in segment.songs], target)
        at = segment.begins + segment.length
    yield from _silence(programme.length - at, target.channels)


def _segment(segment: Segment, masters: list[Master], target: Target) -> Iterator[Integers]:
    """Samples of one stream: processed as a whole if a step looks beyond a sample, else each song by its own chain."""
    first, bits = masters[0], _bits(target)
    rate, rounding = first.chain.step(StepKind.RATE), first.chain.step(StepKind.REQUANTISE)
    stream = Stream(tuple(masters), rate.settings["from_hz"] if rate else target.rate_hz, target.channels)
    blocks = stream.converted(0, stream.instant(len(masters), target.rate_hz), target.rate_hz)
    if rounding is None:
        return steps.exact_integers(blocks, first.file.name, bits, target.rate_hz)
    alike = all(master.chain.step(StepKind.CHANNELS) for master in masters)
    requantiser = Requantiser(
        bits, rounding.settings["dither"], target.rate_hz, target.channels, stream.seed, alike=alike
    )
    if rounding.settings.get("silence") != "zero":
        return steps.requantised(blocks, first.file.name, requantiser, bits, target.rate_hz)
    each = _apart(blocks, [song.length for song in segment.songs])
    kept = (
        steps.requantised(song, first.file.name, requantiser, bits, target.rate_hz, zero_ends=True) for song in each
    )
    return itertools.chain.from_iterable(kept)


def _apart(blocks: Iterable[Array], lengths: Sequence[int]) -> Iterator[Iterator[Array]]:
    """The songs of one stream, each consumed before the next; audio beyond its ends is silence."""
    pieces, rest = iter(blocks), np.zeros((0, 1))

    def song(length: int) -> Iterator[Array]:
        nonlocal rest
        while length:
            block = rest if len(rest) else next(pieces)
            yield block[:length]
            rest, length = block[length:], max(0, length - len(block))

    yield from map(song, lengths)


def _silence(frames: int, channels: int) -> Iterator[Integers]:
    for start in range(0, frames, SILENCE_FRAMES):
        yield np.zeros((min(SILENCE_FRAMES, frames - start), channels), np.int32)


def _follow(file: Path, block: Array, start: int, songs: tuple[Song, ...], digests: list[AudioDigest]) -> None:
    """Hash each song's share of *block*; samples between songs must be silent."""
    end, at = start + len(block), start
    for song, digest in zip(songs, digests, strict=True):
        begins, ends = max(song.begins, start), min(song.ends, end)
        if begins >= ends:
            continue
        _silent(file, block[at - start : begins - start], at)
        digest.update(block[begins - start : ends - start])
        at = ends
    _silent(file, block[at - start :], at)


def _silent(file: Path, block: Array, at: int) -> None:
    if block.any():
        raise _not_as_planned(file, f"sound in a gap, in the {len(block)} samples from {at}", "digital silence")


def _not_as_planned(file: Path, found: str, wanted: str) -> Unusable:
    return Unusable(file.name, found, wanted, "Please report it.")


def _bits(target: Target) -> int:
    if target.bits is None:
        raise ValueError(f"joined songs are PCM: {target}")
    return target.bits
