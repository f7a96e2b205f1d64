"""What the measurements of two files show together: shared time, gain, tone, polarity. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.likeness.excerpts import excerpt
from delivery.dsp.likeness.same_recording import STEP_S, alike
from delivery.dsp.loudness.gating import gated_loudness_lufs
from delivery.model.figure import Measurement
from delivery.model.pair import Polarity

Array = NDArray[np.float64]

BLOCK_S = 0.4
"""Length of a gating block; they are STEP_S apart."""
LEAST_SHARED_S = 3.0


@dataclass(frozen=True, slots=True)
class Shared:
    """A stretch of time that both files seem to hold, from their loudness over time; seconds."""

    one_s: float
    other_s: float
    length_s: float


COMPARED = (
    "integrated_lufs",
    "short_term_max_lufs",
    "loudness_range_lu",
    "true_peak_dbtp",
    "plr_db",
    "psr_low_db",
    "crest_factor_db",
    "correlation",
    "spectral_tilt_db",
    "duration_s",
)
"""Figures printed side by side, in the order of the table."""

NEEDED = (
    *COMPARED,
    *("rate_hz", "frames", "channels", "gating_powers", "short_term_curve_lufs", "peak_curve_dbtp"),
    *("third_octave_hz", "third_octave_re_loudness_db"),
)
"""Figures for all that a comparison can give."""

OF_SPECTRA = frozenset({"spectral_tilt_db", "third_octave_hz", "third_octave_re_loudness_db"})
"""Those from the spectrum of each file alone. Two files that can be aligned have the tone of their common moments."""


def side_by_side(one: Measurement, other: Measurement) -> dict[str, tuple[float | None, float | None]]:
    """Each compared figure of both."""
    return {name: (one.value(name), other.value(name)) for name in COMPARED}


def tone(one: Measurement, other: Measurement) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Middles of the third octaves that both have, and how much more of each the second one has at equal loudness."""
    hz, levels = "third_octave_hz", "third_octave_re_loudness_db"
    if None in (one.value(hz), other.value(hz), one.value(levels), other.value(levels)):
        return (), ()
    mine, theirs = (
        dict(zip(one.value(hz), one.value(levels), strict=True)),
        dict(zip(other.value(hz), other.value(levels), strict=True)),
    )
    both = [middle for middle in mine if middle in theirs]
    return tuple(both), tuple(theirs[middle] - mine[middle] for middle in both)


def likely_shared(one: Measurement, other: Measurement) -> Shared | None:
    """Where the loudness over time of both runs alike; None where it nowhere does.

    The whole of both is tried first, then an edit of one within the other. Whether it is one recording is decided by
    the waveform, not here.
    """
    powers = one.value("gating_powers"), other.value("gating_powers")
    if None in powers:
        return None
    found = alike(*powers)
    if found is not None:
        return _overlap(found.offset_s, len(powers[0]), len(powers[1]))
    part = excerpt(*powers)
    if part is not None:
        longest = max(part.stretches, key=lambda stretch: stretch.length_s)
        return Shared(longest.one_s, longest.other_s, longest.length_s)
    if min(map(len, powers)) >= round(LEAST_SHARED_S / STEP_S):
        return _overlap(0.0, len(powers[0]), len(powers[1]))
    return None


def _overlap(offset_s: float, one: int, other: int) -> Shared:
    start_s = max(0.0, -offset_s)
    length_s = min(one * STEP_S, other * STEP_S - offset_s) - start_s + BLOCK_S - STEP_S
    return Shared(start_s, start_s + offset_s, length_s)


def gain_over(shared: Shared, one: Measurement, other: Measurement) -> float | None:
    """How much louder the second one is over *shared*, by gated loudness; None where either is silent there."""
    levels = [
        gated_loudness_lufs(_blocks(measurement, start_s, shared.length_s))
        for measurement, start_s in ((one, shared.one_s), (other, shared.other_s))
    ]
    return None if levels[0] is None or levels[1] is None else levels[1] - levels[0]


def _blocks(measurement: Measurement, start_s: float, length_s: float) -> Array:
    """Gating blocks from *start_s* on, read between the steps of the file's own: the sum over 0.4 s moves smoothly."""
    powers = np.asarray(measurement.value("gating_powers") or (), np.float64)
    count = max(int((length_s - BLOCK_S) / STEP_S + 1e-9) + 1, 0)
    places = start_s / STEP_S + np.arange(count)
    places = places[(places >= -0.5) & (places <= len(powers) - 0.5)]
    return np.interp(places, np.arange(len(powers)), powers) if len(powers) else powers


def polarity_of(channel_signs: Sequence[int]) -> Polarity:
    """Of channels that are 1, -1, or 0 where silent."""
    audible = {sign for sign in channel_signs if sign}
    if audible == {-1}:
        return Polarity.INVERTED
    return Polarity.ONE_CHANNEL if len(audible) > 1 else Polarity.SAME
