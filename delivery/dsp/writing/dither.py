"""From 64-bit floats to integers of 8 to 32 bits: dither, then rounding to the nearest step.

Theory: Lipshitz, Wannamaker, Vanderkooy, "Quantization and Dither: A Theoretical Survey", JAES 40 (1992). With
triangular noise of two steps peak to peak the error has no mean and a power of a quarter step squared, for any audio;
rectangular noise loses the second property, no noise loses both.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.writing._loops import round_flat, round_shaped
from delivery.dsp.writing.noise import ChannelDraws
from delivery.errors import Unusable

Array = NDArray[np.float64]
Integers = NDArray[np.int32]
"""Left-justified: 16 bits occupy the upper half of an int32."""

_FLAT = {"none": (0.0, 0.0), "rpdf": (1.0, 0.0), "tpdf": (1.0, 1.0)}
"""Weights of two independent uniform random numbers, each one step wide."""

_E = "Lipshitz, Vanderkooy, Wannamaker, 'Minimally Audible Noise Shaping', JAES 39 (1991)"
_F = "Wannamaker, 'Psychoacoustically Optimal Noise Shaping', JAES 40 (1992)"


@dataclass(frozen=True, slots=True)
class Curve:
    """A published error-feedback filter for triangular dither, NTF(z) = 1 - sum c_k z^-k."""

    name: str
    taps: tuple[float, ...]
    """c_1, c_2 ..."""
    rates_hz: tuple[int, ...]
    """All are designed for 44.1 kHz; 48 kHz moves the curve up by 9 %, which the long ones are known to tolerate."""
    source: str
    settles_frames: int
    """Two streams of equal audio and dither with different past errors reach the same output, and keep it, within this
    many frames: the filter forgets, and occasionally both round alike until it has. At least twice the longest
    observed; longest for the curve whose filter forgets slowest."""


CURVES = (
    Curve("modified-e-2", (1.537, -0.8367), (44_100, 48_000), _E, 2**14),
    Curve("modified-e-3", (1.652, -1.049, 0.1382), (44_100, 48_000), _E, 2**14),
    Curve(
        "modified-e-9",
        (1.662, -1.263, 0.4827, -0.2913, 0.1268, -0.1124, 0.03252, -0.01265, -0.03524),
        (44_100, 48_000),
        _E,
        2**14,
    ),
    Curve("improved-e-5", (2.033, -2.165, 1.959, -1.590, 0.6149), (44_100,), _E, 2**17),
    Curve(
        "improved-e-9",
        (2.847, -4.685, 6.214, -7.184, 6.639, -5.032, 3.263, -1.632, 0.4191),
        (44_100, 48_000),
        _E,
        2**21,
    ),
    Curve("f-weighted-3", (1.623, -0.982, 0.109), (44_100, 48_000), _F, 2**14),
    Curve(
        "f-weighted-9",
        (2.412, -3.370, 3.937, -4.174, 3.353, -2.205, 1.281, -0.569, 0.0847),
        (44_100, 48_000),
        _F,
        2**18,
    ),
)

_BY_NAME = {curve.name: curve for curve in CURVES}


def dithers() -> tuple[str, ...]:
    """Every name a spec may use: the flat ones, then the shaped ones."""
    return (*_FLAT, *_BY_NAME)


def dither_refusal(dither: str, rate_hz: int) -> str:
    """Why *dither* is not available at *rate_hz*, as 'wanted ...' text; empty if it is."""
    if dither in _FLAT:
        return ""
    if dither not in _BY_NAME:
        return "one of " + ", ".join(dithers())
    rates_hz = _BY_NAME[dither].rates_hz
    return "" if rate_hz in rates_hz else f"{' or '.join(map(str, rates_hz))} Hz, for which the curve is made"


def settling_frames(dither: str) -> int:
    """How much of the audio before a position affects the output from there on; 0 without feedback."""
    return _BY_NAME[dither].settles_frames if dither in _BY_NAME else 0


class Requantiser:
    """Rounds a stream to integers of *bits*; the result does not depend on block boundaries.

    Parameters
    ----------
    bits : bit depth of the result, 8 to 32
    dither : a name from ``dithers()``
    seed : any text; the hash of the source's audio, so that the same source gives the same bytes
    start : position in the stream of the first frame
    alike : all channels get the dither of the first, so that equal channels stay equal

    Raises
    ------
    Unusable : unknown dither, or a shaped one at an unsupported rate
    ValueError : bit depth out of range
    """

    def __init__(
        self, bits: int, dither: str, rate_hz: int, channels: int, seed: str, start: int = 0, *, alike: bool = False
    ) -> None:
        if not 8 <= bits <= 32:
            raise ValueError(f"integers of {bits} bits: 8 to 32 are supported")
        if wanted := dither_refusal(dither, rate_hz):
            raise Unusable(
                "dither", f"'{dither}' at {rate_hz} Hz", wanted, "'tpdf' is available at every rate and bit depth"
            )
        taps = _BY_NAME[dither].taps if dither in _BY_NAME else ()
        self._bits = bits
        self._weights = _FLAT.get(dither, _FLAT["tpdf"])
        self._taps = np.array(taps, dtype=np.float64)
        self._errors = np.zeros((channels, len(taps)))
        self._draws = [ChannelDraws(seed, 0 if alike else channel, start) for channel in range(channels)]

    def pass_over(self, frames: int) -> Integers:
        """Skip this many frames of zeros in place of dithered silence; the noise after them is unaffected."""
        self._errors[:] = 0.0
        for draws in self._draws:
            draws.pass_over(frames)
        return np.zeros((frames, len(self._errors)), dtype=np.int32)

    def update(self, block: Array) -> Integers:
        """Round the next (frames, channels) float64, full scale 1.0 -> int32, left-justified.

        Values beyond full scale are clipped. The caller checks the *signal* for overs before the dither is added:
        dither that raises a full-scale sample by a step or two is not an over.
        """
        out = np.empty(block.shape, dtype=np.int32)
        for channel, draws in enumerate(self._draws):
            x, noise, integers = block[:, channel], draws.take(len(block)), out[:, channel]
            if len(self._taps):
                round_shaped(x, noise, *self._weights, self._taps, self._errors[channel], self._bits, integers)
            else:
                round_flat(x, noise, *self._weights, self._bits, integers)
        return out
