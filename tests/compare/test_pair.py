"""Two files beside each other: changes planted in music are found again, and two songs are distinguished.

The changes are made here by numpy: gain, a delay between samples and a clock difference by a long windowed sinc of this
test's own, tone by a bell filter in the frequency domain.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from delivery.compare.pair import tone
from delivery.meters import measure
from delivery.model.pair import Pair, Polarity
from delivery.tasks.pair import compare_pair
from demo.music import perform
from demo.songs import EBB_LEDGER, TIDE_SUMS, Song

Array = NDArray[np.float64]
RATE = 44_100


@cache
def music(song: Song) -> Array:
    """(frames, 2): the first 18 s, peaks near -6 dBFS."""
    played = np.asarray(perform(song, RATE), np.float64)
    played = played.T if played.shape[0] == 2 else played
    return 0.5 * played[: 18 * RATE] / np.abs(played).max()


def written(folder: Path, name: str, sound: Array, rate_hz: int = RATE) -> Path:
    soundfile.write(folder / name, sound, rate_hz, "DOUBLE")
    return folder / name


def compared(folder: Path, one: Array, other: Array, rate_hz: int = RATE) -> Pair:
    return compare_pair(written(folder, "one.wav", one), written(folder, "other.wav", other, rate_hz))


def read_between(sound: Array, places: Array, reach: int = 96) -> Array:
    """*sound* at any places, by a Blackman-windowed sinc of 192 frames: another one than the program's."""
    padded = np.pad(sound, ((reach + 2, reach + 2), (0, 0)))
    out = np.empty((len(places), sound.shape[1]))
    for first in range(0, len(places), 8192):
        at = places[first : first + 8192]
        whole = np.floor(at).astype(int)
        offsets = np.arange(-reach + 1, reach + 1)
        x = offsets[None, :] - (at - whole)[:, None]
        taps = np.sinc(x) * (0.42 + 0.5 * np.cos(np.pi * x / reach) + 0.08 * np.cos(2 * np.pi * x / reach))
        index = np.clip(whole[:, None] + offsets[None, :] + reach + 2, 0, len(padded) - 1)
        out[first : first + 8192] = np.einsum("nk,nkc->nc", taps, padded[index])
    return out


def bell(sound: Array, middle_hz: float, gain_db: float) -> Array:
    """A symmetrical bell two octaves wide, without delay."""
    spectrum = np.fft.rfft(sound, axis=0)
    hz = np.fft.rfftfreq(len(sound), 1 / RATE)
    octaves = np.log2(np.maximum(hz, 1.0) / middle_hz)
    return np.fft.irfft(
        spectrum * 10 ** (gain_db / 20 * np.exp(-0.5 * (octaves / 0.5) ** 2))[:, None], len(sound), axis=0
    )


def test_identical_samples_are_reported_first(tmp_path: Path) -> None:
    found = compared(tmp_path, music(TIDE_SUMS), music(TIDE_SUMS))
    assert found.identical
    assert found.same_recording
    assert found.residual is None


def test_a_gain_is_found_to_a_twentieth_of_a_decibel_and_nothing_is_left(tmp_path: Path) -> None:
    found = compared(tmp_path, music(TIDE_SUMS), 10 ** (-1.37 / 20) * music(TIDE_SUMS))
    assert not found.identical
    assert found.same_recording
    assert found.gain_db == pytest.approx(-1.37, abs=0.05)
    assert found.offset_s == pytest.approx(0, abs=1e-7)
    assert found.drift_ppm == 0
    assert found.polarity is Polarity.SAME
    assert found.residual_db is not None
    assert found.residual_db < -60


@pytest.mark.thorough
@pytest.mark.parametrize("delay", [1234.56, -20_000.25])
def test_a_delay_is_found_to_a_twentieth_of_a_sample(tmp_path: Path, delay: float) -> None:
    sound = music(TIDE_SUMS)
    late = read_between(sound, np.arange(len(sound) + 30_000) - delay)
    found = compared(tmp_path, sound, 0.9 * late)
    assert found.same_recording
    assert found.offset_s is not None
    assert found.offset_s * RATE == pytest.approx(delay, abs=0.05)
    assert found.residual_db is not None
    assert found.residual_db < -50


@pytest.mark.thorough
def test_a_clock_10_ppm_slow_is_found(tmp_path: Path) -> None:
    sound = music(TIDE_SUMS)
    slow = read_between(sound, np.arange(len(sound)) / (1 + 1e-5))
    found = compared(tmp_path, sound, slow)
    assert found.same_recording
    assert found.drift_ppm == pytest.approx(10, abs=0.2)
    assert found.residual_db is not None
    assert found.residual_db < -45


def test_polarity(tmp_path: Path) -> None:
    sound = music(TIDE_SUMS)
    assert compared(tmp_path, sound, -0.8 * sound).polarity is Polarity.INVERTED
    assert compared(tmp_path, sound, sound * [1, -1]).polarity is Polarity.ONE_CHANNEL


def test_another_rate_is_no_other_recording(tmp_path: Path) -> None:
    """96 kHz against 44.1 kHz, converted by libsoxr: 0.05 sample and a residual below -60 dB of what both hold."""
    import soxr

    sound = music(TIDE_SUMS)
    found = compared(tmp_path, sound, soxr.resample(sound, RATE, 96_000, quality="VHQ"), 96_000)
    assert found.same_recording
    assert found.offset_s is not None
    assert abs(found.offset_s * RATE) < 0.05
    assert found.residual_db is not None
    assert found.residual_db < -60


@pytest.mark.parametrize(("middle_hz", "gain_db"), [(100, 2.0), (4000, -1.5)])
def test_a_change_of_tone_is_found_in_its_third_octaves(tmp_path: Path, middle_hz: float, gain_db: float) -> None:
    """Within 0.2 dB of the bell, once the change of loudness is added again."""
    sound = music(TIDE_SUMS)
    found = compared(tmp_path, sound, bell(sound, middle_hz, gain_db))
    assert found.same_recording
    assert found.gain_db is not None
    for hz, level in zip(found.tone_hz, found.tone_db, strict=True):
        if 40 < hz < 12_000:
            planted = gain_db * np.exp(-0.5 * (np.log2(hz / middle_hz) / 0.5) ** 2)
            assert level + found.gain_db == pytest.approx(planted, abs=0.2), hz


def test_tone_is_read_from_the_same_moments_of_both(tmp_path: Path) -> None:
    """A copy 2 s late has the same tone in every third octave, though the spectrum of each file alone, a sample of the
    time in files of minutes, differs by more.
    """
    rate_hz, chance = 8000, np.random.default_rng(5)
    noise = chance.standard_normal((rate_hz * 180, 2))
    smooth = np.cumsum(noise, axis=0) - np.cumsum(np.roll(noise, 40, axis=0), axis=0)
    bright = np.repeat(chance.random(180 * 4) ** 8, rate_hz // 4)[:, None]  # another mixture every quarter of a second
    sound = 0.05 * (bright * noise + 0.1 * (1 - bright) * smooth)
    late = np.concatenate([np.zeros((2 * rate_hz, 2)), sound])
    files = (tmp_path / "one.wav", tmp_path / "late.wav")
    for file, samples in zip(files, (sound, late), strict=True):
        soundfile.write(file, samples, rate_hz, "FLOAT")
    found = compare_pair(*files)
    assert found.same_recording
    assert len(found.tone_db) > 15
    assert max(map(abs, found.tone_db)) < 0.02
    alone = tone(measure(files[0]), measure(files[1]))[1]
    assert max(map(abs, alone)) > 0.1


def test_one_channel_beside_the_two_that_it_was_mixed_from(tmp_path: Path) -> None:
    """Nothing is left of their mean; loudness and tone are those of the files, by pyloudnorm and by numpy."""
    from pyloudnorm import Meter

    sound = music(TIDE_SUMS)
    mono = sound.mean(axis=1)
    files = written(tmp_path, "stereo.wav", sound), written(tmp_path, "mono.wav", mono)
    found = compare_pair(*files, spectra=False)
    loudness = [Meter(RATE, filter_class="DeMan").integrated_loudness(each) for each in (sound, mono)]
    assert found.gain_db == pytest.approx(loudness[1] - loudness[0], abs=0.05)
    assert found.residual_db is not None
    assert found.residual_db < -90
    hz = np.fft.rfftfreq(len(sound), 1 / RATE)
    powers = (np.abs(np.fft.rfft(each.T)) ** 2 for each in (sound, mono[:, None]))
    both, one = (power.sum(axis=0) for power in powers)
    assert len(found.tone_hz) > 20
    for middle, level in zip(found.tone_hz, found.tone_db, strict=True):
        if 40 < middle < 12_000:
            band = (hz >= middle * 10**-0.05) & (hz < middle * 10**0.05)
            moved = 10 * np.log10(one[band].sum() / both[band].sum()) - (loudness[1] - loudness[0])
            assert level == pytest.approx(moved, abs=0.5), middle


def test_without_spectra_all_but_the_tilt_is_there(tmp_path: Path) -> None:
    sound = music(TIDE_SUMS)
    files = written(tmp_path, "one.wav", sound), written(tmp_path, "other.wav", bell(sound, 4000, 2.0))
    full, lean = compare_pair(*files), compare_pair(*files, spectra=False)
    assert None not in full.figures["spectral_tilt_db"]
    assert lean.figures["spectral_tilt_db"] == (None, None)
    assert replace(lean, figures=full.figures) == full


def test_another_song_is_another_recording(tmp_path: Path) -> None:
    found = compared(tmp_path, music(TIDE_SUMS), music(EBB_LEDGER))
    assert found.same_recording is False
    assert found.offset_s is None
    assert found.why


def test_the_same_song_played_at_half_the_tempo_is_another_recording(tmp_path: Path) -> None:
    from dataclasses import replace

    found = compared(tmp_path, music(TIDE_SUMS), music(replace(TIDE_SUMS, bpm=TIDE_SUMS.bpm / 2)))
    assert found.same_recording is False


def test_the_same_song_played_by_others_is_another_recording(tmp_path: Path) -> None:
    """The same tables of chords and form with another seed: other melodies, hits and noises."""
    from dataclasses import replace

    found = compared(tmp_path, music(TIDE_SUMS), music(replace(TIDE_SUMS, seed=TIDE_SUMS.seed + 1)))
    assert found.same_recording is False


def test_silence_gives_no_result(tmp_path: Path) -> None:
    found = compared(tmp_path, np.zeros((RATE * 20, 2)), music(TIDE_SUMS))
    assert not found.same_recording
    assert found.why
