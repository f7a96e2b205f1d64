"""Extremes found by the order of bits, against numpy's."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.dsp.peaks.extremes import extremes_of, largest, largest_single, lowest_and_highest


@pytest.mark.parametrize("frames", [1, 2, 7, 8, 63, 1_000])
@pytest.mark.parametrize("sign", [1.0, -1.0, 0.0])
def test_extremes_are_those_of_numpy(frames: int, sign: float) -> None:
    """Of both signs, of one, and of zeros."""
    x = np.random.default_rng(frames).standard_normal(frames)
    x = np.abs(x) * sign if frames % 2 else x
    assert largest(x) == np.abs(x).max()
    assert largest_single(x.astype(np.float32)) == np.abs(x).astype(np.float32).max()
    assert lowest_and_highest(x) == (x.min(), x.max())


def test_smallest_numbers_and_infinities_keep_their_order() -> None:
    x = np.array([5e-324, -5e-324, 0.0, -0.0])
    assert largest(x) == 5e-324
    assert lowest_and_highest(x) == (-5e-324, 5e-324)
    assert lowest_and_highest(np.array([-np.inf, 1.0, np.inf])) == (-np.inf, np.inf)
    assert largest(x[:0]) == largest_single(np.zeros(0, np.float32)) == 0


@pytest.mark.parametrize("frames", [1, 511, 512, 513, 1_537])
def test_extremes_of_each_span_are_those_of_numpy(frames: int) -> None:
    """Of 512 frames, and of fewer at the end."""
    x = np.random.default_rng(frames).standard_normal((2, frames))
    starts = np.arange(0, frames, 512)
    found = extremes_of(x)
    assert np.array_equal(found.lows, np.minimum.reduceat(x, starts, axis=1))
    assert np.array_equal(found.highs, np.maximum.reduceat(x, starts, axis=1))
    assert np.array_equal(found.peaks(), np.abs(x).max(axis=1))
