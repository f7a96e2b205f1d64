"""Gaps: where loud sound is gone for some milliseconds and comes back as suddenly."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import ANY_ORDER, compiled

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

QUIET = 10 ** (-50 / 20)
LOUD = 10 ** (-33 / 20)
AROUND_S = 0.040
"""Before and behind a gap the sound is loud within this time ..."""
EDGE_S = 0.003
"""... and within this one it is still a sixth as loud as that: it did not fade."""
SUDDEN = 1 / 6
LOUD_ZEROS, SUDDEN_ZEROS = 10 ** (-38 / 20), 1 / 12
"""Less is asked around exact zeros: they are no sound of any room."""

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


@compiled()
def surrounded(before: Array, behind: Array, edge: int, of_zeros: bool) -> bool:
    """Whether sound is loud on both sides of a gap and has not faded there; *edge* frames touch the gap."""
    loud, sudden = (LOUD_ZEROS, SUDDEN_ZEROS) if of_zeros else (LOUD, SUDDEN)
    left, right = _peak(before), _peak(behind)
    edges_are = _peak(before[-edge:]) > sudden * left and _peak(behind[:edge]) > sudden * right
    return bool(min(left, right) > loud and edges_are)
