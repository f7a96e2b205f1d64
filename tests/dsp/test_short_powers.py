"""Short windows transformed side by side, against numpy's transform of each by itself."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.dsp.spectrum._short_powers import mixed, pair_powers
from delivery.dsp.spectrum.layout import SHORT_LANES
from delivery.dsp.spectrum.short_spectra import HOP, SECOND_WEIGHT, SIZE, ShortSpectra

RATE = 48_000
LINES = np.stack([np.arange(SIZE // 2 + 1) - 0.5, np.arange(SIZE // 2 + 1) + 0.5], axis=1) * RATE / SIZE
"""A band for each line."""


@pytest.mark.parametrize("pieces", [(20_000,), (700, 1, 9000, 10_299), (SIZE, HOP)])
def test_each_line_of_each_window_is_numpys(pieces: tuple[int, ...]) -> None:
    """Mean squares of Hann windows, wherever the sound is cut; single precision keeps seven digits of the largest."""
    sound = np.random.default_rng(len(pieces)).standard_normal(sum(pieces))
    spectra, at = ShortSpectra(RATE, LINES), 0
    for frames in pieces:
        spectra.take([sound[at : at + frames]])
        at += frames
    window = np.hanning(SIZE + 1)[:-1]
    windows = np.lib.stride_tricks.sliding_window_view(sound, SIZE)[::HOP]
    wanted = np.abs(np.fft.rfft(windows * window)) ** 2 * 2 / (SIZE * np.square(window).sum())
    assert spectra.powers.shape == wanted.shape
    assert np.abs(spectra.powers - wanted).max() < 1e-6 * wanted.max()


@pytest.mark.parametrize("every", [1, 2, 4])
def test_channels_are_mixed_and_neighbours_averaged(every: int) -> None:
    first, second = np.random.default_rng(every).standard_normal((2, 4000))
    found = np.empty(4000 // every, np.float32)
    mixed(first, second, SECOND_WEIGHT, every, found)
    wanted = (first + SECOND_WEIGHT * second).reshape(-1, every).mean(axis=1)
    assert found == pytest.approx(wanted, abs=1e-6)


def test_halving_keeps_a_frame_that_has_no_neighbour_yet() -> None:
    """Pieces of odd lengths at twice the rate give what one piece gives."""
    sound = np.random.default_rng(9).standard_normal((2, 40_001))
    whole, cut = ShortSpectra(2 * RATE, LINES), ShortSpectra(2 * RATE, LINES)
    whole.take(list(sound))
    for at in range(0, sound.shape[1], 777):
        cut.take(list(sound[:, at : at + 777]))
    assert len(whole.powers) == (20_000 - SIZE) // HOP + 1
    assert np.abs(whole.powers - cut.powers).max() < 1e-6 * whole.powers.max()  # seven digits: lanes differ


@pytest.mark.parametrize("hop", [300, 512, 768])
def test_two_channels_add_up_in_each_line(hop: int) -> None:
    """Twice the squares of numpy's transforms of both, seven digits of the largest; windows beyond the sound are 0."""
    sounds = np.random.default_rng(hop).standard_normal((2, 20_000)).astype(np.float32)
    window, turns = np.hanning(SIZE).astype(np.float32), 2 * np.pi * np.arange(SIZE) / SIZE
    windows = np.lib.stride_tricks.sliding_window_view(sounds, SIZE, axis=1)[:, ::hop]
    wanted = 2 * (np.abs(np.fft.rfft(windows.astype(np.float64) * window)) ** 2).sum(axis=0)
    lines = np.empty((len(wanted) // SHORT_LANES + 1, SIZE // 2 + 1, SHORT_LANES), np.float32)
    pair_powers(sounds[0], sounds[1], hop, window, np.array([np.cos(turns), np.sin(turns)], np.float32), lines)
    found = lines.transpose(0, 2, 1).reshape(-1, SIZE // 2 + 1)
    assert np.abs(found[: len(wanted)] - wanted).max() < 1e-6 * wanted.max()
    assert found[len(wanted) :].max() < 1e-12 * wanted.max()
