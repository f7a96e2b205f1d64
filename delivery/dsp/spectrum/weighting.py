"""Frequency weightings for noise, in closed form, and the weighted level of a short segment."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Weighting = Callable[[Array], Array]

_A_POLES_HZ = (20.598997, 107.65265, 737.86223, 12194.217)
_A_AT_1_KHZ = 10 ** (1.9997 / 20)
_ITU_GAIN = 10 ** (18.246 / 20) * 1.246332637532143e-4
_ITU_EVEN = (1.0, -1.363894795463638e-7, 2.043828333606125e-15, -4.737338981378384e-24)
_ITU_ODD = (5.559488023498642e-4, -2.118150887518656e-11, 1.306612257412824e-19)


def a_weighting(frequencies_hz: Array) -> Array:
    """Amplitude factor, 1 at 1 kHz: IEC 61672-1:2013, Annex E, equation (E.6); constants from memory."""
    low, second, third, high = (hz * hz for hz in _A_POLES_HZ)
    square = np.asarray(frequencies_hz, np.float64) ** 2
    flat = (square + low) * np.sqrt((square + second) * (square + third)) * (square + high)
    return np.asarray(_A_AT_1_KHZ * high * square**2 / flat)


def itu_468_weighting(frequencies_hz: Array) -> Array:
    """Amplitude factor, 1 at 1 kHz: the network of ITU-R BS.468-4, Figure 1a, as a rational function.

    The constants follow from its elements; from memory, checked against the recommendation's table by a test.
    """
    f = np.asarray(frequencies_hz, np.float64)
    square = f * f
    real = _polynomial(square, _ITU_EVEN)
    imaginary = f * _polynomial(square, _ITU_ODD)
    return np.asarray(_ITU_GAIN * f / np.hypot(real, imaginary))


def _polynomial(x: Array, coefficients: Sequence[float]) -> Array:
    """By Horner's rule, the constant first. (NumPy's module of polynomials takes long to load.)"""
    value = np.full_like(x, coefficients[-1])
    for coefficient in coefficients[-2::-1]:
        value = coefficient + value * x
    return value


def weighted_powers(planar: Array, rate_hz: int, *weightings: Weighting) -> tuple[float, ...]:
    """Mean square of (channels, frames) under a Hann window after each weighting, mean of the channels."""
    frames = planar.shape[1]
    window = np.hanning(frames + 2)[1:-1]
    powers = np.mean(np.abs(np.fft.rfft(planar * window, axis=1)) ** 2, axis=0) / (frames * np.sum(window**2))
    powers[1 : (frames + 1) // 2] *= 2  # of both signs of the frequency
    frequencies_hz = np.asarray(np.fft.rfftfreq(frames, 1 / rate_hz), np.float64)
    return tuple(float(np.sum(powers * weighting(frequencies_hz) ** 2)) for weighting in weightings)
