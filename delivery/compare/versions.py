"""Which stretches of a main recording another file holds, in which order, and where it differs from them. Pure.

Blocks of 2 s of the version are sought in the main by normalised cross-correlation on a decimated copy: where the block
before continues, else everywhere. Common practice, no source: the lengths and thresholds.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from delivery.compare.version_changes import QUIET, compared
from delivery.model.version import Piece, Version

Sound = NDArray[np.float32]
Array = NDArray[np.float64]

COARSE_HZ = 2500
BLOCK_S, HOP_S = 2.0, 1.0
NEAR_S = 0.02
"""A block continues the one before if it lies at most this far from the expected place."""
CONTINUES, FOUND = 0.15, 0.3
"""Correlation of a block with the main where it should be, and where it was sought; unlike sounds stay below 0.1."""
FIRST_LOOK = 12
"""Blocks sought first; where fewer than two of them are found, nothing else is sought."""
CERTAIN = 0.6
"""A block with at least this correlation at the expected place is not sought elsewhere."""
LEAST_SHARE = 0.5
"""Of the version's blocks with sound that must be found in the main."""
BETTER = 0.3
"""Another place is preferred to the expected one only if its correlation is higher by this much."""
WHOLE = 0.85
"""From this correlation on a block is certainly from there; below, it may be a repeated part of the main."""
AT_ONE_LAG = 0.8
"""Share of the blocks that are found at one lag, where none is surely from elsewhere or both are as long."""
WINDOWS, WINDOW_S = 8, 0.5
"""Of each piece, for its delay to the frame."""
AGREE_FRAMES, AGREE_SHARE = 2, 0.6


def version_of(main: Sound, other: Sound, rate_hz: int) -> Version:
    """*other* as a version of *main*.

    Parameters
    ----------
    main, other : (frames,) both channels added up, at *rate_hz*
    """
    pieces = _pieces(main, other, rate_hz)
    bare = Version(rate_hz, len(main), len(other), pieces)
    return compared(bare, main, other) if pieces else bare


def _pieces(main: Sound, other: Sound, rate_hz: int) -> tuple[Piece, ...]:
    factor = max(rate_hz // COARSE_HZ, 1)
    lags = _block_lags(_coarse(main, factor), _coarse(other, factor), rate_hz / factor)
    runs = _runs(lags)
    hop, block = round(HOP_S * rate_hz / factor) * factor, round(BLOCK_S * rate_hz / factor) * factor
    rough = [(run[0] * hop, run[-1] * hop + block, lag * factor) for run, lag in runs]
    exact = [(begin, end, _exact_lag(main, other, begin, end, lag, factor, rate_hz)) for begin, end, lag in rough]
    merged = _same_lag([(begin, end, lag) for begin, end, lag in exact if lag is not None])
    return tuple(_with_edges(merged, main, other, hop))


def _coarse(sound: Sound, factor: int) -> Array:
    """Means of *factor* frames, less those two before: neither bass nor what lies between two frames counts."""
    whole = len(sound) // factor * factor
    means = sound[:whole].reshape(-1, factor).mean(axis=1, dtype=np.float64)
    return np.asarray(means - np.concatenate([np.zeros(min(2, len(means))), means[:-2]]))


def _block_lags(main: Array, other: Array, rate_hz: float) -> list[int | None]:
    """Frame of the main less frame of the version, for each block; None where it is silent or not found."""
    block, hop, near = round(BLOCK_S * rate_hz), round(HOP_S * rate_hz), round(NEAR_S * rate_hz)
    around = np.zeros(block)  # a block may begin before the main does
    search = _Search(np.concatenate([around, main, around]))
    begins = range(0, max(len(other) - block + 1, 1), hop)
    sounding = [begin for begin in begins if _energy(other[begin : begin + block]) > QUIET * 0.01 * block]
    first = sounding[:: max(len(sounding) // FIRST_LOOK, 1)]
    looks = [search.best(other[begin : begin + block], block + begin - near, block + begin + near) for begin in first]
    looks = [
        look if look[1] >= FOUND else search.best(other[begin : begin + block])
        for begin, look in zip(first, looks, strict=True)
    ]
    if sum(likeness >= FOUND for _, likeness in looks) < min(2, len(first)):
        return []
    lags, edited = _followed(search, other, sounding, block, near)
    if not edited or abs(len(main) - len(other)) < block:
        lags = _at_one_lag(search, other, sounding, block, near) or lags
    if len(lags) < LEAST_SHARE * len(sounding):
        return []
    return [lags.get(begin) for begin in begins]


def _followed(
    search: _Search, other: Array, sounding: Sequence[int], block: int, near: int
) -> tuple[dict[int, int], bool]:
    """The lag of each block that is found, and whether one of them surely jumped."""
    lags: dict[int, int] = {}
    last, edited = 0, False
    for begin in sounding:
        piece = other[begin : begin + block]
        where, here = search.best(piece, block + begin + last - near, block + begin + last + near)
        if here < CERTAIN:
            found, best = search.best(piece)
            if best >= FOUND and best > here + BETTER * (1 - here):
                edited = edited or best >= WHOLE
                where, here = found, best
        if here >= CONTINUES:
            lags[begin] = last = where - begin - block
    return lags, edited


def _at_one_lag(search: _Search, other: Array, sounding: Sequence[int], block: int, near: int) -> dict[int, int]:
    """Lags about 0, where most blocks are found there: a part of the main, such as a voice, that comes again in it.

    Empty where they are not.
    """
    found = {}
    for begin in sounding:
        where, here = search.best(other[begin : begin + block], block + begin - near, block + begin + near)
        if here >= CONTINUES:
            found[begin] = where - begin - block
    return found if len(found) >= AT_ONE_LAG * len(sounding) else {}


class _Search:
    """Places of pieces in one sound, by normalised cross-correlation."""

    def __init__(self, sound: Array) -> None:
        self._sound = sound
        self._squares = np.concatenate([[0.0], np.cumsum(sound**2)])
        self._spectra: dict[int, NDArray[np.complex128]] = {}

    def best(self, piece: Array, first: int = 0, last: int | None = None) -> tuple[int, float]:
        """The likeliest place from *first* to *last*, and its correlation, without its sign; 0 where nothing is."""
        first = max(first, 0)
        end = len(self._sound) if last is None else min(last + len(piece), len(self._sound))
        count = end - first - len(piece) + 1
        if count < 1:
            return first, 0.0
        size = 1 << (end - first - 1).bit_length()
        products = np.fft.irfft(self._spectrum(first, end, size) * np.conj(np.fft.rfft(piece, size)), size)[:count]
        energies = self._squares[first + len(piece) : end + 1] - self._squares[first : first + count]
        least = QUIET * 0.01 * len(piece)
        likeness = np.abs(products) / np.sqrt(np.maximum(energies, least) * max(_energy(piece), least))
        best = int(likeness.argmax())
        return first + best, float(likeness[best])

    def _spectrum(self, first: int, end: int, size: int) -> NDArray[np.complex128]:
        """That of the whole sound is kept."""
        if first or end < len(self._sound):
            return np.fft.rfft(self._sound[first:end], size)
        if size not in self._spectra:
            self._spectra[size] = np.fft.rfft(self._sound, size)
        return self._spectra[size]


def _energy(piece: Array) -> float:
    return float(np.einsum("i,i->", piece, piece))


def _runs(lags: Sequence[int | None]) -> list[tuple[list[int], int]]:
    """Blocks in a row with one lag; blocks between two of one run that tell nothing belong to it. Single ones do not
    count, unless there is no other.
    """
    runs: list[tuple[list[int], int]] = []
    for at, lag in enumerate(lags):
        if lag is None:
            continue
        if runs and abs(lag - runs[-1][1]) <= 2:
            runs[-1][0].append(at)
        else:
            runs.append(([at], lag))
    several = [run for run in runs if len(run[0]) > 1]
    joined: list[tuple[list[int], int]] = []
    for blocks, lag in several:
        if joined and abs(lag - joined[-1][1]) <= 2:
            joined[-1][0].extend(blocks)
        else:
            joined.append((blocks, lag))
    return joined


def _exact_lag(main: Sound, other: Sound, begin: int, end: int, lag: int, factor: int, rate_hz: int) -> int | None:
    """To the frame: the median of the best places of some windows about the rough one; None where they do not agree,
    as of two takes that share no waveform.
    """
    frames, margin = round(WINDOW_S * rate_hz), 3 * factor
    starts = np.linspace(begin, max(min(end, len(other)) - frames, begin), WINDOWS).astype(int)
    found = []
    for start in starts.tolist():
        piece = np.diff(other[start : start + frames].astype(np.float64))
        first = start + lag - margin
        held = np.diff(main[max(first, 0) : first + frames + 2 * margin].astype(np.float64))
        if len(piece) < frames - 1 or first < 0 or len(held) < len(piece) + 2 * margin or not piece.any():
            continue
        size = 1 << (len(held) - 1).bit_length()
        products = np.fft.irfft(np.fft.rfft(held, size) * np.conj(np.fft.rfft(piece, size)), size)[: 2 * margin + 1]
        squares = np.concatenate([[0.0], np.cumsum(held**2)])
        energies = squares[len(piece) : len(piece) + len(products)] - squares[: len(products)]
        found.append(first + int((np.abs(products) / np.sqrt(np.maximum(energies, 1e-12))).argmax()) - start)
    middle = int(np.median(found)) if found else lag
    return middle if sum(abs(one - middle) <= AGREE_FRAMES for one in found) >= AGREE_SHARE * len(found) else None


def _same_lag(rough: Sequence[tuple[int, int, int]]) -> list[tuple[int, int, int]]:
    merged: list[tuple[int, int, int]] = []
    for begin, end, lag in rough:
        if merged and abs(merged[-1][2] - lag) <= 1:
            merged[-1] = (merged[-1][0], end, merged[-1][2])
        else:
            merged.append((begin, end, lag))
    return merged


def _with_edges(rough: Sequence[tuple[int, int, int]], main: Sound, other: Sound, hop: int) -> Iterator[Piece]:
    """Pieces that meet where the version passes from one to the next; the outer ones reach as far as both do."""
    if not rough:
        return
    cuts = [_cut(main, other, before, after, hop) for before, after in pairwise(rough)]
    begins, ends = [0, *cuts], [*cuts, len(other)]
    for (_, _, lag), begin, end in zip(rough, begins, ends, strict=True):
        first, last = max(begin, -lag), min(end, len(main) - lag)
        if last > first:
            yield Piece(first + lag, first, last - first)


def _cut(main: Sound, other: Sound, before: tuple[int, int, int], after: tuple[int, int, int], hop: int) -> int:
    """Frame of the version at which the residual is least, with one lag before it and the other after it."""
    first = max(min(before[1], after[0]) - hop, before[0], 0)
    last = min(max(before[1], after[0]) + hop, after[1], len(other))
    left = [np.square(other[first:last] - _at(main, first + lag, last - first)) for lag in (before[2], after[2])]
    cost = np.concatenate([[0.0], np.cumsum(left[0], dtype=np.float64)])
    cost += np.concatenate([np.cumsum(left[1][::-1], dtype=np.float64)[::-1], [0.0]])
    return first + int(cost.argmin())


def _at(sound: Sound, start: int, frames: int) -> Sound:
    """Zeros outside it."""
    out = np.zeros(frames, np.float32)
    first, last = max(start, 0), min(start + frames, len(sound))
    if last > first:
        out[first - start : last - start] = sound[first:last]
    return out
