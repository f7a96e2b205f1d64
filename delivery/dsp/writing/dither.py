"""From 64-bit floats to words of 8 to 32 bits: noise first, then rounding to the nearest step.

Theory: Lipshitz, Wannamaker, Vanderkooy, "Quantization and Dither: A Theoretical Survey", JAES 40 (1992).
With triangular noise of two steps peak to peak the error has no mean and a power of a quarter step squared, whatever
the music does; rectangular noise loses the second property, no noise loses both.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.writing._loops import round_flat, round_shaped
from delivery.dsp.writing.noise import ChannelDraws
from delivery.errors import Unusable

Array = NDArray[np.float64]
Words = NDArray[np.int32]
"""Left-justified: a word of 16 bits stands in the upper half of its int32."""

_FLAT = {"none": (0.0, 0.0), "rpdf": (1.0, 0.0), "tpdf": (1.0, 1.0)}
"""Weights of two independent rectangular numbers, each one step wide."""

_E = "Lipshitz, Vanderkooy, Wannamaker, 'Minimally Audible Noise Shaping', JAES 39 (1991)"
_F = "Wannamaker, 'Psychoacoustically Optimal Noise Shaping', JAES 40 (1992)"


@dataclass(frozen=True, slots=True)
class Curve:
    """A published error-feedback filter for triangular dither, NTF(z) = 1 - sum c_k z^-k."""

    name: str
    taps: tuple[float, ...]
    """c_1, c_2 ..."""
    rates_hz: tuple[int, ...]
    """All are designed for 44.1 kHz; 48 kHz moves the curve up by 9 %, which the long ones are known to bear."""
    source: str
    settles_frames: int
    """Two streams of equal sound and noise whose past errors differ come to the same words, and stay there, within so
    many frames: the filter forgets, and once in a while both round alike until it has. Twice the longest that was seen
    or more; longest for the curve whose filter forgets slowest."""


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
    """Every name a spec may ask for: the flat ones, then the shaped ones."""
    return (*_FLAT, *_BY_NAME)


def dither_refusal(dither: str, rate_hz: int) -> str:
    """Why *dither* cannot be had at *rate_hz*, as 'wanted ...' text; empty when it can."""
    if dither in _FLAT:
        return ""
    if dither not in _BY_NAME:
        return "one of " + ", ".join(dithers())
    rates_hz = _BY_NAME[dither].rates_hz
    return "" if rate_hz in rates_hz else f"{' or '.join(map(str, rates_hz))} Hz, for which the curve is made"


def settling_frames(dither: str) -> int:
    """How much of the sound before a place decides the words from there on; 0 where nothing is fed back."""
    return _BY_NAME[dither].settles_frames if dither in _BY_NAME else 0


class Requantiser:
    """Rounds a stream to words of *bits*; block after block, one answer however the stream was cut.

    Parameters
    ----------
    bits : word length of the result, 8 to 32
    dither : a name out of ``dithers()``
    seed : any text; the hash of the source's audio, so that the same source gives the same bytes
    start : place in the stream of the first frame that will come
    alike : all channels get the noise of the first, so that channels that are equal stay so

    Raises
    ------
    Unusable : no such dither, or a shaped one at a rate it is not made for
    ValueError : word length out of range
    """

    def __init__(
        self, bits: int, dither: str, rate_hz: int, channels: int, seed: str, start: int = 0, *, alike: bool = False
    ) -> None:
        if not 8 <= bits <= 32:
            raise ValueError(f"words of {bits} bits: 8 to 32 can be made")
        if wanted := dither_refusal(dither, rate_hz):
            raise Unusable(
                "dither", f"'{dither}' at {rate_hz} Hz", wanted, "'tpdf' serves every rate and every word length"
            )
        taps = _BY_NAME[dither].taps if dither in _BY_NAME else ()
        self._bits = bits
        self._weights = _FLAT.get(dither, _FLAT["tpdf"])
        self._taps = np.array(taps, dtype=np.float64)
        self._errors = np.zeros((channels, len(taps)))
        self._draws = [ChannelDraws(seed, 0 if alike else channel, start) for channel in range(channels)]

    def pass_over(self, frames: int) -> Words:
        """So many frames of zeros in the place of dithered silence; the noise after them is what it would have been."""
        self._errors[:] = 0.0
        for draws in self._draws:
            draws.pass_over(frames)
        return np.zeros((frames, len(self._errors)), dtype=np.int32)

    def update(self, block: Array) -> Words:
        """The next (frames, channels) float64, full scale 1.0 -> int32, left-justified.

        Values beyond the rails stop there. Whether the *signal* was beyond them is the caller's question, to be
        asked before the noise is added: noise lifting a full-scale sample by a step or two is no over.
        """
        out = np.empty(block.shape, dtype=np.int32)
        for channel, draws in enumerate(self._draws):
            x, noise, words = block[:, channel], draws.take(len(block)), out[:, channel]
            if len(self._taps):
                round_shaped(x, noise, *self._weights, self._taps, self._errors[channel], self._bits, words)
            else:
                round_flat(x, noise, *self._weights, self._bits, words)
        return out
