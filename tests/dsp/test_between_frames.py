"""Filtering frames side by side, against numpy's convolution."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.dsp.likeness._loops import thinned
from delivery.dsp.likeness.layout import TAPS


@pytest.mark.parametrize("every", [1, 2, 4])
def test_thinning_is_a_convolution_of_which_every_nth_frame_is_kept(every: int) -> None:
    chance = np.random.default_rng(every)
    sound, taps = chance.standard_normal((2, 1500)), chance.standard_normal(TAPS)
    out = np.empty((2, 300))
    thinned(sound, 5, taps, every, out)
    for channel, found in zip(sound, out, strict=True):
        wanted = np.convolve(channel, taps[::-1], "valid")[5::every][:300]
        assert np.allclose(found, wanted, atol=1e-12)
