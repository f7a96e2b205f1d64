"""Delay, clock difference and polarity, planted by closed forms and by scipy-free means, are found again."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.dsp.likeness._loops import subtracted
from delivery.dsp.likeness.alignment import Alignment, aligned, lag_of
from delivery.dsp.likeness.shifting import low_passed, low_passed_along, shifted

Array = NDArray[np.float64]
RATE = 44_100
MARGIN = 2048
WINDOW = 32_768


def tones(at: Array, seed: int = 1) -> Array:
    """A sum of 300 sines at any places, in frames: a band-limited sound that can be read between its samples."""
    rng = np.random.default_rng(seed)
    found = np.zeros((len(at), 2))
    for _ in range(300):
        turns = rng.uniform(60, 15_000) / RATE
        level = 0.02 / np.sqrt(1 + (turns * RATE / 800) ** 2)
        for channel in range(2):
            found[:, channel] += level * np.sin(2 * np.pi * (turns * at + rng.uniform()))
    return found


@pytest.mark.thorough(2)
@pytest.mark.parametrize("delay", [0.0, 0.25, -0.5, 17.3, -1023.71, 1999.95])
def test_a_delay_is_found_to_a_hundredth_of_a_frame(delay: float) -> None:
    frames = np.arange(WINDOW, dtype=np.float64)
    wide = np.arange(-MARGIN, WINDOW + MARGIN, dtype=np.float64)
    lag = lag_of(tones(frames), tones(wide - delay), MARGIN)
    assert lag is not None
    assert lag.delay_frames == pytest.approx(delay, abs=0.01)
    assert lag.correlation > 0.8  # at a whole frame; between frames the treble no longer fits
    assert lag.channel_signs == (1, 1)


def test_gain_and_polarity_change_neither_delay_nor_place() -> None:
    frames, wide = np.arange(WINDOW, dtype=np.float64), np.arange(-MARGIN, WINDOW + MARGIN, dtype=np.float64)
    inverted = lag_of(tones(frames), -0.3 * tones(wide - 5.4), MARGIN)
    assert inverted is not None
    assert inverted.delay_frames == pytest.approx(5.4, abs=0.01)
    assert inverted.correlation < -0.8
    assert inverted.channel_signs == (-1, -1)
    one_side = lag_of(tones(frames), tones(wide - 5.4) * [1, -1], MARGIN)
    assert one_side is not None
    assert one_side.channel_signs == (1, -1)


def test_noise_added_at_minus_20_db_moves_the_delay_by_less_than_a_twentieth() -> None:
    """The accuracy required for real material: 0.05 sample."""
    rng = np.random.default_rng(7)
    frames, wide = np.arange(WINDOW, dtype=np.float64), np.arange(-MARGIN, WINDOW + MARGIN, dtype=np.float64)
    one, other = tones(frames), tones(wide - 3.37)
    other += 0.1 * np.sqrt(np.mean(other**2)) * rng.standard_normal(other.shape)
    lag = lag_of(one, other, MARGIN)
    assert lag is not None
    assert lag.delay_frames == pytest.approx(3.37, abs=0.05)


def test_another_sound_is_no_match_and_silence_no_answer() -> None:
    frames, wide = np.arange(WINDOW, dtype=np.float64), np.arange(-MARGIN, WINDOW + MARGIN, dtype=np.float64)
    other = lag_of(tones(frames), tones(wide, seed=2), MARGIN)
    assert other is not None
    assert abs(other.correlation) < 0.3
    assert lag_of(np.zeros((WINDOW, 2)), tones(wide), MARGIN) is None


def line(offset: float, drift: float, wrong: int = 0) -> Alignment | None:
    """Twenty windows of a recording that runs *drift* fast, *wrong* of them found at a place of chance."""
    places = np.linspace(0, 200 * RATE, 20)
    frames, wide = np.arange(8192, dtype=np.float64), np.arange(-MARGIN, 8192 + MARGIN, dtype=np.float64)
    lags = []
    for number, place in enumerate(places):
        exact = offset + drift * place
        lag = lag_of(tones(frames, number), tones(wide - exact, number), MARGIN)
        assert lag is not None
        lags.append(lag if number >= wrong else lag_of(tones(frames, number), tones(wide, number + 99), MARGIN))
    return aligned(places.tolist(), lags)


@pytest.mark.thorough
def test_a_clock_that_runs_10_ppm_fast_is_found() -> None:
    """10 ppm over 200 s of 44.1 kHz are 88 frames."""
    found = line(12.25, 1e-5)
    assert found is not None
    assert found.offset_frames == pytest.approx(12.25, abs=0.05)
    assert 1e6 * found.drift == pytest.approx(10, abs=0.02)
    assert found.share == 1


@pytest.mark.thorough
def test_equal_clocks_have_no_drift_at_all() -> None:
    found = line(-3.5, 0.0)
    assert found is not None
    assert found.drift == 0.0
    assert found.offset_frames == pytest.approx(-3.5, abs=0.01)


@pytest.mark.thorough
def test_windows_that_lead_astray_do_not_move_the_line() -> None:
    found = line(100.5, 0.0, wrong=5)
    assert found is not None
    assert found.offset_frames == pytest.approx(100.5, abs=0.02)


@pytest.mark.thorough
def test_delays_that_lie_anywhere_are_two_recordings() -> None:
    assert line(0.0, 0.0, wrong=20) is None


@pytest.mark.parametrize("start", [-10.5, 0.0, 100.0, 100.25, 1234.75])
def test_reading_between_samples_agrees_with_the_closed_form(start: float) -> None:
    """Within -80 dB of the sound, away from its ends."""
    sound = tones(np.arange(4096, dtype=np.float64))
    found = shifted(sound, start, 2048)
    inside = slice(64, 1984)
    exact = tones(np.arange(2048) + start)
    apart = np.sqrt(np.mean((found - exact)[inside] ** 2) / np.mean(exact[inside] ** 2))
    assert apart < 1e-4


def sine(at: Array, turns: float) -> Array:
    return np.stack([np.sin(2 * np.pi * turns * at), np.cos(2 * np.pi * turns * at)], axis=1)


@pytest.mark.parametrize("every", [1, 2, 4])
@pytest.mark.parametrize("start", [100.0, 100.25, 1033.875])
@pytest.mark.parametrize("drift", [0.0, 1e-5, -1e-4, 5e-3])
def test_a_sound_is_read_between_its_frames_along_another_clock(every: int, start: float, drift: float) -> None:
    """A tone in the passband, by its closed form at the requested places."""
    turns, frames = 0.1 / every, 4000
    places = start + np.arange(frames // every) * every * (1 + drift)
    found = low_passed_along(sine(np.arange(8000.0), turns), start, frames, every, drift)
    assert found.shape == (frames // every, 2)
    assert np.abs(found - sine(places, turns)).max() < 1e-4
    if drift == 0:
        assert found == pytest.approx(low_passed(sine(np.arange(8000.0), turns), start, frames, every), abs=1e-5)


def test_a_tone_above_the_new_band_is_gone() -> None:
    for read in (low_passed, lambda *how: low_passed_along(*how, 1e-5)):
        assert np.abs(read(sine(np.arange(8000.0), 0.35), 500.5, 4000, 2)).max() < 1e-3


def test_what_is_left_of_one_sound_less_another() -> None:
    one, other = np.random.default_rng(4).standard_normal((2, 3, 1003))
    gains, rest = np.array([0.5, -2.0, 1.0]), np.empty((3, 1003))
    energy, left = subtracted(one, other, gains, rest)
    assert rest == pytest.approx(one - gains[:, None] * other, abs=1e-15)
    assert (energy, left) == (pytest.approx((one**2).sum()), pytest.approx((rest**2).sum()))
