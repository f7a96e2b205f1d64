"""The steps of a chain as operations on a stream of blocks. Pure: blocks in, blocks out, bounded memory."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Iterator
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from delivery.audio.facts import BLOCK_FRAMES
from delivery.chain.prediction import converted_frames
from delivery.dsp.writing.dither import Requantiser
from delivery.errors import Over, Unusable
from delivery.formats.capability import Ceiling, full_scale

Array = NDArray[np.float64]
Integers = NDArray[np.int32]
Samples = TypeVar("Samples", Array, Integers)

SILENT_BELOW = 2.0**-33
"""Digital silence, also after a rate conversion, whose arithmetic may leave 1e-17 for zeros: a quarter of the smallest
step of a 32-bit sample (-199 dBFS). No sound lies so low, and the converter's ringing lies above."""

FIRST_LOOK_FRAMES = 64

_SETTLINGS_A_SECOND = 10
"""The converter is given a tenth of a second before and after the wanted span, more than its filter's length."""


def converted(
    samples: Callable[[int, int], Iterable[Array]], from_hz: int, to_hz: int, channels: int, start: int, stop: int
) -> Iterator[Array]:
    """Convert the sample rate, 64-bit floats, linear phase, start aligned; return frames *start* to *stop* of the
    result.

    The filter's ringing outside the duration of the audio is cut. Audio or silence is always supplied before and after:
    otherwise the converter begins with half a filter and its first five frames are wrong (by 0.2 % of full scale, 44.1
    to 48 kHz).

    libsoxr at its highest quality: passband to 0.913 of the lower half-rate, rejection 168 dB (its documentation).

    Parameters
    ----------
    samples : returns any span of the audio at *from_hz*; outside of it, silence
    """
    import soxr

    common = math.gcd(from_hz, to_hz)  # number of instants per second that both rates share
    period, to_period = from_hz // common, to_hz // common
    settling = -(-common // _SETTLINGS_A_SECOND)  # in periods
    first, last = start // to_period - settling, -(-stop // to_period) + settling
    streams = [soxr.ResampleStream(from_hz, to_hz, 1, dtype="float64", quality="VHQ") for _ in range(channels)]
    early, left, end = start - first * to_period, stop - start, np.zeros((0, channels))
    fed = ((block, False) for block in samples(first * period, last * period))
    for block, over in itertools.chain(fed, [(end, True)]):
        rows = [stream.resample_chunk(np.ascontiguousarray(block[:, c]), last=over) for c, stream in enumerate(streams)]
        out: Array = np.stack(rows).T
        skipped = min(early, len(out))
        out = out[skipped : skipped + left]
        early, left = early - skipped, left - len(out)
        if len(out):
            yield out
        if not left:
            return


def rated(sound: Array, from_hz: int, to_hz: int) -> Array:
    """A piece of audio at another rate, with silence around it; ``converted_frames`` long."""

    def stretch(start: int, stop: int) -> Iterator[Array]:
        before, behind = max(0, -start), max(0, stop - len(sound))
        inside = sound[max(0, start) : max(0, stop)]
        yield np.concatenate([np.zeros((before, sound.shape[1])), inside, np.zeros((behind, sound.shape[1]))])

    frames = converted_frames(len(sound), from_hz, to_hz)
    return np.concatenate(list(converted(stretch, from_hz, to_hz, sound.shape[1], 0, frames)))


def both_channels(blocks: Iterable[Array]) -> Iterator[Array]:
    """One channel twice, sample by sample: (frames, 1) becomes (frames, 2)."""
    return (np.repeat(block, 2, axis=1) for block in blocks)


def gained(blocks: Iterable[Array], gain_db: float) -> Iterator[Array]:
    """Change the level by a fixed number of decibels."""
    factor = 10.0 ** (gain_db / 20)
    for block in blocks:
        yield block * factor


def finite(blocks: Iterable[Array], place: str, rate_hz: int, start: int = 0) -> Iterator[Array]:
    """Pass the blocks through, checking that every sample is a number; the first block begins at frame *start*.

    Raises
    ------
    Unusable : one is not
    """
    for block in blocks:
        wrong = ~np.isfinite(block)
        if wrong.any():
            frame, channel = divmod(int(wrong.argmax()), block.shape[1])
            where = _where(start + frame, channel, rate_hz)
            raise Unusable(place, f"a sample that is not a number {where}", "sound", "A new export of the master")
        yield block
        start += len(block)


def requantised(
    blocks: Iterable[Array],
    place: str,
    requantiser: Requantiser,
    bits: int,
    rate_hz: int,
    *,
    zero_ends: bool = False,
) -> Iterator[Integers]:
    """Dithered and rounded integers, left-justified; an over is an error.

    Parameters
    ----------
    zero_ends : digital silence before the first and after the last sound is written as zeros, without dither
    """
    return rounded(under(blocks, place, full_scale(bits), rate_hz), requantiser, zero_ends=zero_ends)


def rounded(blocks: Iterable[Array], requantiser: Requantiser, *, zero_ends: bool) -> Iterator[Integers]:
    """The same without checking for overs, which are clipped."""
    return _with_zero_ends(blocks, requantiser) if zero_ends else map(requantiser.update, blocks)


def _with_zero_ends(blocks: Iterable[Array], requantiser: Requantiser) -> Iterator[Integers]:
    """Hold back silence, as a count, until it is known whether sound follows; silence inside a song is dithered."""
    begun, waiting = False, 0
    for block in blocks:
        first = _silent_frames(block)
        if first == len(block):
            waiting += len(block)
            continue
        after = len(block) - _silent_frames(block[::-1])
        for frames in _pieces(waiting + first):
            yield requantiser.update(np.zeros((frames, block.shape[1]))) if begun else requantiser.pass_over(frames)
        yield requantiser.update(block[first:after])
        begun, waiting = True, len(block) - after
    for frames in _pieces(waiting):
        yield requantiser.pass_over(frames)


def _silent_frames(block: Array) -> int:
    """Frames before the first sound. Most blocks begin with it, so the first frames are looked at alone."""
    at, frames = 0, FIRST_LOOK_FRAMES
    while at < len(block):
        sounding = (np.abs(block[at : at + frames]) >= SILENT_BELOW).any(axis=1)
        if sounding.any():
            return at + int(sounding.argmax())
        at, frames = at + frames, 4 * frames
    return len(block)


def _pieces(frames: int) -> Iterator[int]:
    """The given number of frames, in blocks of the usual size."""
    for start in range(0, frames, BLOCK_FRAMES):
        yield min(BLOCK_FRAMES, frames - start)


def exact_integers(blocks: Iterable[Array], place: str, bits: int, rate_hz: int) -> Iterator[Integers]:
    """The same samples as integers of *bits*, left-justified.

    Raises
    ------
    Unusable : a sample that such an integer cannot hold exactly
    """
    steps, word = 2.0 ** (bits - 1), 1 << (32 - bits)
    for block in under(blocks, place, full_scale(bits), rate_hz):
        scaled = block * steps
        rounded = np.rint(scaled)
        if not np.array_equal(scaled, rounded) or (rounded.size and rounded.max() > steps - 1):
            raise _not_exact(place, f"{bits}-bit words")
        yield (rounded.astype(np.int64) * word).astype(np.int32)


def exact_floats(blocks: Iterable[Array], place: str, bits: int) -> Iterator[Array]:
    """The same samples, for a file of 32-bit floats (or 64 as *bits* states).

    Raises
    ------
    Unusable : a sample that such a float cannot hold exactly
    """
    for block in blocks:
        if bits != 64 and not np.array_equal(block.astype(np.float32), block):
            raise _not_exact(place, "32-bit floats")
        yield block


def as_stored(blocks: Iterable[Array], bits: int) -> Iterator[Array]:
    """Rounded to 32-bit floats, as stored in the file; 64-bit floats unchanged."""
    for block in blocks:
        yield block if bits == 64 else block.astype(np.float32).astype(np.float64)


def seen(blocks: Iterable[Samples], by: Callable[[Samples], None]) -> Iterator[Samples]:
    """Pass the blocks through, calling *by* with each."""
    for block in blocks:
        by(block)
        yield block


def under(
    blocks: Iterable[Array], place: str, ceiling: Ceiling, rate_hz: int, start: int = 0, frames: int | None = None
) -> Iterator[Array]:
    """Pass the blocks through, checking that no sample of the song exceeds the ceiling.

    After the first over, the rest of the song is searched for the highest, so that the error can state the reduction
    needed.

    Parameters
    ----------
    start : where in the song the first block begins; frames before 0 belong to a neighbour and are ignored
    frames : length of the song; later frames are ignored too

    Raises
    ------
    Over : dB over, time, channel and remedy
    """
    remaining = iter(blocks)
    for block in remaining:
        looked_at = _own(block, start, frames)
        if len(looked_at) and max(looked_at.max(), -looked_at.min()) > ceiling.magnitude:
            raise _over(place, ceiling, _worst(itertools.chain([block], remaining), start, frames), rate_hz)
        yield block
        start += len(block)


def _own(block: Array, start: int, frames: int | None) -> Array:
    return block[max(0, -start) : None if frames is None else max(0, frames - start)]


def _worst(blocks: Iterable[Array], start: int, frames: int | None) -> tuple[float, int, int]:
    """Largest magnitude, its frame and its channel from 0."""
    worst = (0.0, start, 0)
    for block in blocks:
        magnitudes = np.abs(_own(block, start, frames))
        frame, channel = divmod(int(magnitudes.argmax()), block.shape[1]) if magnitudes.size else (0, 0)
        if magnitudes.size and magnitudes[frame, channel] > worst[0]:
            worst = (float(magnitudes[frame, channel]), max(start, 0) + frame, channel)
        start += len(block)
    return worst


def _over(place: str, ceiling: Ceiling, worst: tuple[float, int, int], rate_hz: int) -> Over:
    magnitude, frame, channel = worst
    peak_dbfs = 20 * float(np.log10(magnitude))
    over_db = peak_dbfs - 20 * float(np.log10(min(ceiling.magnitude, 1.0)))
    return Over(
        place,
        f"a sample {over_db:.2f} dB over {ceiling.called} {_where(frame, channel, rate_hz)}",
        ceiling.wanted,
        f"A master {np.ceil(100 * over_db) / 100:.2f} dB lower, or a spec that permits gain down to the ceiling",
        over_db,
        peak_dbfs,
        frame / rate_hz,
    )


def _where(frame: int, channel: int, rate_hz: int) -> str:
    return f"at {frame / rate_hz:.3f} s in channel {channel + 1}"


def _not_exact(place: str, holder: str) -> Unusable:
    return Unusable(
        place,
        f"samples finer than {holder} can store",
        "the same samples in another container",
        "A spec that permits a lower bit depth (with dither), or a higher one",
    )
