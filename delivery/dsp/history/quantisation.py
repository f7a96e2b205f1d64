"""Steps on which all samples stand, as those of shorter words do after a change of level; and words cut undithered."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import compiled

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

CHUNK = 64
REACH = 4096
"""Small samples are those up to so many steps of the word: the common step shows there without being known exactly."""
COARSEST, FINEST = 1100.0, 8.0
COMB, BETWEEN = 0.8, 0.5
"""How far samples must agree on a step, and disagree on all coarser ones (of 1)."""
FEWEST = 200
ROUNDED = 1.51
"""Steps of the word that rounding, with triangular dither at the most, moves a sample."""
FITTING = 0.95
"""Part of the samples that must stand on the steps; fades take some off them."""

PIECE = 256
QUIET_STEPS = 8.0
PROBES = 32
BARE = 0.4
"""Mean square of the second difference, in squared steps. Triangular dither gives 1.5 whatever the sound, and rounding
alone 0.5 when its error is white; less means an error that hangs together with the sound. Rectangular dither dies out
with the sound, and is taken for none."""


@compiled()
def count_small(samples: Array, step: float, most: int, histogram: Integers) -> int:
    """Count samples of up to REACH steps, 0 left out, until there are *most*; says how many were counted.

    Parameters
    ----------
    samples : (frames,)
    histogram : (2 * REACH + 1,), added to
    """
    limit = (REACH + 0.5) * step
    counted = 0
    for start in range(0, len(samples), CHUNK):
        chunk = samples[start : start + CHUNK]
        near = 0
        for i in range(len(chunk)):  # not the values themselves: those are not counted in vectors
            near += abs(chunk[i]) < limit
        if near == 0:
            continue
        for value in chunk:
            place = int(np.rint(value / step)) if abs(value) < limit else 0
            if place != 0 and abs(place) <= REACH and counted < most:
                histogram[place + REACH] += 1
                counted += 1
        if counted == most:
            break
    return counted


def common_step(histogram: Integers, spread: Array) -> float | None:
    """Step of which nearly all samples are whole multiples but for rounding; 1 when there is none of at least FINEST.

    None when it cannot be told: hardly any samples near zero.

    Parameters
    ----------
    histogram : (2 * REACH + 1,) how often -REACH to REACH occur, in steps of the word
    spread : samples from all over the file, in steps of the word
    """
    total = int(histogram.sum())
    if total < FEWEST:
        return None
    size = 4 * REACH
    agreed = np.abs(np.fft.rfft(histogram, size)) / total
    first, last = int(size / COARSEST), int(size / FINEST)
    apart = np.minimum.accumulate(agreed)
    peaks = np.flatnonzero((agreed[first:last] >= COMB) & (apart[first:last] <= BETWEEN))
    if not len(peaks):
        return 1.0
    start = first + int(peaks[0])
    hill = agreed[start : start + max(start // 4, 2)]
    small = np.repeat(np.arange(-REACH, REACH + 1), histogram).astype(np.float64)
    return _refined(size / (start + int(np.argmax(hill))), np.concatenate([small, spread]))


def _refined(step: float, samples: Array) -> float:
    """Fitted to ever larger samples; a wrong step would lose count of its multiples soon."""
    sizes = np.abs(samples)
    reach = 4.0 * step
    while True:
        chosen = samples[sizes <= reach]
        multiples = np.rint(chosen / step)
        on = np.abs(chosen - step * multiples) <= max(0.1 * step, ROUNDED)
        if multiples[on].any():
            step = float(chosen[on] @ multiples[on] / (multiples[on] @ multiples[on]))
        if reach >= sizes.max():
            break
        reach *= 1.5
    off = np.abs(samples - step * np.rint(samples / step))
    return step if step >= FINEST and np.mean(off <= ROUNDED) >= FITTING else 1.0


@compiled()
def quiet_pieces(samples: Array, step: float, found: Integers) -> None:
    """Look at every piece of PIECE samples: quiet ones, bare ones among them, and those on finer steps than *step*.

    Parameters
    ----------
    samples : (pieces * PIECE,)
    found : (3,) quiet, bare, finer; added to
    """
    limit = QUIET_STEPS * step
    for start in range(0, len(samples) - PIECE + 1, PIECE):
        piece = samples[start : start + PIECE]
        quiet = True
        for n in range(0, PIECE, PIECE // PROBES):
            if abs(piece[n]) > limit:
                quiet = False
                break
        if not quiet:
            continue
        low, high, bends, finer = piece[0], piece[0], 0.0, False
        for n in range(PIECE):
            low, high = min(low, piece[n]), max(high, piece[n])
            scaled = piece[n] / step
            finer = finer or scaled != np.rint(scaled)
            if 0 < n < PIECE - 1:
                bend = (piece[n - 1] - 2.0 * piece[n] + piece[n + 1]) / step
                bends += bend * bend
        if max(high, -low) > limit or low == high:
            continue
        found[0] += 1
        found[1] += bends / (PIECE - 2) < BARE
        found[2] += finer
