"""Where one recording lies in another, to a fraction of a sample: delay, clock difference, polarity.

Windows of both are compared by cross-correlation (a coarse place), then by the phase of their cross-spectrum, whose
slope over frequency is the delay: Carter, "Coherence and time delay estimation", Proc. IEEE 75 (1987). Common practice,
no source: the thresholds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LEAST_CORRELATION = 0.3
"""A window below this says nothing: takes of one song with other phases, or silence."""
NEAR_FRAMES = 3.0
"""Delays this close to the line through all of them belong to it."""
LEAST_SHARE = 0.5
"""Of the windows with sound that must lie on one line; two recordings have delays anywhere."""
LEAST_WINDOWS = 2
QUIET = 1e-7
"""Mean square under which a window is silent (-70 dBFS)."""
DRIFT_FRAMES = 0.1
"""A drift that moves the ends apart by less than this is not told from none."""


@dataclass(frozen=True, slots=True)
class Lag:
    """What one pair of windows says."""

    delay_frames: float
    """How much later the second one is."""
    correlation: float
    """-1 to 1; the magnitude is that of the best channel-summed correlation, the sign its polarity."""
    channel_signs: tuple[int, ...]
    """Polarity of each channel: 1, -1, or 0 where that channel is silent."""


@dataclass(frozen=True, slots=True)
class Alignment:
    """A straight line through the delays: ``delay = offset + drift * time``."""

    offset_frames: float
    """Delay of the second recording at frame 0 of the first."""
    drift: float
    """Frames of delay gained for each frame; 10 ppm is 1e-5."""
    correlation: float
    """Median magnitude over the windows on the line."""
    share: float
    """Of the windows with sound, how many lie on the line."""
    channel_signs: tuple[int, ...]
    gain_db: float = 0.0
    """How much louder the second recording is, by least squares over the windows."""

    def delay_at(self, frame: float) -> float:
        return self.offset_frames + self.drift * frame


def lag_of(one: Array, other: Array, margin: int) -> Lag | None:
    """Delay of *one* within *other*; None where either is silent.

    Parameters
    ----------
    one : (frames, channels)
    other : (frames + 2 * margin, channels); a delay of 0 means that *one* is found at frame *margin*
    """
    frames = len(one)
    a, b = (np.diff(np.asarray(x, np.float64), axis=0) for x in (one, other))  # bass would make every peak a broad one
    if min(float(np.mean(one**2)), float(np.mean(other**2))) < QUIET:
        return None
    size = 1 << (len(b) + frames).bit_length()
    spectra = np.conj(np.fft.rfft(a, size, axis=0)) * np.fft.rfft(b, size, axis=0)
    products = np.fft.irfft(spectra, size, axis=0)[: 2 * margin + 1]
    squares = np.concatenate([np.zeros((1, b.shape[1])), np.cumsum(b**2, axis=0)])
    energies = squares[frames - 1 : frames + 2 * margin] - squares[: 2 * margin + 1]
    own = (a**2).sum(axis=0)
    whole = np.sqrt(np.maximum(own.sum() * energies.sum(axis=1), 1e-30))
    signs = np.sign(products[np.abs(products).argmax(axis=0), np.arange(products.shape[1])])
    likeness = np.abs((products * signs).sum(axis=1)) / whole
    best = int(likeness.argmax())
    found = other[best : best + frames]
    fraction = _fraction(one, found)
    channels = np.sign((a * np.diff(found, axis=0)).sum(axis=0))
    audible = (own > QUIET * frames * 1e-3) & (energies[best] > QUIET * frames * 1e-3)
    sign = 1.0 if channels[int(own.argmax())] >= 0 else -1.0
    return Lag(
        best - margin + fraction,
        float(likeness[best]) * sign,
        tuple(int(each) if there else 0 for each, there in zip(channels, audible, strict=True)),
    )


def _fraction(one: Array, found: Array) -> float:
    """The part of the delay below a frame, from the slope of the cross-spectrum's phase; -0.75 to 0.75.

    Each line counts by its magnitude and by its frequency: the phase of a delay grows with frequency.
    """
    window = np.hanning(len(one) + 2)[1:-1, None]
    a, b = (np.fft.rfft(np.diff(x, axis=0, prepend=0) * window, axis=0) for x in (one, found))
    product = np.conj(a) * b
    product = product * np.sign(product.real.sum(axis=0))
    cross = product.sum(axis=1)
    turns = 2 * np.pi * np.arange(len(cross)) / len(one)
    weights = np.abs(cross)
    fraction = 0.0
    for _ in range(4):
        phase = np.angle(cross * np.exp(1j * turns * fraction))
        step = -float((weights * turns * phase).sum() / max((weights * turns**2).sum(), 1e-300))
        fraction += step
        if abs(step) < 1e-6:
            break
    return min(max(fraction, -0.75), 0.75)


def aligned(places: Sequence[float], lags: Sequence[Lag | None]) -> Alignment | None:
    """The line through the delays; None where too few windows agree to be one recording.

    Parameters
    ----------
    places : frame of the first recording in the middle of each window
    lags : one for each place; None: silent
    """
    sounding = [(at, lag) for at, lag in zip(places, lags, strict=True) if lag is not None]
    likely = [(at, lag) for at, lag in sounding if abs(lag.correlation) >= LEAST_CORRELATION]
    if len(likely) < LEAST_WINDOWS:
        return None
    at = np.array([place for place, _ in likely])
    delays = np.array([lag.delay_frames for _, lag in likely])
    drift, offset = _line(at, delays)
    near = np.abs(delays - offset - drift * at) <= NEAR_FRAMES
    share = float(near.sum()) / len(sounding)
    if near.sum() < LEAST_WINDOWS or share < LEAST_SHARE:
        return None
    drift, offset = _fitted(at[near], delays[near], np.array([abs(lag.correlation) for _, lag in likely])[near])
    kept = [lag for (_, lag), on_line in zip(likely, near, strict=True) if on_line]
    signs = np.array([lag.channel_signs for lag in kept]).sum(axis=0)
    return Alignment(
        offset,
        drift,
        float(np.median([abs(lag.correlation) for lag in kept])),
        share,
        tuple(int(np.sign(each)) for each in signs),
    )


def _line(at: Array, delays: Array) -> tuple[float, float]:
    """Slope and intercept by the medians of all pairs (Theil-Sen): up to 29 % of the delays may be anywhere."""
    first, second = np.triu_indices(len(at), 1)
    apart = at[second] - at[first]
    slope = float(np.median((delays[second] - delays[first])[apart > 0] / apart[apart > 0])) if (apart > 0).any() else 0
    return slope, float(np.median(delays - slope * at))


def _fitted(at: Array, delays: Array, weights: Array) -> tuple[float, float]:
    """Least squares through the delays on the line; no slope where the ends would move by less than DRIFT_FRAMES."""
    if len(at) > 2:
        slope, offset = np.polyfit(at, delays, 1, w=weights)
        spread = float(np.std(delays - offset - slope * at))
        if abs(slope) * float(np.ptp(at)) > max(DRIFT_FRAMES, 4 * spread / np.sqrt(len(at))):
            return float(slope), float(offset)
    return 0.0, float(np.average(delays, weights=weights))


def fitted_gain_db(windows: Sequence[tuple[Array, Array]]) -> float:
    """Gain of the second of each pair of aligned windows over the first, by least squares over all; polarity aside."""
    products = sum(np.abs((one * other).sum(axis=0)).sum() for one, other in windows)
    squares = sum(float(np.square(one).sum()) for one, _ in windows)
    return 20 * float(np.log10(max(float(products), 1e-300) / max(squares, 1e-300)))
