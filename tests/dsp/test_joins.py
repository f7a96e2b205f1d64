"""Cuts: proven where a lost sample would show, never where it would not. The truth is made."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.dsp.events.continuity import EDGE_FRAMES, evidence, is_quiet

Array = NDArray[np.float64]


def tilted(rate_hz: int, slope: float, seed: int, frames: int = 40_000) -> Array:
    """Two channels of noise that falls with frequency like music, its top cut off, in 24-bit samples with dither."""
    chance = np.random.default_rng(seed)
    spectrum = np.fft.rfft(chance.standard_normal((2, frames)))
    hz = np.fft.rfftfreq(frames, 1 / rate_hz)
    spectrum /= np.maximum(hz, 40) ** slope
    spectrum[:, hz > 18_000] *= 1e-3
    sound = np.fft.irfft(spectrum, frames)
    sound *= 0.1 / sound.std()
    noise = chance.random((2, frames)) - chance.random((2, frames))
    return np.asarray(np.rint(sound * 2**23 + noise).T / 2**23)


CUTS = range(2000, 38_000, 900)


@pytest.mark.parametrize("rate_hz", [44_100, 96_000])
def test_one_recording_runs_on_across_any_cut(rate_hz: int) -> None:
    sound = tilted(rate_hz, 1.0, 1)
    assert all(evidence(sound[:cut], sound[cut:]).proven for cut in CUTS)


@pytest.mark.parametrize("rate_hz", [44_100, 96_000])
@pytest.mark.parametrize("lost", [1, 2, 7, 100])
def test_a_lost_sample_is_a_step(rate_hz: int, lost: int) -> None:
    sound = tilted(rate_hz, 1.0, 2)
    found = [evidence(sound[:cut], sound[cut + lost :]) for cut in CUTS]
    assert all(each.steps for each in found)
    assert not any(each.proven for each in found)


def test_a_sample_too_many_is_a_step() -> None:
    sound = tilted(44_100, 1.0, 3)
    for cut in CUTS:
        silent = np.concatenate([np.zeros((1, 2)), sound[cut:]])
        doubled = np.concatenate([sound[cut - 1 : cut], sound[cut:]])
        assert evidence(sound[:cut], silent).steps
        assert evidence(sound[:cut], doubled).steps


def test_noise_proves_nothing_whether_it_runs_on_or_not() -> None:
    """White noise goes on as well from any sample: the true join must not be called proven either."""
    noise = 0.1 * np.random.default_rng(4).standard_normal((40_000, 2))
    for cut in CUTS:
        assert not evidence(noise[:cut], noise[cut:]).proven
        assert not evidence(noise[:cut], noise[cut + 5 :]).proven


def test_two_songs_do_not_run_on() -> None:
    one, other = tilted(44_100, 1.0, 5), tilted(44_100, 1.0, 6)
    assert not any(evidence(one[:cut], other[cut:]).proven for cut in CUTS)


def test_silence_on_one_side_is_nothing_to_join() -> None:
    """-60 dBFS is 0.001 of full scale."""
    sound, still = tilted(44_100, 1.0, 7), np.zeros((EDGE_FRAMES, 2))
    assert is_quiet(sound, still)
    assert is_quiet(still, sound[1000:])
    assert is_quiet(sound, still + 0.00099)
    assert not is_quiet(sound, still + 0.0011)
