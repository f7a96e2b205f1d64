"""Level and offset of every channel: RMS, direct current, and the quietest passage."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.audio.facts import SoundFacts
from delivery.dsp.blocks.series import Series
from delivery.dsp.events.quietest import Quietest
from delivery.dsp.loudness.gating import sliding_sums
from delivery.dsp.loudness.k_weighting import step_ends
from delivery.dsp.loudness.levels import SUMS, step_sums, windowed_means
from delivery.dsp.spectrum.weighting import a_weighting, itu_468_weighting, weighted_powers
from delivery.meters.meter import NO_SOUND, SILENT, TOO_SHORT, Array, planar
from delivery.model.figure import Figure, Reading, Subject

PRACTICE = "common practice, no source"
STEPS_PER_S = 10
AES17_DB = 10 * float(np.log10(2))
OFFSET_STEPS = 2 * STEPS_PER_S
QUIET_STEPS = 4
NOISE_STEPS = 5
PERCENTILES = (5, 10, 50, 90, 95)
FLOOR_DB = -150.0


class Levels:
    """Figures from sums of samples and of their squares in steps of 0.1 s."""

    subject = Subject.SPECTRUM
    method = (
        "Unweighted sums of samples and of their squares in steps of 0.1 s. Rms over the whole file; the "
        "quietest 0.4 s and "
        "0.5 s are searched every 0.1 s, the first of equal ones counts. "
        "Percentiles: 0.4 s every 0.1 s, of n sorted values number round((n - 1) p) from 0. "
        "Full scale is 1.0, so a full-scale "
        "sine has an rms "
        "of -3.01 dBFS, by AES17 of 0."
    )
    gives = (
        Figure("dc_offset_percent", "%", 3, "Largest mean of any channel over the file.", PRACTICE),
        Figure("dc_offsets_percent", "%", None, "Mean of each channel over the file, with its sign.", PRACTICE),
        Figure(
            "dc_offset_1s_percent",
            "%",
            3,
            "Largest offset of any channel about one second: mean under a Hann window of 2 s (of the whole file where "
            "it is shorter, from 1 s on), every 0.1 s. From 20 Hz on a tone counts less than a thousandth.",
            PRACTICE,
        ),
        Figure("dc_offset_1s_at_s", "s", 1, "Where the middle second of that window begins.", PRACTICE),
        Figure(
            "rms_dbfs",
            "dBFS",
            None,
            "Rms of each channel over the file, of full scale 1.0: a full-scale sine reads -3.01, where AES17 says 0 "
            "and reads 3.01 dB more. -150 is silence.",
            PRACTICE,
            Subject.PEAKS,
        ),
        Figure(
            "quietest_dbfs",
            "dBFS",
            1,
            "Rms of the quietest 0.4 s, all channels together; digital silence is left out.",
            PRACTICE,
            Subject.EDGES,
        ),
        Figure("quietest_at_s", "s", 1, "Where the quietest 0.4 s begin.", PRACTICE, Subject.EDGES),
        Figure(
            "programme_rms_dbfs",
            "dBFS",
            2,
            "Rms of the whole file, all channels together, of full scale 1.0: a full-scale sine in every channel reads "
            "-3.01.",
            PRACTICE,
            Subject.PEAKS,
        ),
        Figure(
            "programme_rms_aes17_dbfs",
            "dBFS",
            2,
            "The same by AES17, where the rms of a full-scale sine is 0 dBFS: 3.01 dB more.",
            "AES17-2015, read second-hand",
            Subject.PEAKS,
        ),
        Figure(
            "noise_floor_dbfs",
            "dBFS",
            1,
            "Rms of the quietest 0.5 s, all channels together, in which no 0.1 s is digital silence: in speech, the "
            "room between the words.",
            PRACTICE,
            Subject.EDGES,
        ),
        Figure("noise_floor_at_s", "s", 1, "Where these 0.5 s begin.", PRACTICE, Subject.EDGES),
        Figure(
            "noise_floor_a_weighted_dbfs",
            "dBFS",
            1,
            "A-weighted rms of these 0.5 s, under a Hann window, all channels together.",
            "IEC 61672-1:2013, Annex E (weighting)",
            Subject.EDGES,
        ),
        Figure(
            "noise_floor_468_weighted_dbfs",
            "dBFS",
            1,
            "Rms of these 0.5 s by the weighting of ITU-R BS.468-4, 0 dB at 1 kHz, under a Hann window, all channels "
            "together; not its quasi-peak meter, which reads higher.",
            "ITU-R BS.468-4 (weighting)",
            Subject.EDGES,
        ),
        Figure(
            "level_percentiles_percent",
            "%",
            None,
            "Shares of the windows of 0.4 s of the level percentiles.",
            PRACTICE,
            Subject.PEAKS,
        ),
        Figure(
            "rms_percentiles_dbfs",
            "dBFS",
            None,
            "Rms that so many of the windows of 0.4 s stay at or under, all channels together; -150 is silence.",
            PRACTICE,
            Subject.PEAKS,
            along="level_percentiles_percent",
        ),
        Figure(
            "rms_curve_dbfs",
            "dBFS",
            None,
            "Rms of each whole second, all channels together; -150 is silence.",
            PRACTICE,
            Subject.PEAKS,
            along="curve_step_s",
        ),
    )

    def __init__(self, sound: SoundFacts) -> None:
        self._rate_hz = sound.rate_hz
        self._open = np.zeros((SUMS, sound.channels))
        self._sums = Series(SUMS, sound.channels)
        self._quiet_span = Quietest(NOISE_STEPS, sound.rate_hz // STEPS_PER_S + 1)
        self._held = self._frames = 0

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        ends = step_ends(self._frames, len(block), self._rate_hz, STEPS_PER_S)
        sums = np.empty((len(ends), *self._open.shape))
        samples = planar(block)
        step_sums(samples, ends, self._held, self._open, sums)
        self._sums.append(sums)
        self._quiet_span.append(samples, self._frames + ends, sums[:, 1].sum(axis=1))
        self._held = len(block) - int(ends[-1]) if len(ends) else self._held + len(block)
        self._frames += len(block)

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        if not self._frames:
            return (Reading.missing(NO_SOUND),) * len(self.gives)
        means, powers, _ = (self._sums.rows.sum(axis=0) + self._open) / self._frames
        rms = 10 * np.log10(np.maximum(powers, 10 ** (FLOOR_DB / 10)))
        return (
            Reading(100 * float(np.abs(means).max())),
            Reading(tuple((100 * means).tolist())),
            *self._worst_second(),
            Reading(tuple(rms.tolist())),
            *self._quietest(),
            *_programme(powers),
            *(floor := self._noise_floor()),
            *self._weighted_floor(floor[0].why_missing),
            *self._percentiles(),
            self._curve(),
        )

    def _worst_second(self) -> tuple[Reading, Reading]:
        if len(self._sums) < STEPS_PER_S:
            return (Reading.missing(f"{TOO_SHORT}: under 1 s"),) * 2
        steps, rows = min(OFFSET_STEPS, len(self._sums)), self._sums.rows
        found = windowed_means(rows[:, 0], rows[:, 2], self._rate_hz / STEPS_PER_S, steps)
        means = np.abs(found).max(axis=1)
        at_s = (int(means.argmax()) + (steps - STEPS_PER_S) / 2) / STEPS_PER_S
        return Reading(100 * float(means.max())), Reading(at_s)

    def _quietest(self) -> tuple[Reading, Reading]:
        energies = sliding_sums(self._energies(), QUIET_STEPS)
        return self._lowest(energies, energies > 0, QUIET_STEPS, SILENT)

    def _noise_floor(self) -> tuple[Reading, Reading]:
        steps = self._energies()
        audible = sliding_sums((steps > 0).astype(np.float64), NOISE_STEPS) > NOISE_STEPS - 0.5
        return self._lowest(sliding_sums(steps, NOISE_STEPS), audible, NOISE_STEPS, "no 0.5 s without digital silence")

    def _weighted_floor(self, why_missing: str) -> tuple[Reading, Reading]:
        samples = self._quiet_span.samples
        if samples is None:
            return (Reading.missing(why_missing or NO_SOUND),) * 2
        a, itu = weighted_powers(samples, self._rate_hz, a_weighting, itu_468_weighting)
        return Reading(decibels(a)), Reading(decibels(itu))

    def _percentiles(self) -> tuple[Reading, Reading]:
        energies = np.sort(sliding_sums(self._energies(), QUIET_STEPS))
        if not len(energies):
            return Reading(PERCENTILES), Reading.missing(f"{TOO_SHORT}: under {QUIET_STEPS / STEPS_PER_S} s")
        places = [int((len(energies) - 1) * share / 100 + 0.5) for share in PERCENTILES]
        scale = STEPS_PER_S / (QUIET_STEPS * self._rate_hz * self._open.shape[1])
        return Reading(PERCENTILES), Reading(tuple(decibels(energies[place] * scale) for place in places))

    def _curve(self) -> Reading:
        seconds = len(self._sums) // STEPS_PER_S
        if not seconds:
            return Reading.missing(f"{TOO_SHORT}: under 1 s")
        energies = self._energies()[: seconds * STEPS_PER_S].reshape(seconds, STEPS_PER_S).sum(axis=1)
        return Reading(tuple(decibels(energy / (self._rate_hz * self._open.shape[1])) for energy in energies.tolist()))

    def _energies(self) -> Array:
        """Energies of each whole step, all channels together."""
        energies: Array = self._sums.rows[:, 1].sum(axis=1)
        return energies

    def _lowest(self, energies: Array, counts: NDArray[np.bool_], steps: int, none: str) -> tuple[Reading, Reading]:
        """Level and start in s of the quietest window of *steps* steps, among those that count."""
        if not len(energies):
            return (Reading.missing(f"{TOO_SHORT}: under {steps / STEPS_PER_S} s"),) * 2
        audible = np.flatnonzero(counts)
        if not len(audible):
            return (Reading.missing(none),) * 2
        at = int(audible[energies[audible].argmin()])
        power = energies[at] * STEPS_PER_S / (steps * self._rate_hz * self._open.shape[1])
        return Reading(decibels(power)), Reading(at / STEPS_PER_S)


def _programme(powers: Array) -> tuple[Reading, Reading]:
    """RMS of all channels, by both conventions."""
    if not powers.any():
        return Reading.missing(SILENT), Reading.missing(SILENT)
    level_dbfs = decibels(float(powers.mean()))
    return Reading(level_dbfs), Reading(level_dbfs + AES17_DB)


def decibels(power: float) -> float:
    """Mean square in dB, never below the floor."""
    return 10 * float(np.log10(max(power, 10 ** (FLOOR_DB / 10))))
