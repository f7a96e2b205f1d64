"""The picture of the waveform, against numpy's extremes."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from delivery.audio.facts import SoundFacts
from delivery.meters.waveform import Waveform

FRAMES = 20_000
"""At most 800 slices of 16 * 2**n frames: 625 of 32."""


@pytest.mark.parametrize("block", [1_000, 4_096, FRAMES])
def test_slices_are_the_extremes_of_their_frames(block: int) -> None:
    """Whatever the blocks, and where slices double in the middle of one."""
    x = np.random.default_rng(1).standard_normal((FRAMES, 2))
    x[:64] = -0.0
    meter = Waveform(SoundFacts(Path("x.wav"), "wav", "RIFF", "pcm", 44_100, 2, FRAMES, 24, 6 * FRAMES))
    for at in range(0, FRAMES, block):
        meter.update(x[at : at + block])
    low, high = meter.result()
    assert low.value == tuple(x.reshape(-1, 2 * 32).min(axis=1).tolist())
    assert high.value == tuple(x.reshape(-1, 2 * 32).max(axis=1).tolist())
    assert repr(high.value)[:10] == "(0.0, 0.0,"
