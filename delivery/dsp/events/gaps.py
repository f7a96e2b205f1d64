"""Gaps: where loud sound is gone for some milliseconds and comes back as suddenly."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import ANY_ORDER, compiled
from delivery.dsp.events.ranking import Place, Places

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


@compiled()
def _behind_the_loud(x: Array) -> int:
    """The place behind the last loud sample; 0 where all is quiet. In loud sound, which is nearly all, soon found."""
    behind = len(x)
    while behind > 0 and abs(x[behind - 1]) < QUIET:
        behind -= 1
    return behind


@compiled()
def _take(x: Array, state: Integers) -> int:
    """Lengthen the open run by *x*, up to the first loud sample; where that is, or the length of *x*."""
    zeros, longest = state[ZEROS], state[LONGEST]
    end = len(x)
    for i in range(len(x)):
        if not abs(x[i]) < QUIET:
            end = i
            break
        zeros = zeros + 1 if x[i] == 0.0 else 0
        longest = max(longest, zeros)
    state[ZEROS], state[LONGEST] = zeros, longest
    return end


@compiled()
def _runs_of(x: Array, frame: int, state: Integers, least: int, found: Integers) -> int:
    """As :func:`quiet_runs`, of one channel. No run of *least* begins before a loud sample within that many."""
    count = at = 0
    while at < len(x):
        if state[OPEN] < 0:
            behind = _behind_the_loud(x[at : at + least])
            if behind:
                at += behind
                continue
            state[OPEN], state[ZEROS], state[LONGEST] = frame + at, 0, 0
        at += _take(x[at:], state)
        if at < len(x):
            length = frame + at - state[OPEN]
            if length >= least:
                found[count, 0], found[count, 2], found[count, 3] = frame + at, length, state[LONGEST]
                count += 1
            state[OPEN] = -1
    return count


@compiled()
def quiet_runs(planar: Array, frame: int, states: Integers, least: int, found: Integers) -> int:
    """Runs of at least *least* quiet samples that end in this block.

    Parameters
    ----------
    planar : (channels, frames)
    frame : of planar[:, 0], counted from the file's start
    states : (channels, STATE) kept from block to block; begin with OPEN at -1
    found : (channels * (frames // least + 1), 4) rows of the frame behind a run, its channel, its frames, and the most
        exact zeros in a row; the result

    Returns
    -------
    How many rows were written.
    """
    count = 0
    for c in range(len(planar)):
        first = count
        count += _runs_of(planar[c], frame, states[c], least, found[first:])
        found[first:count, 1] = c
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
