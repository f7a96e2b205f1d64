"""The strongest hits of each section, and by how much the sound rises at them in each band. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from delivery.model.sections import Section

Array = NDArray[np.float64]

BANDS_HZ = np.array([(20.0, 190.0), (190.0, 3000.0), (3000.0, 20_000.0)])
"""Low, middle and high."""
BEFORE_S = 0.06
"""A hit is compared with what sounds this long before it."""
APART_S = 0.12
"""Two hits are no nearer to each other."""
STRONGEST = 12
"""In each section and band."""
LEAST_RISE_DB = 3.0
"""What rises by less is no hit. Common practice, no source, as are the lengths above."""
FLOOR = 1e-12


@dataclass(frozen=True, slots=True)
class Envelope:
    """Band powers over time."""

    hop_s: float
    powers: Array
    """(windows, bands)."""

    def rises_db(self) -> Array:
        """(windows, bands): the louder of this window and the next against the mean of those before."""
        before = max(round(BEFORE_S / self.hop_s), 1)
        powers = np.maximum(self.powers, FLOOR)
        if len(powers) < before + 3:
            return np.zeros_like(powers)
        sums = np.concatenate([np.zeros((1, powers.shape[1])), np.cumsum(powers, axis=0)])
        rises = np.zeros_like(powers)
        at = np.arange(before + 1, len(powers) - 1)
        means = np.maximum((sums[at - 1] - sums[at - 1 - before]) / before, FLOOR)
        rises[at] = 10 * np.log10(np.maximum(powers[at], powers[at + 1]) / means)
        return rises


Hits = tuple[tuple[int, ...], ...]
"""Windows, for each band."""


def strongest_hits(envelope: Envelope, sections: Sequence[Section]) -> tuple[Hits, ...]:
    """For each section and band the places with the loudest rises, in order of time."""
    rises = envelope.rises_db()
    return tuple(
        tuple(_strongest(envelope, rises[:, band], section, band) for band in range(len(BANDS_HZ)))
        for section in sections
    )


def _strongest(envelope: Envelope, rises: Array, section: Section, band: int) -> tuple[int, ...]:
    first, last = round(section.start_s / envelope.hop_s), round(section.end_s / envelope.hop_s)
    own, apart = rises[first:last], max(round(APART_S / envelope.hop_s), 1)
    if len(own) < 3:
        return ()
    peaks = np.flatnonzero((own >= LEAST_RISE_DB) & (own >= np.roll(own, 1)) & (own > np.roll(own, -1)))
    loud = np.maximum(envelope.powers[first:last, band], np.roll(envelope.powers[first:last, band], -1))
    found: list[int] = []
    for at in peaks[np.argsort(-loud[peaks], kind="stable")].tolist():
        if all(abs(at - other) >= apart for other in found):
            found.append(at)
        if len(found) == STRONGEST:
            break
    return tuple(first + at for at in sorted(found))


def attacks_db(rises: Array, hits: Hits) -> tuple[float | None, ...]:
    """Median of an envelope's rises at these places, for each band; None where there are none."""
    return tuple(
        float(np.median(rises[[at for at in own if at < len(rises)], band])) if own else None
        for band, own in enumerate(hits)
    )
