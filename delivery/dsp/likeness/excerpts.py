"""Is one recording contained in another: an edit, a longer version, a song after a long silence?

Level over time is compared as in `likeness`, but piece by piece: each 20 s of the shorter one are searched at every
position of the longer one (normalised cross-correlation by FFT; Lewis, "Fast Normalized Cross-Correlation", 1995).
Common practice, no source: pieces of one recording reach 0.9 and lie side by side, 20 s of two recordings rarely reach
0.8 and lie anywhere. Some pieces are searched first, and the rest only if two of them are found.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.likeness.same_recording import STEP_S, decibels, moving

Array = NDArray[np.float64]

PIECE = 200
HOP = PIECE // 2
FIRST_LOOK = 12
FOUND = 0.85
"""Correlation of a piece that counts as found."""
SAME_PLACE = 0.03
"""Music repeats: a piece that continues the one before is taken, unless another position is better by this."""
LEAST_SHARE = 0.4
LEAST_PIECES = 4
STILL_DB = 0.5
"""Pieces with less level movement prove nothing."""
AT_ONCE = 16
"""Pieces compared at once: limits memory for curves of any length."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A passage that both contain; seconds."""

    one_s: float
    other_s: float
    length_s: float


@dataclass(frozen=True, slots=True)
class Excerpt:
    """One recording found, as a whole or in part, in another."""

    share: float
    """Share of the shorter one's pieces that are found."""
    correlation: float
    """Median correlation of those."""
    gain_db: float
    """Level difference of the second one, dB."""
    stretches: tuple[Stretch, ...]
    """In the order of the shorter one."""


@dataclass(frozen=True, slots=True)
class _Piece:
    at: int
    """First step in the shorter one."""
    place: int
    """In the longer one."""
    correlation: float


def excerpt(one: Sequence[float], other: Sequence[float]) -> Excerpt | None:
    """The part of the shorter recording contained in the longer one; None if it is too little to be one recording.

    Parameters
    ----------
    one, other : mean squares of 400 ms, every ``likeness.STEP_S``
    """
    if min(len(one), len(other)) < PIECE + (LEAST_PIECES - 1) * HOP:
        return None
    swapped = len(one) < len(other)
    longer, shorter = (decibels(other), decibels(one)) if swapped else (decibels(one), decibels(other))
    moves = moving(shorter)
    starts = [at for at in range(0, len(moves) - PIECE + 1, HOP) if moves[at : at + PIECE].std() > STILL_DB]
    if len(starts) < LEAST_PIECES:
        return None
    field = _Field(moving(longer))
    spread = [starts[round(at)] for at in np.linspace(0, len(starts) - 1, min(FIRST_LOOK, len(starts)))]
    if sum(piece.correlation >= FOUND for piece in field.places(moves, spread)) < 2:
        return None
    stretches = _stretches([piece for piece in field.places(moves, starts) if piece.correlation >= FOUND])
    found = [piece for stretch in stretches for piece in stretch]
    if len(found) < max(LEAST_SHARE * len(starts), LEAST_PIECES - 1):
        return None
    apart = np.concatenate([_apart_db(longer, shorter, piece) for piece in found])
    gain_db = float(np.median(apart))
    return Excerpt(
        share=len(found) / len(starts),
        correlation=float(np.median([piece.correlation for piece in found])),
        gain_db=-gain_db if swapped else gain_db,
        stretches=tuple(_as_stretch(stretch, swapped=swapped) for stretch in stretches),
    )


class _Field:
    """The longer recording, prepared for the search."""

    def __init__(self, levels: Array) -> None:
        self._size = 1 << (len(levels) + PIECE - 1).bit_length()
        self._spectrum = np.fft.rfft(levels, self._size)
        sums, squares = (np.concatenate([[0.0], np.cumsum(values)]) for values in (levels, levels**2))
        mean = (sums[PIECE:] - sums[:-PIECE]) / PIECE
        self._spread = np.sqrt(np.maximum(squares[PIECE:] - squares[:-PIECE] - PIECE * mean**2, 1e-9))

    def places(self, moves: Array, starts: Sequence[int]) -> Iterator[_Piece]:
        """Best position of each piece of *moves*; or the continuation of the piece before, if nearly as good."""
        before: _Piece | None = None
        for first in range(0, len(starts), AT_ONCE):
            batch = starts[first : first + AT_ONCE]
            for at, likely in zip(
                batch, self._correlations(np.stack([moves[at : at + PIECE] for at in batch])), strict=True
            ):
                place = int(likely.argmax())
                if before is not None:
                    place = _going_on(likely, place, before.place + at - before.at)
                before = _Piece(at, place, float(likely[place]))
                yield before

    def _correlations(self, pieces: Array) -> Array:
        """(pieces, positions), each -1 to 1."""
        still = pieces - pieces.mean(axis=1, keepdims=True)
        energy = np.sqrt((still**2).sum(axis=1, keepdims=True))
        products = np.fft.irfft(self._spectrum * np.conj(np.fft.rfft(still, self._size)), self._size)
        return np.asarray(products[:, : len(self._spread)] / self._spread / np.maximum(energy, 1e-9))


def _going_on(likely: Array, best: int, expected: int) -> int:
    near = range(max(0, expected - 1), min(len(likely), expected + 2))
    going_on = max(near, key=lambda place: float(likely[place]), default=best)
    return going_on if likely[going_on] >= likely[best] - SAME_PLACE else best


def _stretches(found: Sequence[_Piece]) -> list[list[_Piece]]:
    """Consecutive pieces in both recordings, at least two: a single one may be chance."""
    groups: list[list[_Piece]] = []
    for piece in found:
        last = groups[-1][-1] if groups else None
        if last and abs((piece.place - last.place) - (piece.at - last.at)) <= 1 and piece.at - last.at <= 2 * HOP:
            groups[-1].append(piece)
        else:
            groups.append([piece])
    return [group for group in groups if len(group) > 1]


def _apart_db(longer: Array, shorter: Array, piece: _Piece) -> Array:
    return shorter[piece.at : piece.at + PIECE] - longer[piece.place : piece.place + PIECE]


def _as_stretch(stretch: Sequence[_Piece], *, swapped: bool) -> Stretch:
    first, last = stretch[0], stretch[-1]
    places = (first.place * STEP_S, first.at * STEP_S)
    one_s, other_s = (round(at_s, 1) for at_s in (places[::-1] if swapped else places))
    return Stretch(one_s, other_s, round((last.at - first.at + PIECE) * STEP_S, 1))
