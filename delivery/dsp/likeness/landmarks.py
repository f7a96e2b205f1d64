"""Landmarks of a recording: a few hundred numbers by which its copies are found among a million songs.

A landmark is three peaks of the spectrogram of a low-rate copy: the frequency of the first, and how far the two others
are from it in frequency and time. Gain, offset, coding and sample rate leave most of them where they are. Of all
landmarks a song keeps those whose mixed numbers are lowest ("bottom k": Broder 1997, *On the resemblance and
containment of documents*): copies keep the same ones, whatever their length. Peaks in threes: our own choice after
pairs of peaks, which are common practice in such indexes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Keys = NDArray[np.uint64]
Frames = NDArray[np.int32]

RATE_HZ = 6000
WINDOW, HOP = 1024, 256
FRAME_S = HOP / RATE_HZ
LOWEST, HIGHEST = 51, 478
"""Bins of 5.86 Hz: 300 Hz to 2.8 kHz, which every coder keeps."""
TIME_REACH, BIN_REACH = 8, 12
"""A peak is the highest within this many frames and bins on either side."""
WEAKEST_DB = 40.0
"""Below the highest of the frames around, a peak is left out: coders change it."""
SILENT = 1e-7
"""Power of a bin, full scale 1.0 and window included, under which there is no music."""
LONGEST = 63
"""Frames between the first peak and the others."""
FURTHEST = 127
"""Bins between them."""
NEAREST = 4
"""Peaks after the first of which two are taken, in every combination."""
KEPT = 512
OF_ONE_KEY = 4
"""A steady tone gives one key again and again."""
CHUNK = 512
"""Frames looked at together; a constant, so that no block size changes a landmark."""
TOGETHER = 64
"""Windows transformed at a time: their spectra stay in the cache."""
_MARGIN = TIME_REACH
_MIX = np.uint64(0x9E3779B97F4A7C15)


@dataclass(frozen=True, slots=True)
class Found:
    """The landmarks of one recording: (n,) keys, and the frames of FRAME_S at which they begin."""

    keys: Keys
    frames: Frames


class Landmarks:
    """Fed with sound in blocks of any length; the result is the same for all of them.

    Parameters
    ----------
    rate_hz, channels : of the blocks
    """

    def __init__(self, rate_hz: int, channels: int) -> None:
        import soxr

        self._resample = soxr.ResampleStream(rate_hz, RATE_HZ, channels, dtype="float32", quality="LQ")
        self._sound = np.zeros((0, channels), dtype=np.float32)
        self._spectra = np.zeros((0, HIGHEST - LOWEST), dtype=np.float32)
        self._begins = 0
        """Frame at which ``_spectra`` begins."""
        self._peaks: list[NDArray[np.int32]] = []
        self._tail = np.zeros((0, 2), dtype=np.int32)
        self._keys = np.zeros(0, dtype=np.uint64)
        self._frames = np.zeros(0, dtype=np.int32)

    def update(self, block: Array) -> None:
        """Take the next (frames, channels) of sound."""
        self._take(self._resample.resample_chunk(np.ascontiguousarray(block, dtype=np.float32)))

    def result(self) -> Found:
        """The landmarks of all sound so far; ends the stream."""
        channels = self._sound.shape[1]
        self._take(self._resample.resample_chunk(np.zeros((0, channels), dtype=np.float32), last=True))
        self._look(last=True)
        self._combine(last=True)
        return Found(self._keys, self._frames)

    def _take(self, sound: NDArray[np.float32]) -> None:
        if not len(sound):
            return
        self._sound = np.concatenate([self._sound, sound.reshape(len(sound), -1)])
        count = max(0, (len(self._sound) - WINDOW) // HOP + 1)
        if count < CHUNK:
            return
        self._transform()
        self._look(last=False)
        self._combine(last=False)

    def _transform(self) -> None:
        """Move whole windows of sound into ``_spectra``; channels are added as powers, so that none cancel."""
        count = max(0, (len(self._sound) - WINDOW) // HOP + 1)
        if not count:
            return
        powers = np.zeros((count, HIGHEST - LOWEST), dtype=np.float32)
        for channel in self._sound.T:
            windows = np.lib.stride_tricks.sliding_window_view(channel, WINDOW)[::HOP][:count]
            for at in range(0, count, TOGETHER):
                spectrum = np.fft.rfft(windows[at : at + TOGETHER] * _HANN, axis=1)[:, LOWEST:HIGHEST]
                powers[at : at + TOGETHER] += spectrum.real**2 + spectrum.imag**2
        self._spectra = np.concatenate([self._spectra, powers])
        self._sound = self._sound[count * HOP :]

    def _look(self, *, last: bool) -> None:
        """Find the peaks of all frames whose neighbours are there, chunk by chunk."""
        if last:
            self._transform()
        while (ready := len(self._spectra)) >= CHUNK + 2 * _MARGIN or (last and ready):
            whole = self._spectra[: CHUNK + 2 * _MARGIN]
            at_start, at_end = self._begins == 0, last and ready <= CHUNK + 2 * _MARGIN
            first = 0 if at_start else _MARGIN
            end = len(whole) if at_end else len(whole) - _MARGIN
            found = peaks_of(whole)
            found = found[(found[:, 0] >= first) & (found[:, 0] < end)]
            found[:, 0] += self._begins
            self._peaks.append(found)
            passed = len(whole) if at_end else end - _MARGIN
            self._spectra, self._begins = self._spectra[passed:], self._begins + passed

    def _combine(self, *, last: bool) -> None:
        """Make landmarks of the peaks whose followers are all there; keep the lowest."""
        peaks = np.concatenate([self._tail, *self._peaks])
        self._peaks = []
        if not len(peaks):
            return
        settled = len(peaks) if last else int(np.searchsorted(peaks[:, 0], peaks[-1, 0] - LONGEST))
        keys, frames = threes(peaks, settled)
        self._tail = peaks[settled:]
        self._keys, self._frames = lowest(np.concatenate([self._keys, keys]), np.concatenate([self._frames, frames]))


_HANN = np.hanning(WINDOW + 1)[:-1].astype(np.float32) * np.float32(2 / WINDOW)


def peaks_of(powers: NDArray[np.float32]) -> NDArray[np.int32]:
    """(n, 2) frame and bin of each peak of (frames, bins) powers, by frame, then bin."""
    around = _highest(_highest(powers, TIME_REACH, 0), BIN_REACH, 1)
    loudest = _highest(powers.max(axis=1, keepdims=True), TIME_REACH, 0)
    is_peak = (powers == around) & (powers > loudest * np.float32(10 ** (-WEAKEST_DB / 10))) & (powers > SILENT**2)
    return np.argwhere(is_peak).astype(np.int32)


def _highest(values: NDArray[np.float32], reach: int, axis: int) -> NDArray[np.float32]:
    """The maximum within *reach* on either side along *axis*, in a few passes of doubled width."""
    width = [(0, 0), (0, 0)]
    width[axis] = (reach, reach)
    best = np.moveaxis(np.pad(values, width, constant_values=-1), axis, 0)
    have, wanted = 1, 2 * reach + 1
    while have < wanted:
        step = min(have, wanted - have)
        best = np.maximum(best[:-step], best[step:])
        have += step
    return np.moveaxis(best, 0, axis)


def threes(peaks: NDArray[np.int32], settled: int) -> tuple[Keys, Frames]:
    """Keys and frames of the landmarks that begin with the first *settled* peaks.

    The followers of a peak are the NEAREST ones after it in time that are near it in frequency.
    """
    followers = np.full((settled, NEAREST), -1, dtype=np.int64)
    filled = np.zeros(settled, dtype=np.int64)
    at = np.arange(settled)
    for step in range(1, 8 * NEAREST):
        after = at + step
        inside = after < len(peaks)
        gap = np.where(inside, peaks[np.minimum(after, len(peaks) - 1)].T - peaks[:settled].T, 0)
        near = inside & (gap[0] >= 1) & (gap[0] <= LONGEST) & (np.abs(gap[1]) <= FURTHEST) & (filled < NEAREST)
        followers[at[near], filled[near]] = after[near]
        filled += near
    keys: list[Keys] = []
    frames: list[Frames] = []
    for one in range(NEAREST):
        for other in range(one + 1, NEAREST):
            has = followers[:, other] >= 0
            three = peaks[:settled][has], peaks[followers[has, one]], peaks[followers[has, other]]
            keys.append(_key(*three))
            frames.append(three[0][:, 0])
    return np.concatenate(keys), np.concatenate(frames)


def _key(first: NDArray[np.int32], one: NDArray[np.int32], other: NDArray[np.int32]) -> Keys:
    """Nine bits of frequency, eight and six for each of the others, in one number."""
    key: Any = first[:, 1].astype(np.uint64)
    for peak in (one, other):
        bins = (peak[:, 1] - first[:, 1] + FURTHEST + 1).astype(np.uint64)
        key = (key << np.uint64(14)) | (bins << np.uint64(6)) | (peak[:, 0] - first[:, 0]).astype(np.uint64)
    made: Keys = key
    return made


def lowest(keys: Keys, frames: Frames) -> tuple[Keys, Frames]:
    """The KEPT landmarks whose mixed keys are lowest, at most OF_ONE_KEY of one key; by mixed key, then frame."""
    mixed = keys * _MIX
    order = np.lexsort((frames, mixed))
    keys, frames, mixed = keys[order], frames[order], mixed[order]
    fresh = np.ones(len(keys), dtype=bool)
    fresh[OF_ONE_KEY:] = mixed[OF_ONE_KEY:] != mixed[:-OF_ONE_KEY]
    return keys[fresh][:KEPT], frames[fresh][:KEPT]
