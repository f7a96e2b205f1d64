"""The loops over every sample that look for gaps, silence and hum.

C types are declared in ``_loops.pxd``. Long sums are written as parallel lanes: compilers may not reorder
floating-point sums, so every processor gives the same figures.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.events.layout import (
    BEGINS,
    BEHIND,
    FIRST,
    LAST,
    LENGTH,
    LONGEST,
    LOUD,
    OPEN,
    PAUSE,
    PAUSE_AT,
    QUIET,
    ZEROS,
)

try:
    import cython
except ImportError:
    from delivery.dsp import uncompiled as cython
if not cython.compiled:
    from numpy import log10

    from delivery.dsp.uncompiled import report

    report()

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

SPAN = 256
"""Frames. Shorter pauses within a stretch are skipped; callers search for far longer ones."""
LEAST = 10.0 ** (-160.0 / 20.0)
FLOOR = 10.0 ** (-45.0 / 20.0)
"""Least level in the first millisecond after a gap: the sound returns at once, without a fade-in."""
BREAKS_OFF_DB, ALIKE_DB = -61.5, -26.0
"""Least values of ``_breaks_off_db`` and ``_alike_db``, tuned on planted gaps."""


def find_pauses(
    planar: Array, first: int, threshold: float, least: int, found: Integers, pauses: Integers, energies: Array
) -> int:
    """Note first and last frame in which any channel is above *threshold*, and the pauses between.

    Parameters
    ----------
    planar : (channels, frames)
    first : frame of planar[:, 0], counted from the file's start
    least : least length of a pause that counts, in frames; the longest pauses are kept
    found : (PLACES,), kept between blocks; begin with FIRST and LAST at -1
    pauses : (n, 2) LENGTH and BEGINS of the longest pauses, in no order; zeros at the start, kept between blocks
    energies : (2,) BEFORE and BEHIND, see ``layout``; zeros at the start, kept between blocks

    Returns
    -------
    How many pauses ended in this block.
    """
    with cython.nogil:
        return _find_pauses(planar, first, threshold, least, found, pauses, energies)


def _find_pauses(
    planar: Array, first: int, threshold: float, least: int, found: Integers, pauses: Integers, energies: Array
) -> int:
    frames = planar.shape[1]
    count = start = 0
    while start < frames:
        end = min(start + SPAN, frames)
        i = _first_above(planar, start, end, threshold)
        side = BEHIND if found[FIRST] >= 0 else 0
        if i > start and (side != BEHIND or i == end):
            energies[side] += _energy_of(planar, start, i)
        if i < end:
            pause = first + i - found[LAST] - 1
            if found[FIRST] < 0:
                found[FIRST] = first + i
            elif pause >= least:
                count += 1
                _keep(pauses, pause, found[LAST] + 1)
            if found[LAST] >= 0 and pause > found[PAUSE]:
                found[PAUSE], found[PAUSE_AT] = pause, found[LAST] + 1
            i = _last_above(planar, end, threshold)
            found[LAST] = first + i
            energies[BEHIND] = _energy_of(planar, i + 1, end)
        start = end
    return count


def _first_above(planar: Array, start: int, end: int, threshold: float) -> int:
    for i in range(start, end):
        for c in range(len(planar)):
            if abs(planar[c, i]) > threshold:
                return i
    return end


def _last_above(planar: Array, end: int, threshold: float) -> int:
    """Whether any sample lies above the threshold."""
    for i in range(end - 1, -1, -1):
        for c in range(len(planar)):
            if abs(planar[c, i]) > threshold:
                return i
    return 0


def _energy_of(planar: Array, start: int, end: int) -> float:
    total = 0.0
    for c in range(len(planar)):
        for i in range(start, end):
            total += planar[c, i] * planar[c, i]
    return total


def _keep(pauses: Integers, length: int, begins: int) -> None:
    """Replace the shortest stored pause if this one is longer."""
    shortest = 0
    for row in range(1, len(pauses)):
        if pauses[row, LENGTH] < pauses[shortest, LENGTH]:
            shortest = row
    if length > pauses[shortest, LENGTH]:
        pauses[shortest, LENGTH], pauses[shortest, BEGINS] = length, begins


def _peak(x: Array, begin: int, end: int) -> float:
    tops = [0.0] * 8
    whole = (end - begin) // 8 * 8
    for i in range(begin, begin + whole, 8):
        for k in range(8):
            height = abs(x[i + k])
            tops[k] = tops[k] if tops[k] > height else height
    for i in range(begin + whole, end):
        tops[0] = max(tops[0], abs(x[i]))
    for k in range(4):
        tops[k] = max(tops[k], tops[k + 4])
    return max(max(tops[0], tops[1]), max(tops[2], tops[3]))


def _behind_the_loud(x: Array, at: int, end: int) -> int:
    """Index after the last loud sample; *at* if all are quiet. Searched from the end, so it is fast in loud sound."""
    behind = end
    while behind > at and abs(x[behind - 1]) < QUIET:
        behind -= 1
    return behind


def _take(x: Array, at: int, state: Integers) -> int:
    """Extend the open run from *at* to the first loud sample; returns its index, or the length of *x*."""
    zeros, longest = state[ZEROS], state[LONGEST]
    i = at
    while i < len(x) and abs(x[i]) < QUIET:
        zeros = zeros + 1 if x[i] == 0.0 else 0
        longest = max(longest, zeros)
        i += 1
    state[ZEROS], state[LONGEST] = zeros, longest
    return i


def _runs_of(x: Array, c: int, frame: int, state: Integers, least: int, found: Integers, count: int) -> int:
    """As :func:`quiet_runs`, for one channel. A loud sample within *least* frames rules out every start before it."""
    at = 0
    while at < len(x):
        if state[OPEN] < 0:
            behind = _behind_the_loud(x, at, min(at + least, len(x)))
            if behind > at:
                at = behind
                continue
            state[OPEN], state[ZEROS], state[LONGEST] = frame + at, 0, 0
        at = _take(x, at, state)
        if at < len(x):
            length = frame + at - state[OPEN]
            if length >= least:
                found[count, 0], found[count, 1] = frame + at, c
                found[count, 2], found[count, 3] = length, state[LONGEST]
                count += 1
            state[OPEN] = -1
    return count


def quiet_runs(planar: Array, frame: int, states: Integers, least: int, found: Integers) -> int:
    """Runs of at least *least* quiet samples that end in this block.

    Parameters
    ----------
    planar : (channels, frames)
    frame : of planar[:, 0], counted from the file's start
    states : (channels, STATE) kept from block to block; begin with OPEN at -1
    found : (channels * (frames // least + 1), 4), the result: frame after the run, channel, length in frames, and the
        largest number of consecutive exact zeros

    Returns
    -------
    How many rows were written.
    """
    count = 0
    with cython.nogil:
        for c in range(len(planar)):
            count = _runs_of(planar[c], c, frame, states[c], least, found, count)
    return count


def _db(level: float) -> float:
    return 20.0 * log10(max(level, LEAST))


def _steepest(x: Array, begin: int, end: int, step: int) -> float:
    """Largest change over *step* frames ending in that part of *x*."""
    most = 0.0
    for i in range(begin, end):
        most = max(most, abs(x[i] - x[i - step]))
    return most


def breaks_off_db(x: Array, begin: int, near: int, edge: int, turn: int, step: int) -> float:
    """Score of an abrupt end at frame *begin*: level, slope and lack of decay in the half millisecond before, in dB.

    Slope and decay have half weight. A low note cut at a zero crossing is quiet there but steep; a note faded out
    within 1 to 5 ms is neither loud nor steep; a note that has decayed naturally is quiet.
    """
    steepest = _steepest(x, begin - turn, begin + step, step)
    left_db = _db(_peak(x, begin - near, begin)) - _db(_peak(x, 0, begin))
    return _db(_peak(x, begin - edge, begin)) + (_db(steepest) + left_db) / 2.0


def alike_db(x: Array, begin: int, end: int, near: int, edge: int, turn: int) -> float:
    """Score of a dropout: no fade at one of its edges, an abrupt return, and the same spectrum on both sides.

    Musical rests fade on both sides and are followed by another note.
    """
    before_db, behind_db = _db(_peak(x, begin - near, begin)), _db(_peak(x, end, end + near))
    ends_db = _db(_peak(x, begin - edge, begin)) - before_db
    begins_db = _db(_peak(x, end, end + edge)) - behind_db
    returns_db = _db(_peak(x, end, end + turn))
    return max(ends_db, begins_db) + 0.4 * returns_db - 0.6 * abs(before_db - behind_db)


def gap_between(
    x: Array, begin: int, end: int, near: int, edge: int, back: int, turn: int, step: int, of_zeros: bool
) -> bool:
    """As ``gaps.is_gap``, for the quiet run of *x* from *begin* to *end*; other lengths are in frames."""
    if min(_peak(x, 0, begin), _peak(x, end, len(x))) <= LOUD:
        return False
    if of_zeros:
        return alike_db(x, begin, end, near, edge, turn) > ALIKE_DB
    loud = breaks_off_db(x, begin, near, edge, turn, step)
    return loud > BREAKS_OFF_DB and _peak(x, end, end + back) > FLOOR
