"""Sibilance events: hiss that outweighs the voice, where a cutting engineer would listen."""

from __future__ import annotations

import numpy as np

from delivery.audio.facts import SoundFacts
from delivery.dsp.blocks.series import Series
from delivery.dsp.events.ranking import KEPT as MOST_PLACES
from delivery.dsp.events.ranking import outstanding_from_db
from delivery.dsp.events.sibilance import band, band_energies, half_bands, halvings, taps, thinned
from delivery.dsp.loudness.k_weighting import step_ends
from delivery.meters.meter import NO_SOUND, Array, all_missing, planar
from delivery.meters.places import outstanding_figures
from delivery.model.figure import Figure, Reading, Subject

PRACTICE = "common practice at cutting rooms, no source"
MIDDLE_HZ = (1000.0, 4000.0)
HIGH_HZ = (5000.0, 10_000.0)
LEAST_RATE_HZ = 32_000
STEPS_PER_S = 50
LOUD_DBFS = -30.0
"""RMS of the high band; softer hiss cuts without trouble."""
USUAL, AUDIBLE_DBFS = 95, -60.0
"""Percentile of the high band's level in steps with sound: what the song does by itself."""
STANDS_OUT_DB = 10.0
"""Above that: cymbals and bright keyboards of music without a fault exceed it by up to 9.5 dB."""
SHORTEST_STEPS = 2
APART_S = 1.0
KEPT = 10


class Sibilance:
    """Passages of 40 ms or more with sibilance in the sum of the channels, which is cut laterally.

    There the band from 5 to 10 kHz has more power than the one from 1 to 4 kHz, and more than -30 dBFS rms. Cymbals
    do so too: these are places to listen to, never a fault.
    """

    subject = Subject.LISTEN
    gives = (
        Figure("sibilant_spots", "", 0, "Places where 5 to 10 kHz outweighs 1 to 4 kHz and is loud.", PRACTICE),
        Figure("sibilant_spots_at_s", "", None, "Where the ten loudest are, at least 1 s apart.", PRACTICE),
        *outstanding_figures(
            "sibilant_spots",
            PRACTICE,
            f"those {STANDS_OUT_DB:.0f} dB above what {USUAL} of 100 steps of 20 ms with sound stay under",
        ),
    )

    def __init__(self, sound: SoundFacts) -> None:
        self._rate_hz = sound.rate_hz
        self._why_not = "" if sound.rate_hz >= LEAST_RATE_HZ else "only from 32 kHz on"
        halved = halvings(sound.rate_hz)
        self._thinning = 2**halved
        self._half_bands = half_bands(sound.rate_hz)
        self._spans = np.array([taps(row[row != 0]) - 1 for row in self._half_bands], np.int64)
        self._bands = np.stack([band(*span_hz, sound.rate_hz / self._thinning) for span_hz in (HIGH_HZ, MIDDLE_HZ)])
        self._reach = self._bands.shape[1] - 1
        self._counts = np.array([*(self._spans // 2), self._reach])
        self._waiting = np.zeros((halved + 1, 2 + max([2 * self._reach, *self._spans])), np.float32)
        self._open = np.zeros(2)
        self._energies = Series(2)
        self._looked_at = self._frames = 0

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        self._frames += len(block)
        if self._why_not:
            return
        samples = thinned(planar(block), self._half_bands, self._spans, self._waiting, self._counts)
        frames = max(len(samples) - 2 * self._reach, 0)
        self._counts[-1] = left = len(samples) - frames
        self._waiting[-1, :left] = samples[frames:]
        ends = step_ends(self._looked_at, frames, self._rate_hz, STEPS_PER_S * self._thinning)
        energies = np.empty((len(ends), 2))
        if frames:
            band_energies(samples, self._bands, ends, self._open, energies)
            self._energies.append(energies)
        self._looked_at += frames

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        if not self._frames or self._why_not:
            return all_missing(self.gives, self._why_not or NO_SOUND)
        powers = self._energies.rows * (STEPS_PER_S * self._thinning / self._rate_hz)
        high, middle = powers[:, 0], powers[:, 1]
        spots = _stretches((high > middle) & (high > 10 ** (LOUD_DBFS / 10)))
        levels_db = [10 * float(np.log10(high[slice(*spot)].max())) for spot in spots]
        loudest = sorted(zip(levels_db, spots, strict=True), key=lambda each: (-each[0], each[1]))
        least_db = max(outstanding_from_db(levels_db, self._frames / self._rate_hz / 60), _usual_db(high, middle))
        outstanding = [each for each in loudest if each[0] >= least_db]
        return (
            Reading(len(spots)),
            Reading(_apart([start for _, (start, _end) in loudest], KEPT)),
            Reading(len(outstanding)),
            Reading(_apart([start for _, (start, _end) in outstanding], MOST_PLACES)),
        )


def _usual_db(high: Array, middle: Array) -> float:
    """Level from which a passage stands out from the song."""
    audible = high[high + middle > 10 ** (AUDIBLE_DBFS / 10)]
    if not len(audible):
        return -np.inf
    place = USUAL / 100 * (len(audible) - 1)  # np.percentile would load numpy.ma
    usual = np.interp(place, np.arange(len(audible)), np.sort(audible))
    return 10 * float(np.log10(usual)) + STANDS_OUT_DB


def _apart(starts: list[int], most: int) -> tuple[float, ...]:
    """Times in s of the first of these steps that are 1 s or more apart, in order of time."""
    chosen: list[float] = []
    for start in starts:
        at_s = start / STEPS_PER_S
        if len(chosen) < most and all(abs(at_s - other) >= APART_S for other in chosen):
            chosen.append(at_s)
    return tuple(sorted(chosen))


def _stretches(hissing: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]) -> list[tuple[int, int]]:
    """First step and one past the last, of every passage that is long enough."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], hissing, [False]]).astype(np.int8)))
    pairs = zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)
    return [(start, end) for start, end in pairs if end - start >= SHORTEST_STEPS]
