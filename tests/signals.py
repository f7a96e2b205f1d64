"""Test sounds as (frames, channels) float64, full scale 1.0."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def sine(
    frequency_hz: float, rate_hz: int, seconds: float, *, level_dbfs: float = 0.0, phase_deg: float = 0.0
) -> Array:
    """A (frames, 1) sine whose peak is *level_dbfs* re full scale; multiply by [1, 1] for stereo."""
    t = np.arange(round(seconds * rate_hz)) / rate_hz
    wave = np.sin(2 * np.pi * frequency_hz * t + np.deg2rad(phase_deg))
    return (10 ** (level_dbfs / 20) * wave)[:, None]


def noise(rate_hz: int, seconds: float, *, channels: int = 2, level_dbfs: float = -20.0, seed: int = 1) -> Array:
    """White Gaussian noise of that rms level re full scale 1.0, independent per channel."""
    size = (round(seconds * rate_hz), channels)
    return 10 ** (level_dbfs / 20) * np.random.default_rng(seed).standard_normal(size)


def stretches(x: Array, frames_a_block: int = 65_536) -> Callable[[int, int], Iterator[Array]]:
    """Any stretch of *x* in blocks, as a function of its first frame and the one after its last; silence around it."""

    def between(start: int, stop: int) -> Iterator[Array]:
        silence = np.zeros((max(0, -start), x.shape[1])), np.zeros((max(0, stop - len(x)), x.shape[1]))
        whole = np.concatenate([silence[0], x, silence[1]])[start + len(silence[0]) : stop + len(silence[0])]
        yield from (whole[at : at + frames_a_block] for at in range(0, len(whole), frames_a_block))

    return between
