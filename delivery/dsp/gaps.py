"""Gaps: where loud sound is gone for some milliseconds and comes back as suddenly."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import ANY_ORDER, compiled
from delivery.dsp.ranking import Place, Places

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

QUIET = 10 ** (-50 / 20)
LOUD = 10 ** (-38 / 20)
AROUND_S = 0.040
"""Before and behind a gap the sound is loud within this time."""
NEAR_S, EDGE_S, TURN_S = 0.003, 0.0005, 0.00025
"""A cut is seen in the last and the first of these, a fade of some milliseconds in the longest."""
STEP_S = 1 / 44_100
"""Steps of the waveform are taken over this time, at any rate."""
LEAST = 10 ** (-160 / 20)
FLOOR = 10 ** (-45 / 20)
"""In its first millisecond the returning sound is louder than this: it comes back, it is not faded in."""
BACK_S = 0.001
BREAKS_OFF_DB, ALIKE_DB = -61.5, -26.0
"""Least of ``_breaks_off_db`` and ``_alike_db``; tuned on planted gaps."""

OPEN, ZEROS, LONGEST = 0, 1, 2
"""State of a channel: first frame of the open quiet run (-1: none), exact zeros at its end, and the most in a row."""
STATE = 3


@compiled(fast=ANY_ORDER | {"nnan"})
def _peak(x: Array) -> float:
    a = b = c = d = 0.0
    for i in range(0, len(x) // 4 * 4, 4):
        a, b, c, d = max(a, abs(x[i])), max(b, abs(x[i + 1])), max(c, abs(x[i + 2])), max(d, abs(x[i + 3]))
    for i in range(len(x) // 4 * 4, len(x)):
        a = max(a, abs(x[i]))
    return max(max(a, b), max(c, d))


@compiled(inline=True)
def _quiet_stretch(x: Array, begin: int, end: int) -> bool:
    """Left at the first loud sample: in loud sound, which is nearly all, that is one of the first."""
    i = begin
    while i < end and abs(x[i]) < QUIET:
        i += 1
    return i == end


@compiled()
def _take(x: Array, state: Integers) -> int:
    """Lengthen the open run by *x*, up to the first loud sample; where that is, or the length of *x*."""
    for i in range(len(x)):
        if abs(x[i]) >= QUIET:
            return i
        state[ZEROS] = state[ZEROS] + 1 if x[i] == 0.0 else 0
        state[LONGEST] = max(state[LONGEST], state[ZEROS])
    return len(x)


@compiled()
def quiet_runs(samples: Array, stretch: int, frame: int, state: Integers, least: int, found: Integers) -> int:
    """Runs of at least *least* quiet samples that end in this piece.

    Parameters
    ----------
    samples : (stretch + stretches * stretch,) one channel, led by the stretch before it
    frame : of samples[stretch], counted from the file's start
    state : (STATE,) kept from piece to piece; begin with OPEN at -1
    least : at least 2 * stretch, so that a run holds a whole stretch
    found : (len(samples) // least + 1, 3) rows of first frame, frames, most exact zeros in a row

    Returns
    -------
    How many rows were written.
    """
    count = 0
    for k in range(stretch, len(samples), stretch):
        if state[OPEN] >= 0:
            end = _take(samples[k : k + stretch], state)
            if end < stretch:
                length = frame + k - stretch + end - state[OPEN]
                if length >= least:
                    found[count, 0], found[count, 1], found[count, 2] = state[OPEN], length, state[LONGEST]
                    count += 1
                state[OPEN] = -1
        elif _quiet_stretch(samples, k, k + stretch):
            begin = k
            while begin > k - stretch and abs(samples[begin - 1]) < QUIET:
                begin -= 1
            state[OPEN], state[ZEROS], state[LONGEST] = frame + begin - stretch, 0, 0
            _take(samples[begin : k + stretch], state)
    return count


@compiled(inline=True)
def _db(level: float) -> float:
    return float(20 * np.log10(max(level, LEAST)))


@compiled()
def _steepest(x: Array, begin: int, end: int, step: int) -> float:
    """Largest change over *step* frames that ends in that part of *x*."""
    most = 0.0
    for i in range(begin, end):
        most = max(most, abs(x[i] - x[i - step]))
    return most


@compiled()
def _breaks_off_db(x: Array, begin: int, near: int, edge: int, turn: int, step: int) -> float:
    """How loud, how steep and how undiminished the sound is in the half millisecond before frame *begin*.

    Steepness and what a fade has left count half, in dB. A low note cut where it crosses zero is soft there but steep;
    one that is faded out within 1 to 5 ms is neither loud nor steep, and one that has died away is soft.
    """
    steepest = _steepest(x, begin - turn, begin + step, step)
    left_db = _db(_peak(x[begin - near : begin])) - _db(_peak(x[:begin]))
    return float(_db(_peak(x[begin - edge : begin])) + (_db(steepest) + left_db) / 2)


@compiled()
def _alike_db(x: Array, begin: int, end: int, near: int, edge: int, turn: int) -> float:
    """How little of a fade one of the sides has, how loud the sound returns, and how alike both sides are.

    Rests are faded on both sides, and what follows is another note.
    """
    before_db, behind_db = _db(_peak(x[begin - near : begin])), _db(_peak(x[end : end + near]))
    ends_db = _db(_peak(x[begin - edge : begin])) - before_db
    begins_db = _db(_peak(x[end : end + edge])) - behind_db
    returns_db = _db(_peak(x[end : end + turn]))
    return float(max(ends_db, begins_db) + 0.4 * returns_db - 0.6 * abs(before_db - behind_db))


@compiled()
def is_gap(x: Array, around: int, rate_hz: int, of_zeros: bool) -> bool:
    """Whether sound breaks off before the quiet run in the midst of *x* and comes back behind it.

    Parameters
    ----------
    x : (around + run + around,) one channel
    around : frames on either side, AROUND_S
    of_zeros : the run is of exact zeros: no sound of any room, so it is only told from edits, by its two sides
    """
    begin, end = around, len(x) - around
    near, edge, back = round(NEAR_S * rate_hz), max(round(EDGE_S * rate_hz), 1), max(round(BACK_S * rate_hz), 1)
    turn, step = max(round(TURN_S * rate_hz), 1), max(round(STEP_S * rate_hz), 1)
    if min(_peak(x[:begin]), _peak(x[end:])) <= LOUD:
        return False
    if of_zeros:
        return bool(_alike_db(x, begin, end, near, edge, turn) > ALIKE_DB)
    breaks_off_db = _breaks_off_db(x, begin, near, edge, turn, step)
    return bool(breaks_off_db > BREAKS_OFF_DB and _peak(x[end : end + back]) > FLOOR)


class Spells(Places):
    """Places no longer than *apart*: what goes on longer is several.

    So sound that is full of gaps has many of them, and a burst of them in one spot is still a few.
    """

    def add(self, place: Place) -> None:
        count, first = self.count, self.last
        super().add(place)
        if self.count == count:
            self.last = first
