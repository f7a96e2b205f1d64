"""Zeros of a coder's transform at every position of its frames, against the transform by its definition."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.dsp.history import converted_traces
from delivery.dsp.history.codec_traces import BINS, EXCERPT, MOST_IN_A_FRAME, Excerpt, add_from, frame_zeros
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


@pytest.mark.parametrize("seed", [6, 8, 10])
def test_delays_are_dropped_as_if_excerpts_came_one_by_one(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Four of sixteen delays are left after two excerpts, one after four, although a round is transformed at once.

    In noise many delays have as many zeros as others: there the order after the excerpts before decides.
    """
    noise = np.random.default_rng(seed).standard_normal((8, EXCERPT))
    excerpts = [Excerpt(70_001 * number, samples) for number, samples in enumerate(noise)]
    chosen = []
    monkeypatch.setattr(converted_traces, "best_fit", lambda *given: chosen.append(np.array(given[1])) or ("", 0.0))
    converted_traces.coder_before_conversion(excerpts, 48_000, 44_100)
    moved = converted_traces._Moved(excerpts, 48_000, 44_100)
    counts, delays = np.zeros((16, 3, FRAME)), list(range(16))
    for number in range(8):
        delays = sorted(delays, key=lambda delay: -counts[delay].max())[: {2: 4, 4: 1}.get(number, 16)]
        for delay in delays:
            firsts, samples = moved.by([(number, delay / 16)])
            add_from(counts[delay], frame_zeros(samples, 3)[0], firsts[0])
    assert np.array_equal(chosen[0], counts[delays[0]])
