"""Filtering frames side by side, against numpy's convolution. Single precision: seven digits of 64 products."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.dsp.likeness._loops import thinned
from delivery.dsp.likeness.layout import TAPS


@pytest.mark.parametrize("every", [1, 2, 4])
def test_thinning_is_a_convolution_of_which_every_nth_frame_is_kept(every: int) -> None:
    chance = np.random.default_rng(every)
    sound, taps = chance.standard_normal(1500), chance.standard_normal(TAPS)
    out = np.empty(300)
    thinned(sound, 5, taps.astype(np.float32), every, out)
    wanted = np.convolve(sound, taps[::-1], "valid")[5::every][:300]
    assert np.allclose(out, wanted, atol=2e-5)
