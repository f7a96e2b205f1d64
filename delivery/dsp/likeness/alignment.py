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
"""A window with a correlation below this is ignored: another take of the song, or silence."""
NEAR_FRAMES = 3.0
"""Delays this close to the line through all of them belong to it."""
LEAST_SHARE = 0.5
"""Of the windows with sound that must lie on one line; two recordings have delays anywhere."""
LEAST_WINDOWS = 2
QUIET = 1e-7
"""Mean square under which a window is silent (-70 dBFS)."""
NEXT_STEP = 1e-5
"""Of a frame: the fraction of a delay is sought until it moves by less."""
DRIFT_FRAMES = 0.1
"""A drift that moves the ends apart by less than this counts as none."""


@dataclass(frozen=True, slots=True)
class Lag:
    """Result for one pair of windows."""

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
        """Delay of the second file at *frame* of the first, in frames."""
        return self.offset_frames + self.drift * frame


def lag_of(one: Array, other: Array, margin: int) -> Lag | None:
    """Delay of *one* within *other*; None where either is silent.

    Parameters
    ----------
    one : (frames, channels)
    other : (frames + 2 * margin, channels); a delay of 0 means that *one* is found at frame *margin*
    """
    frames = len(one)
    mine, theirs = (np.ascontiguousarray(np.asarray(x, np.float64).T) for x in (one, other))
    if min(float(np.mean(mine**2)), float(np.mean(theirs**2))) < QUIET:
        return None
    a, b = np.diff(mine), np.diff(theirs)  # bass would make every peak a broad one
    size = 1 << (b.shape[1] - 1).bit_length()  # lags that wrap around are not looked at
    spectra = np.conj(np.fft.rfft(a, size)) * np.fft.rfft(b, size)
    products = np.fft.irfft(spectra, size)[:, : 2 * margin + 1]
    squares = np.concatenate([np.zeros((len(b), 1)), np.cumsum(b**2, axis=1)], axis=1)
    energies = squares[:, frames - 1 : frames + 2 * margin] - squares[:, : 2 * margin + 1]
    own = (a**2).sum(axis=1)
    whole = np.sqrt(np.maximum(own.sum() * energies.sum(axis=0), 1e-30))
    signs = np.sign(products[np.arange(len(products)), np.abs(products).argmax(axis=1)])
    likeness = np.abs((products * signs[:, None]).sum(axis=0)) / whole
    best = int(likeness.argmax())
    found = theirs[:, best : best + frames]
    fraction = _fraction(mine, found)
    channels = np.sign((a * np.diff(found)).sum(axis=1))
    audible = (own > QUIET * frames * 1e-3) & (energies[:, best] > QUIET * frames * 1e-3)
    sign = 1.0 if channels[int(own.argmax())] >= 0 else -1.0
    return Lag(
        best - margin + fraction,
        float(likeness[best]) * sign,
        tuple(int(each) if there else 0 for each, there in zip(channels, audible, strict=True)),
    )


def _fraction(one: Array, found: Array) -> float:
    """The part of the delay below a frame, from the slope of the cross-spectrum's phase; -0.75 to 0.75.

    Each line counts by its magnitude and by its frequency: the phase of a delay grows with frequency.

    Parameters
    ----------
    one, found : (channels, frames)
    """
    frames = one.shape[1]
    window = np.hanning(frames + 2)[1:-1]
    a, b = (np.fft.rfft(np.diff(x, prepend=0) * window) for x in (one, found))
    product = np.conj(a) * b
    product *= np.sign(product.real.sum(axis=1))[:, None]
    cross = product.sum(axis=0)
    turns = 2 * np.pi * np.arange(len(cross)) / frames
    weights = np.abs(cross) * turns
    scale = max(float((weights * turns).sum()), 1e-300)
    fraction = 0.0
    for _ in range(4):
        phase = np.angle(cross * np.exp(1j * turns * fraction) if fraction else cross)
        step = -float((weights * phase).sum()) / scale
        fraction += step
        if abs(step) < NEXT_STEP:
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
