"""How fast a cutting stylus moves, and how hard it is accelerated, if the sound is cut at a stated level."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from delivery.audio.facts import SoundFacts
from delivery.dsp.blocks.stretches import Stretches
from delivery.dsp.cutting.layout import ACCELERATION, VELOCITY
from delivery.meters.meter import NO_SOUND, SILENT, Array, all_missing, planar
from delivery.model.figure import Figure, Measurement, Reading, Subject

if TYPE_CHECKING:
    from delivery.dsp.cutting.recording_curve import Peak

LEAST_RATE_HZ = 44_100
LOW_RATE = "only from 44.1 kHz on"
REFERENCE_DBFS = -18.0
WALL_CM_S = 5.0
"""Peak velocity of each groove wall at the reference; both together move the stylus by root 2 times that."""
G_CM_S2 = 980.665
SOURCE = "recording curve: IEC 60098, from memory; level: common practice, no source"
AT_LEVEL = "if a sine of 1 kHz at the stated level cuts 7.07 cm/s"


class Cutting:
    """Peak velocity and acceleration of the stylus, lateral and vertical, by the recording curve."""

    subject = Subject.STEREO
    method = (
        "Lateral is left plus right over root 2, vertical is left less right over root 2. Velocity is the signal "
        "behind the recording curve (time constants 3180, 318 and 75 us, 0 dB at 1 kHz), acceleration its derivative, "
        "both up to 20 kHz: down by half at 21 kHz, nothing from 22.05 kHz on. Measured only for a level stated by "
        "`delivery measure --cutting-reference`: that of a sine of 1 kHz (0 dBFS is a full-scale sine) that in both "
        "channels cuts 5 cm/s peak on each groove wall, 7.07 cm/s lateral. Peaks are those of the waveform at 16 "
        "times the rate, wherever an estimate made in every 5 ms comes near the highest; a peak may be up to 0.3 dB "
        "higher. No limiter, elliptical equaliser or protection of a cutting system is reckoned with: its maker's own "
        "limits decide."
    )
    on_request = "no level is stated: delivery measure --cutting-reference -18"
    gives = (
        Figure(
            "cutting_reference_dbfs",
            "dBFS",
            1,
            "Level stated for the next figures: a sine of 1 kHz at this level in both channels cuts 7.07 cm/s peak.",
            "common practice, no source",
        ),
        Figure(
            "lateral_velocity_peak_cm_s",
            "cm/s",
            0,
            f"Highest velocity of the stylus from side to side, {AT_LEVEL}.",
            SOURCE,
        ),
        Figure("lateral_velocity_peak_at_s", "s", 3, "Where that is.", SOURCE),
        Figure(
            "vertical_velocity_peak_cm_s", "cm/s", 0, f"Highest velocity of the stylus up and down, {AT_LEVEL}.", SOURCE
        ),
        Figure("vertical_velocity_peak_at_s", "s", 3, "Where that is.", SOURCE),
        Figure(
            "lateral_acceleration_peak_g",
            "g",
            0,
            f"Highest acceleration of the stylus from side to side, {AT_LEVEL}; 1 g is 9.80665 m/s2.",
            SOURCE,
        ),
        Figure("lateral_acceleration_peak_at_s", "s", 3, "Where that is.", SOURCE),
        Figure(
            "vertical_acceleration_peak_g",
            "g",
            0,
            f"Highest acceleration of the stylus up and down, {AT_LEVEL}.",
            SOURCE,
        ),
        Figure("vertical_acceleration_peak_at_s", "s", 3, "Where that is.", SOURCE),
    )

    def __init__(self, sound: SoundFacts) -> None:
        from delivery.dsp.cutting.recording_curve import MotionPeaks  # few files are measured for a record

        self._sound = sound
        self._why_not = (
            "only for one or two channels" if sound.channels > 2 else LOW_RATE if sound.rate_hz < LEAST_RATE_HZ else ""
        )
        self._lateral, self._vertical = MotionPeaks(sound.rate_hz), MotionPeaks(sound.rate_hz)
        self._margin, self._stretch = self._lateral.margin, self._lateral.stretch
        self._stretches = Stretches(sound.channels, self._stretch, before=2 * self._margin)
        self._frames = 0

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        self._frames += len(block)
        if not self._why_not:
            self._look(planar(block))

    def _look(self, samples: Array) -> None:
        for piece, frame in self._stretches.pieces(samples):
            for at in range(0, piece.shape[1] - 2 * self._margin, self._stretch):
                part = piece[:, at : at + 2 * self._margin + self._stretch]
                begin = frame + at - self._margin
                self._lateral.add(part[0], part[-1], 1.0, begin)
                if len(part) == 2:
                    self._vertical.add(part[0], part[1], -1.0, begin)

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        if not self._frames or self._why_not:
            return all_missing(self.gives, self._why_not or NO_SOUND)
        behind = self._margin + -(self._frames + self._margin) % self._stretch
        self._look(np.zeros((self._sound.channels, behind)))
        if not any(peak.height for peak in self._lateral.peaks + self._vertical.peaks):
            return all_missing(self.gives, SILENT)
        lateral, vertical = self._lateral.peaks, self._vertical.peaks
        return (
            Reading(REFERENCE_DBFS),
            *self._told(lateral[VELOCITY], 1.0),
            *self._told(vertical[VELOCITY], 1.0),
            *self._told(lateral[ACCELERATION], G_CM_S2),
            *self._told(vertical[ACCELERATION], G_CM_S2),
        )

    def _told(self, peak: Peak, unit_cm_s: float) -> tuple[Reading, Reading]:
        """Value and place; the height is that of left plus or less right, not yet over root 2."""
        value = peak.height / math.sqrt(2) * WALL_CM_S / 10 ** (REFERENCE_DBFS / 20) / unit_cm_s
        if not value:
            return Reading(0.0), Reading.missing("the stylus does not move that way")
        return Reading(value), Reading(min(max(peak.frame, 0.0), self._frames - 1) / self._sound.rate_hz)


def at_reference(measurement: Measurement, dbfs: float) -> Measurement:
    """The same figures, with the reference of 7.07 cm/s at another level of the 1 kHz sine."""
    factor = 10 ** ((REFERENCE_DBFS - dbfs) / 20)
    own = {figure.name: (figure, measurement.readings.get(figure.name)) for figure in Cutting.gives}
    return measurement.with_readings(
        {
            name: Reading(dbfs if figure.unit == "dBFS" else reading.value * factor)
            for name, (figure, reading) in own.items()
            if reading and reading.exists and figure.unit in ("dBFS", "cm/s", "g")
        }
    )
