"""Clip runs: found where a waveform was cut at any level, and not where it only rounds its tops."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.meters.clip_runs import ClipRuns
from tests.meters.memory import readings
from tests.signals import noise, sine

Array = NDArray[np.float64]
RATE_HZ = 44_100


def clips(sound: Array) -> tuple[int, int, tuple[float, ...]]:
    found = readings(ClipRuns, sound, RATE_HZ)
    return found["clip_run_count"], found["clip_run_longest"], found["clip_runs_at_s"]


def rounded(sound: Array, bits: int) -> Array:
    return np.rint(sound * 2 ** (bits - 1)) / 2 ** (bits - 1)


@pytest.mark.parametrize("level_dbfs", [0, -1, -6, -20])
@pytest.mark.parametrize("bits", [16, 24])
def test_every_cut_half_wave_is_a_run(level_dbfs: float, bits: int) -> None:
    """By construction: 100 Hz, 3 dB too loud for its ceiling, is cut in each of its 200 half-waves a second."""
    ceiling = 10 ** (level_dbfs / 20)
    tone = sine(100, RATE_HZ, 1.0, level_dbfs=level_dbfs + 3)
    count, longest, at_s = clips(rounded(np.clip(tone, -ceiling, ceiling), bits))
    assert count == 200
    assert longest == pytest.approx(RATE_HZ / 100 * np.arccos(10 ** (-3 / 20)) / np.pi, abs=2)  # time above the ceiling
    assert len(at_s) == 10
    assert min(np.diff(at_s)) >= 0.1 - 1 / RATE_HZ


@pytest.mark.parametrize(("length", "runs"), [(1, 0), (2, 0), (3, 1), (7, 1)])
def test_three_equal_samples_make_a_run(length: int, runs: int) -> None:
    """A limiter leaves one or two equal samples at its ceiling; three are a cut."""
    sound = noise(RATE_HZ, 2, level_dbfs=-30)
    sound[5000 : 5000 + length, 1] = -0.9
    count, longest, at_s = clips(sound)
    assert (count, longest) == (runs, length * runs)
    assert at_s == pytest.approx([5000 / RATE_HZ] * runs)


@pytest.mark.parametrize("frequency_hz", [5, 20, 31.5, 60])
@pytest.mark.parametrize("level_dbfs", [0, -20, -40, -60])
def test_rounded_tops_of_slow_waves_are_no_runs(frequency_hz: float, level_dbfs: float) -> None:
    """At 16 bits the top of a slow sine stays on one step for many samples, with single steps beside it."""
    assert clips(rounded(sine(frequency_hz, RATE_HZ, 2, level_dbfs=level_dbfs) * [0.99, 0.5], 16))[0] == 0


def test_clean_limited_master_has_none() -> None:
    """Gain that follows the peaks down to a ceiling leaves single samples there; nothing is cut."""
    loud = noise(RATE_HZ, 20, level_dbfs=-8)
    peaks = np.abs(loud).max(axis=1)
    held = np.lib.stride_tricks.sliding_window_view(np.pad(peaks, 64), 129).max(axis=1)
    gain = np.minimum(1, 10 ** (-1 / 20) / held)
    smooth = np.convolve(np.pad(gain, 32, mode="edge"), np.hanning(67)[1:-1] / np.hanning(67).sum(), mode="valid")
    limited = rounded(loud * np.minimum(smooth, gain)[:, None], 16)
    assert np.abs(limited).max() == pytest.approx(10 ** (-1 / 20), abs=1e-4)
    assert clips(limited)[0] == 0


def test_hard_clipped_master_is_found() -> None:
    """The same noise cut at -1 dBFS instead."""
    cut = rounded(np.clip(noise(RATE_HZ, 20, level_dbfs=-4), -0.89, 0.89), 24)
    smooth_music = np.clip(np.cumsum(noise(RATE_HZ, 20, level_dbfs=-30), axis=0) / 2, -0.89, 0.89)
    assert clips(cut)[0] > 100
    assert clips(rounded(smooth_music, 24))[0] > 10


@pytest.mark.parametrize("sound", [np.zeros((9000, 2)), np.full((9000, 2), 0.7), np.full((2, 1), 0.7)])
def test_silence_and_constants_are_no_runs(sound: Array) -> None:
    """Nothing was cut where nothing moves: there is no step into the flat part, or out of it."""
    assert clips(sound) == (0, 0, ())


def test_a_later_higher_peak_clears_what_was_found_below_it() -> None:
    """The extreme is that of the whole file: equal samples under it are not at the ceiling."""
    sound = noise(RATE_HZ, 2, level_dbfs=-40)
    sound[1000:1010, 0] = 0.5
    assert clips(sound)[0] == 1
    sound[50_000, 0] = 0.6
    assert clips(sound)[0] == 0


def test_runs_at_the_very_edges_count() -> None:
    sound = noise(RATE_HZ, 2, level_dbfs=-40)
    sound[:4, 0] = 0.5
    sound[-5:, 1] = 0.5
    count, longest, at_s = clips(sound)
    assert (count, longest) == (2, 5)
    assert at_s == pytest.approx([0.0, (len(sound) - 5) / RATE_HZ])


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_silence_of_a_channel_that_never_crosses_zero_is_no_clipping(sign: float) -> None:
    """A wave that only swings to one side rests at zero, which is then its own extreme: silence, not a cut."""
    pulses = np.maximum(sine(50, RATE_HZ, 3), 0) ** 2 * 0.5
    pulses[RATE_HZ : RATE_HZ + 5000] = 0
    assert clips(rounded(sign * pulses, 16))[0] == 0
    cut = np.clip(pulses, 0, 0.25)
    count, longest, _ = clips(rounded(sign * cut, 16))
    assert count == pytest.approx(150 - 6, abs=2)  # 5000 of 132 300 samples hold no pulse
    assert longest == pytest.approx(RATE_HZ / 50 / 4, abs=3)  # sin² is above a half for a quarter of the period


def dithered(sound: Array, bits: int, seed: int = 1) -> Array:
    """Triangular dither of two independent uniform steps, then rounded (Lipshitz et al., JAES 40, 1992)."""
    rng, steps = np.random.default_rng(seed), 2.0 ** (bits - 1)
    return np.rint(sound * steps + rng.random(sound.shape) - rng.random(sound.shape)) / steps


def music(seconds: float = 20) -> Array:
    """Noise that falls 6 dB an octave above 1 kHz, as music does roughly; its peak is at full scale."""
    spectrum = np.fft.rfft(noise(RATE_HZ, seconds, level_dbfs=-20), axis=0)
    hz = np.fft.rfftfreq(round(seconds * RATE_HZ), 1 / RATE_HZ)
    made = np.fft.irfft(spectrum / np.maximum(1, hz / 1000)[:, None], round(seconds * RATE_HZ), axis=0)
    return np.asarray(made / np.abs(made).max())


@pytest.mark.parametrize("bits", [16, 24])
@pytest.mark.parametrize("gain_db", [-0.3, -6, -12])
def test_clipping_that_was_lowered_and_dithered_is_found_with_its_ceilings(gain_db: float, bits: int) -> None:
    """By construction: each channel was cut at another level and lowered by its own amount since."""
    ceilings = np.array([0.6, 0.45])
    lowered = ceilings * 10 ** (np.array([gain_db, gain_db - 1]) / 20)
    sound = dithered(np.clip(music(), -ceilings, ceilings) * lowered / ceilings, bits)
    found = readings(ClipRuns, sound, RATE_HZ)
    assert found["dithered_clip_run_count"] > 50
    assert len(found["dithered_clip_runs_at_s"]) == 10
    for channel, level in enumerate(lowered, start=1):
        levels_dbfs = [row[1] for row in found["dithered_clip_ceilings"] if row[0] == channel]
        assert levels_dbfs == pytest.approx([20 * np.log10(level)] * 2, abs=0.01)


def test_one_channel_cut_and_dithered_is_named_alone() -> None:
    sound = 0.5 * music()
    sound[:, 1] = np.clip(sound[:, 1], -0.25, 0.25)
    found = readings(ClipRuns, dithered(0.8 * sound, 16), RATE_HZ)
    assert {row[0] for row in found["dithered_clip_ceilings"]} == {2}


def test_music_that_is_not_cut_has_no_dithered_runs() -> None:
    """Neither as it is, nor softly saturated, nor slow waves whose tops are flat for many samples."""
    slow = sine(20, RATE_HZ, 10, level_dbfs=-1) * [1.0, 0.9]
    for sound in (music(), np.tanh(2 * music()), slow, 0.01 * music()):
        assert readings(ClipRuns, dithered(0.89 * sound, 16), RATE_HZ)["dithered_clip_run_count"] == 0


def test_equal_runs_are_not_reported_twice() -> None:
    """Clipping without dither is the fact alone."""
    found = readings(ClipRuns, rounded(np.clip(music(), -0.5, 0.5), 24), RATE_HZ)
    assert found["clip_run_count"] > 100
    assert found["dithered_clip_run_count"] == 0


@pytest.mark.parametrize("block", [1, 17, 511])
def test_dithered_runs_do_not_depend_on_blocks(block: int) -> None:
    sound = dithered(0.7 * np.clip(music(0.5), -0.4, 0.4), 16)
    whole = readings(ClipRuns, sound, RATE_HZ, block=len(sound))
    assert whole["dithered_clip_run_count"] > 2
    assert readings(ClipRuns, sound, RATE_HZ, block=block) == whole
