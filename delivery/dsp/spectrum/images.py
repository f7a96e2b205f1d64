"""Images that a gentle rate converter leaves: above half the earlier rate the spectrum below is repeated, mirrored."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

EARLIER_RATES_HZ = (44_100, 48_000)
"""Not their doubles: images of these two repeat there as well."""
NEAREST_HZ, FARTHEST_HZ = 300.0, 1300.0
"""Distance from half the earlier rate: nearer, windows see both sides at once; farther, some filters leave no image."""
SUMMED = 3
"""Narrow bands summed, so that a mirror between two bands costs little likeness."""
LEAST_LIKENESS = 0.4
EVIDENCE = ((LEAST_LIKENESS, 0.4), (0.75, 0.7))
"""Least likeness, and the most at mirrors elsewhere, as a share of it. Images have a likeness of 0.45 to 0.98. Sound
that holds one short sample again and again is as alike about many other places; where it is less so elsewhere, its
likeness stays below 0.74 (39 sounds that were never raised, 64 places each)."""
IF_RAISED = ((0.5, 0.7),)
"""Enough where the end of the band has shown that the rate was raised, and only the rate is asked."""
ELSEWHERE = tuple(step for step in range(-20, 21) if abs(step) >= 8)
"""In halves of a narrow band."""


class Images(NamedTuple):
    """The rate that a mirror would tell, and how much it is one."""

    rate_hz: int
    likeness: float
    elsewhere: float
    """The most about other places, up to ten narrow bands away."""

    def are_there(self, *, raised: bool) -> bool:
        """True if they are proof; *raised* if the end of the band has shown that the rate was raised."""
        evidence = EVIDENCE + IF_RAISED if raised else EVIDENCE
        return any(self.likeness >= least and self.elsewhere <= most * self.likeness for least, most in evidence)

    def contradict(self, rate_hz: int) -> bool:
        """True if they are no proof, but likely enough that another sign's *rate_hz* may be that of their end."""
        return self.rate_hz != rate_hz and self.elsewhere < self.likeness


def images(windows: NDArray[np.float32], band_hz: float) -> Images | None:
    """The images of a lower sample rate that the sound is most like; None if it is hardly like any.

    What is compared is how a band fluctuates against its neighbours from window to window. That differs from place to
    place in any sound, and is the same in an image: each frequency of it is one from below, times a constant. No
    published method, own.

    *windows* is (windows, bands), the powers of bands *band_hz* wide from 0 Hz to half the rate.
    """
    top_hz = 0.99 * windows.shape[1] * band_hz
    halves = [rate / 2 for rate in EARLIER_RATES_HZ if rate / 2 + FARTHEST_HZ <= top_hz]
    if not halves or len(windows) < 2:
        return None
    likeness = [max(_likeness(windows, band_hz, half + step * band_hz / 2) for step in (-1, 0, 1)) for half in halves]
    best = int(np.argmax(likeness))
    if likeness[best] < LEAST_LIKENESS:
        return None
    others = (_likeness(windows, band_hz, halves[best] + step * band_hz / 2) for step in ELSEWHERE)
    return Images(round(2 * halves[best]), likeness[best], max(others))


def _likeness(windows: NDArray[np.float32], band_hz: float, half_hz: float) -> float:
    """Correlation of what is below *half_hz* with what is at the same distance above it."""
    first, end = int((half_hz - FARTHEST_HZ) / band_hz), int((half_hz - NEAREST_HZ) / band_hz) - SUMMED + 1
    below = np.arange(first, end)
    above = np.rint(2 * half_hz / band_hz - below - SUMMED).astype(int)
    kept = above + 2 * SUMMED <= windows.shape[1]
    one, other = _fluctuation(windows, below[kept]), _fluctuation(windows, above[kept])
    energy = float(np.sum(one * one) * np.sum(other * other))
    return float(np.sum(one * other)) / energy**0.5 if energy > 0 else 0.0


def _fluctuation(windows: NDArray[np.float32], bands: NDArray[np.int_]) -> Array:
    """Log power of SUMMED bands from each on, less that of both neighbours and less its own mean over time."""

    def level(starts: NDArray[np.int_]) -> Array:
        summed = sum(windows[:, starts + number].astype(np.float64) for number in range(SUMMED))
        return np.asarray(np.log(np.maximum(summed, 1e-30)))

    own = level(bands) - (level(bands - SUMMED) + level(bands + SUMMED)) / 2
    return np.asarray(own - own.mean(axis=0))
