"""Where a band is thin or crowded for longer than a bar: band levels over time against the song's own and peers'. Pure.

Whatever all bands do together (a quiet verse, a fade) is taken off first: in every bar the median over the bands of
their distance from their own median level. What is left in a band is its departure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from delivery.model.reference import BandHabit, Place, PlaceKind

Array = NDArray[np.float64]

USUAL_BAR_S = 2.0
"""Where no tempo is stated: four beats at 120 a minute."""
BEATS = 4
DEPARTS_DB = 4.0
"""From the song's own level in that band. Common practice, no source."""
BEYOND_DB = 1.0
"""On average over a place, beyond what the peers' bars hold. Common practice, no source."""
DROPS_DB = 6.0
"""A part that stops or begins changes its band by so much from one bar to the next. Common practice, no source."""
QUIET_DB = 20.0
"""Bars so far below the song's mean level are left out, as in EBU Tech 3342."""
FAINT_DB = 60.0
"""Bands so far below the strongest one hold no relevant energy."""
RARE_PERCENT = (5, 95)
LEAST_BARS = 8
BARS_APART = 4
"""Bars begin every quarter of a bar, so that a place need not keep to any grid."""


def bar_seconds(bpm: float | None) -> float:
    """Four beats of the stated tempo, or USUAL_BAR_S."""
    return BEATS * 60 / bpm if bpm else USUAL_BAR_S


def habits_of(levels_db: Array, middles_hz: Array, step_s: float, integrated_lufs: float) -> tuple[BandHabit, ...]:
    """How every band usually lies and moves, in bars of USUAL_BAR_S; nothing where the song is too short.

    Parameters
    ----------
    levels_db : (steps, bands), as ``BandLevels`` gives them
    """
    bars = _Bars(levels_db, max(round(USUAL_BAR_S / step_s), 1))
    if not bars.enough:
        return ()
    low, high = np.nanpercentile(bars.departures, RARE_PERCENT, axis=0)
    rows = zip(middles_hz, bars.usual_db - integrated_lufs, low, high, strict=True)
    return tuple(BandHabit(*(float(value) for value in row)) for row in rows)


def places_of(
    levels_db: Array,
    middles_hz: Array,
    step_s: float,
    integrated_lufs: float,
    peers: Sequence[Sequence[BandHabit]],
    bar_s: float = USUAL_BAR_S,
) -> tuple[Place, ...]:
    """Places longer than a bar where a band departs from its own level and from what the peers' bars do.

    Parameters
    ----------
    peers : of each reference track, as ``habits_of`` gives them; their medians count. Empty: the song's own level alone
    """
    bars = _Bars(levels_db, max(round(bar_s / step_s), 1))
    if not bars.enough:
        return ()
    found: list[Place] = []
    for band, middle_hz in enumerate(middles_hz):
        if bars.usual_db[band] < bars.usual_db.max() - FAINT_DB:
            continue
        peer = _peer(float(middle_hz), peers)
        offset_db = float(bars.usual_db[band]) - integrated_lufs
        for kind, sign in ((PlaceKind.THIN, -1.0), (PlaceKind.CROWDED, 1.0)):
            beyond = sign * bars.departures[:, band]
            beyond_peers = sign * _beyond_peers(bars.departures[:, band], offset_db, peer, sign)
            here = (beyond > DEPARTS_DB) & (beyond_peers > 0)
            beyond_or_none = beyond_peers if peer else None
            runs = (_place(bars, band, float(middle_hz), kind, run, step_s, beyond_or_none) for run in _runs(here))
            found += [place for place in runs if place]
    whole = _continued(_merged(found), bars.bar_steps * step_s)
    return tuple(sorted(whole, key=lambda place: (place.at_s, place.low_hz)))


class _Bars:
    """A song in overlapping bars."""

    def __init__(self, levels_db: Array, bar_steps: int) -> None:
        self.levels_db, self.bar_steps = levels_db, bar_steps
        self.hop = max(bar_steps // BARS_APART, 1)
        powers = np.concatenate([np.zeros((1, levels_db.shape[1])), np.cumsum(10 ** (levels_db / 10), axis=0)])
        self.starts = np.arange(0, len(levels_db) - bar_steps + 1, self.hop)
        means = np.maximum((powers[self.starts + bar_steps] - powers[self.starts]) / bar_steps, 1e-12)
        totals = means.sum(axis=1)
        loud = totals > (totals.mean() if len(totals) else 0.0) * 10 ** (-QUIET_DB / 10)
        self.enough = int(loud.sum()) >= LEAST_BARS * BARS_APART
        bars_db = np.where(loud[:, None], 10 * np.log10(means), np.nan)
        if self.enough:
            self.usual_db: Array = np.nanmedian(bars_db, axis=0)
            apart = bars_db[loud] - self.usual_db
            self.departures: Array = np.full_like(bars_db, np.nan)
            self.departures[loud] = apart - np.median(apart, axis=1, keepdims=True)


def _peer(middle_hz: float, peers: Sequence[Sequence[BandHabit]]) -> BandHabit | None:
    """The medians of the peers' habits in one band."""
    rows = [habit for peer in peers for habit in peer if abs(habit.middle_hz / middle_hz - 1) < 0.01]
    if not rows:
        return None
    table = np.median([(row.usual_re_loudness_db, row.low_db, row.high_db) for row in rows], axis=0)
    return BandHabit(middle_hz, *(float(value) for value in table))


def _beyond_peers(departures: Array, offset_db: float, peer: BandHabit | None, sign: float) -> Array:
    """How far each bar lies beyond what 19 of 20 bars of the peers hold, and beyond how far they depart: the lesser."""
    if peer is None:
        return departures
    limit = peer.low_db if sign < 0 else peer.high_db
    level = departures + offset_db - (peer.usual_re_loudness_db + limit)
    moved = departures - limit
    return np.where(sign * level < sign * moved, level, moved)


def _runs(here: NDArray[np.bool_]) -> Iterator[tuple[int, int]]:
    """First and last bar of each run that covers more than one bar."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], here, [False]]).astype(np.int8)))
    for first, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        if end - first >= 2:
            yield first, end - 1


def _place(
    bars: _Bars,
    band: int,
    middle_hz: float,
    kind: PlaceKind,
    run: tuple[int, int],
    step_s: float,
    beyond_peers: Array | None,
) -> Place | None:
    """The run with its ends where the level changes most, and whether a part drops out and returns there.

    None where it lasts a bar or less, as something loud and short lifts every bar that holds it, and where it is hardly
    beyond the peers.
    """
    row, sign = bars.levels_db[:, band], -1.0 if kind is PlaceKind.THIN else 1.0
    begin, before = _edge(row, int(bars.starts[run[0]]), bars.bar_steps, sign)
    end, behind = _edge(row, int(bars.starts[run[1]]) + bars.bar_steps, bars.bar_steps, -sign)
    if end - begin <= bars.bar_steps:
        return None
    dropped = kind is PlaceKind.THIN and before >= DROPS_DB and behind >= DROPS_DB
    across = np.arange(run[0], run[1] + 1)
    whole = across[(bars.starts[across] >= begin) & (bars.starts[across] + bars.bar_steps <= end)]
    inside = whole if len(whole) else across
    if not dropped and beyond_peers is not None and np.mean(beyond_peers[inside]) < BEYOND_DB:
        return None
    third = 10**0.1
    return Place(
        PlaceKind.DROPS_OUT if dropped else kind,
        round(begin * step_s, 2),
        round(end * step_s, 2),
        middle_hz / third,
        middle_hz * third,
        float(np.mean(bars.departures[inside, band])),
        None if beyond_peers is None else float(np.mean(beyond_peers[inside])),
    )


def _edge(row: Array, about: int, bar_steps: int, sign: float) -> tuple[int, float]:
    """The step within a bar of *about* where half a bar before and half a bar behind differ most, and by how many dB.

    Parameters
    ----------
    sign : 1 where the level is to rise there, -1 where it is to fall; the change is positive for either
    """
    powers = np.concatenate([[0.0], np.cumsum(10 ** (row / 10))])
    half = max(bar_steps // 2, 1)
    at = np.arange(max(about - bar_steps, 1), min(about + bar_steps, len(row) - 1) + 1)
    low, high = np.maximum(at - half, 0), np.minimum(at + half, len(row))
    before = np.maximum((powers[at] - powers[low]) / (at - low), 1e-12)
    behind = np.maximum((powers[high] - powers[at]) / (high - at), 1e-12)
    change_db = sign * 10 * np.log10(behind / before)
    best = int(change_db.argmax())
    return int(at[best]), float(change_db[best])


def _merged(places: Sequence[Place]) -> list[Place]:
    """Neighbouring bands that depart alike at the same time are one place."""
    merged: list[Place] = []
    for place in sorted(places, key=lambda one: (one.low_hz, one.at_s)):
        same = next((at for at, one in enumerate(merged) if _touch(one, place)), None)
        if same is None:
            merged.append(place)
        else:
            merged[same] = _union(merged[same], place)
    return merged


def _continued(places: Sequence[Place], bar_s: float) -> list[Place]:
    """Places of the same bands that overlap, or are a bar or less apart, are one."""
    joined: list[Place] = []
    for place in sorted(places, key=lambda one: one.at_s):
        same = next((at for at, one in enumerate(joined) if _continues(one, place, bar_s)), None)
        if same is None:
            joined.append(place)
        else:
            joined[same] = _union(joined[same], place)
    return joined


def _union(one: Place, other: Place) -> Place:
    """Both places as one, with the figures of the stronger."""
    return replace(
        max((one, other), key=lambda each: abs(each.own_db)),
        at_s=min(one.at_s, other.at_s),
        until_s=max(one.until_s, other.until_s),
        low_hz=min(one.low_hz, other.low_hz),
        high_hz=max(one.high_hz, other.high_hz),
    )


def _touch(one: Place, other: Place) -> bool:
    shared_s = min(one.until_s, other.until_s) - max(one.at_s, other.at_s)
    shorter_s = min(one.until_s - one.at_s, other.until_s - other.at_s)
    apart = other.low_hz / one.high_hz
    return one.kind is other.kind and 1.1 < apart < 1.5 and shared_s > 0.5 * shorter_s


def _continues(one: Place, other: Place, bar_s: float) -> bool:
    same_bands = one.low_hz < other.high_hz and other.low_hz < one.high_hz
    return one.kind is other.kind and same_bands and other.at_s - one.until_s <= bar_s
