"""The recording curve of records as velocity of the stylus, and the highest velocity and acceleration it gives.

Over time constants of 3180, 318 and 75 us a voltage x becomes the velocity (1 + 3180 s)(1 + 75 s) / (1 + 318 s) x:
a part of x, a part of its derivative, and less of its low band. Acceleration is the derivative of velocity.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.cutting._loops import estimate
from delivery.dsp.cutting.layout import ACCELERATION, HISTORY, VELOCITY

__all__ = ["ACCELERATION", "VELOCITY", "MotionPeaks", "response"]

Array = NDArray[np.float64]

BASS_S, MIDDLE_S, TREBLE_S = 3180e-6, 318e-6, 75e-6
"""Time constants of IEC 60098 (1987), from memory; what players take off below 20 Hz is not in them."""
REFERENCE_HZ = 1000.0
TOP_HZ, STOP_HZ = 20_000.0, 22_050.0
"""The curve is defined up to 20 kHz; what is above is taken out along a quarter of a cosine."""
CELLS_A_SECOND, CELLS = 200, 100
"""Cells of 5 ms; so many are looked at together."""
COARSE_HZ, FINE, CLOSE = 160_000, 16, 1.08
"""Rate at which a cell is looked at first, and times the rate of what may then hold the peak: by 176.4 kHz 20 kHz reads
up to 7 % low, at 16 times 44.1 kHz 0.4 %."""
HIGHER_BY = 1.3
"""A cell is computed exactly if this times its estimate may be the highest; the highest of 46 real peaks was 1.35 times
its estimate, so that a peak missed is at most 0.3 dB above the one found."""
MORE_BY, MORE_CELLS = 1.12, 7
"""As HIGHER_BY for the cells behind the first of half a second, which have to come closer; and how many of them."""


def response(hz: Array) -> NDArray[np.complex128]:
    """Velocity by the recording curve, 1 at 1 kHz; not limited to 20 kHz."""
    relative: NDArray[np.complex128] = _curve(hz) / abs(_curve(np.array([REFERENCE_HZ])))
    return relative


def _curve(hz: Array) -> NDArray[np.complex128]:
    s = 2j * np.pi * hz
    curve: NDArray[np.complex128] = (1 + BASS_S * s) * (1 + TREBLE_S * s) / (1 + MIDDLE_S * s)
    return curve


def _audible(hz: Array) -> Array:
    fall = np.clip((hz - TOP_HZ) / (STOP_HZ - TOP_HZ), 0, 1)
    return np.cos(np.pi / 2 * fall) ** 2


def thinning(rate_hz: int) -> int:
    """How many samples are averaged into one for the estimate: 44.1 to 88 kHz are left."""
    return max(1, rate_hz // 44_100)


def estimate_weights(rate_hz: int) -> NDArray[np.float32]:
    """(10,) decay of the low-pass over 1, 2, 4, 8 samples; gains of its output and of the signal; of the differences of
    neighbours and of those beside them, for velocity and then for acceleration."""
    step_s, count = thinning(rate_hz) / rate_hz, thinning(rate_hz)
    hz = np.linspace(200, TOP_HZ, 200)
    turn = 2 * np.pi * hz * step_s
    average = np.sin(turn / 2) / np.sin(turn / 2 / count)  # of the samples averaged, which are not divided by number
    differences = np.stack([2 * np.sin(turn / 2), 2 * np.sin(3 * turn / 2)], axis=1)
    slope = 2 * np.pi * hz[:, None]
    first = np.linalg.lstsq(differences * average[:, None] / slope, np.ones(len(hz)), rcond=None)[0]
    second = np.linalg.lstsq(differences / slope, np.ones(len(hz)), rcond=None)[0]
    unit = float(abs(_curve(np.array([REFERENCE_HZ]))[0]))
    rise = BASS_S * TREBLE_S / MIDDLE_S
    own = (BASS_S + TREBLE_S - rise) / MIDDLE_S
    decay = float(np.exp(-step_s / MIDDLE_S))
    gains = ((own - 1) * (1 - decay), own) / np.array(2 * count * unit)  # halves: the mean of two places
    return np.array([*decay ** np.array([1, 2, 4, 8]), *gains, *(first * rise / unit), *second], np.float32)


@dataclass(frozen=True, slots=True)
class Peak:
    """The highest value of a velocity or acceleration so far, and where."""

    height: float = 0.0
    """Relative to a sine of 1 kHz and amplitude 1; acceleration: that a second."""
    frame: float = 0.0
    """Place in the file."""


class MotionPeaks:
    """Highest velocity and acceleration of one direction, from whole seconds of sound."""

    def __init__(self, rate_hz: int) -> None:
        self.rate_hz = rate_hz
        unit = thinning(rate_hz) * HISTORY
        self.cell = max(1, round(rate_hz / CELLS_A_SECOND / unit)) * unit
        self.margin = self.cell
        """Heard before and behind a cell, 5 ms, the outer half behind a fade: the inner one is eight times 318 us."""
        self._coarse = -(-COARSE_HZ // rate_hz)
        self.stretch = CELLS * self.cell
        self._weights = estimate_weights(rate_hz)
        self._size = 1 << (self.cell + 2 * self.margin - 1).bit_length()
        hz: Array = np.fft.rfftfreq(self._size, 1 / rate_hz).astype(np.float64)
        kept = hz < STOP_HZ
        velocity = response(hz[kept]) * _audible(hz[kept])
        self._responses = np.stack([velocity, velocity * 2j * np.pi * hz[kept]])
        fade = np.hanning(self.margin + 1)[: self.margin // 2 + 1]
        self._fade = np.ones(self.cell + 2 * self.margin)
        self._fade[: len(fade)], self._fade[-len(fade) :] = fade, fade[::-1]
        self.peaks = [Peak(), Peak()]

    def add(self, first: Array, second: Array, sign: float, begin: int) -> None:
        """Look at a stretch of *first* + *sign* x *second*, which a margin leads and follows.

        Parameters
        ----------
        first, second : (margin + stretch + margin,) samples
        begin : number of the first frame of the stretch; frames before the file count from below 0
        """
        estimates = np.empty((CELLS + 2, 2))
        estimate(first, second, sign, thinning(self.rate_hz), self._weights, estimates)
        for kind in (VELOCITY, ACCELERATION):
            inner = estimates[1:-1, kind]
            if inner.max() * HIGHER_BY > self.peaks[kind].height:
                order = np.argsort(-inner, kind="stable")[: 1 + MORE_CELLS]
                for some, by in ((order[:1], HIGHER_BY), (order[1:], MORE_BY)):
                    chosen = some[inner[some] * by > self.peaks[kind].height]
                    if len(chosen):
                        self._look(first, second, sign, begin, chosen, kind)

    def _look(self, first: Array, second: Array, sign: float, begin: int, cells: NDArray[np.int64], kind: int) -> None:
        """Compute these cells exactly: at four times the rate, and what may be the highest once more, closer."""
        span = self.cell + 2 * self.margin
        rows = np.stack([first[at : at + span] + sign * second[at : at + span] for at in cells * self.cell])
        kept = self._responses.shape[1]
        spectra = np.fft.rfft(rows * self._fade, self._size)[:, :kept] * self._responses[kind]
        highest = self._motion(spectra, self._coarse).max(axis=1)
        near = np.flatnonzero(highest * CLOSE > max(self.peaks[kind].height, highest.max()))
        for row, motion in zip(near.tolist(), self._motion(spectra[near], FINE), strict=True):
            place = int(motion.argmax())
            if motion[place] > self.peaks[kind].height:
                frame = begin + int(cells[row]) * self.cell - HISTORY + place / FINE
                self.peaks[kind] = Peak(float(motion[place]), frame)

    def _motion(self, spectra: NDArray[np.complex128], times: int) -> Array:
        """Absolute values in the cells and a little around them, at so many times the rate."""
        motion = np.fft.irfft(spectra, times * self._size)
        ends = times * (self.margin - HISTORY), times * (self.margin + self.cell + HISTORY)
        return np.abs(motion[:, slice(*ends)]) * times
