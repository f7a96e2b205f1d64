"""Zeros of a coder's transform at every position of its frames, against the transform by its definition."""

from __future__ import annotations

import numpy as np

from delivery.dsp.history.codec_traces import BINS, MOST_IN_A_FRAME, frame_zeros
from delivery.dsp.history.layout import FRAME, GROUP, NEARLY, SOUNDS


def test_zeros_are_those_of_the_modified_cosine_transform() -> None:
    """ISO/IEC 14496-3, 4.6.18: frames of 2 * FRAME samples under a sine window; a coefficient is its real part."""
    sound = np.random.default_rng(1).standard_normal(3 * FRAME)
    found = frame_zeros(sound[None], 1)[0, 0]
    lines = np.concatenate([first + np.arange(GROUP) for first in BINS])
    n = np.arange(2 * FRAME)
    waves = np.exp(-1j * np.pi / FRAME * np.multiply.outer(lines + 0.5, n + 0.5 + FRAME / 2))
    frames = np.lib.stride_tricks.sliding_window_view(sound, 2 * FRAME)[:FRAME] * np.sin(np.pi * (n + 0.5) / 2 / FRAME)
    coefficients = frames @ waves.T
    near = (np.abs(coefficients.real) < NEARLY * np.abs(coefficients)).sum(axis=1)
    assert near.sum() > 500
    assert np.count_nonzero(found != np.minimum(near, MOST_IN_A_FRAME)) <= 3  # sums slide in steps, kept in singles


def test_sounds_side_by_side_do_not_touch_each_other() -> None:
    """Each gives what it gives alone, whether it fills a lane of its own group or of the next."""
    sounds = np.random.default_rng(2).standard_normal((SOUNDS + 3, 4 * FRAME))
    together = frame_zeros(sounds, 2)
    assert together.shape == (SOUNDS + 3, 3, FRAME)
    for number in (0, 1, SOUNDS - 1, SOUNDS, SOUNDS + 2):
        assert np.array_equal(together[number], frame_zeros(sounds[number : number + 1], 2)[0])
    assert frame_zeros(sounds[:0], 2).shape == (0, 3, FRAME)
