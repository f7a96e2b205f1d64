"""Three-byte samples and left-justified samples, against Python's own integers."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.dsp.blocks.integers import from_24_bits, left_justified


@pytest.mark.parametrize("channels", [1, 2, 3])
@pytest.mark.parametrize("frames", [1, 2, 7, 64])
def test_three_bytes_are_one_sample(channels: int, frames: int) -> None:
    """Judge: int.from_bytes; the extremes among them."""
    values = np.random.default_rng(frames).integers(-(2**23), 2**23, (frames, channels))
    values[0, 0], values[-1, -1] = -(2**23), 2**23 - 1
    raw = b"".join(int(value).to_bytes(3, "little", signed=True) for value in values.ravel())
    planar = np.empty((channels, frames))
    from_24_bits(np.frombuffer(raw, np.uint8), planar)
    np.testing.assert_array_equal(planar.T * 2**23, values)
    samples_16 = np.empty((frames, channels), np.int32)
    left_justified(planar, samples_16)
    np.testing.assert_array_equal(samples_16, values * 256)
