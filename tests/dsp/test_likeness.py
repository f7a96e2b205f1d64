"""One recording is known again at another level, shifted, filtered and coded; two recordings are not taken for one."""

from __future__ import annotations

import io
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import soundfile as sf
from numpy.typing import NDArray

from delivery.audio.facts import SoundFacts
from delivery.dsp.likeness.same_recording import Alike, LevelCurve, alike, tone_apart_db, tones_apart_db
from delivery.meters.loudness import Loudness
from delivery.meters.spectrum import Spectrum
from delivery.model.figure import Measurement
from delivery.pipeline.likenesses import NEARLY, TONE_APART_DB

Array = NDArray[np.float64]
RATE_HZ = 44_100
SECONDS = 40


@cache
def song(seed: int, beats_a_minute: float = 104.0) -> Array:
    """Beats and held notes with chance in their level and place, over a bed of noise; no two seeds alike."""
    chance = np.random.default_rng(seed)
    t = np.arange(SECONDS * RATE_HZ) / RATE_HZ
    sound = 0.01 * chance.standard_normal((2, len(t)))
    for beat in np.arange(0, SECONDS, 60 / beats_a_minute):
        level, decay = chance.uniform(0.02, 0.3), chance.uniform(4, 14)
        after = np.clip(t - beat, 0, None)
        note = level * np.exp(-decay * after) * np.sin(2 * np.pi * chance.uniform(80, 900) * after) * (t >= beat)
        sound += note * np.array([[chance.uniform(0.4, 1.0)], [chance.uniform(0.4, 1.0)]])
    return np.asarray(sound.T)


def measured(sound: Array) -> Measurement:
    """The two meters that the comparison looks at."""
    facts = SoundFacts(Path("x.wav"), "wav", "RIFF", "float", RATE_HZ, 2, len(sound), 32, 0)
    readings = {}
    for meter in (Loudness(facts), Spectrum(facts)):
        meter.update(sound)
        readings |= {figure.name: reading for figure, reading in zip(meter.gives, meter.result(), strict=True)}
    return Measurement(readings)


def compared(one: Array, other: Array) -> tuple[Alike | None, float]:
    a, b = measured(one), measured(other)
    found = alike(a.value("gating_powers"), b.value("gating_powers"))
    return found, tone_apart_db(a.value("third_octave_db"), b.value("third_octave_db"))


def coded(sound: Array, kind: str) -> Array:
    """There and back through a lossy coder of libsndfile, at middling quality."""
    into = io.BytesIO()
    sf.write(into, sound, RATE_HZ, format=kind, compression_level=0.5)
    into.seek(0)
    return np.asarray(sf.read(into, always_2d=True)[0])


@pytest.mark.thorough(4)
@pytest.mark.parametrize("gain_db", [-12.0, -0.1, 6.0])
@pytest.mark.parametrize("offset", [0, 1, 441, 2205, 11_025, -30_000])
def test_known_gains_and_offsets_are_found(gain_db: float, offset: int) -> None:
    """Level to 0.3 dB, place to a tenth of a second, whatever part of a step the shift is."""
    one = song(1)
    silence = np.zeros((abs(offset), 2))
    other = 10 ** (gain_db / 20) * (np.concatenate([silence, one]) if offset >= 0 else one[-offset:])
    found, apart_db = compared(one, other)
    assert found
    assert found.correlation > NEARLY
    assert found.gain_db == pytest.approx(gain_db, abs=0.3)
    assert found.offset_s == pytest.approx(offset / RATE_HZ, abs=0.1)
    assert apart_db < TONE_APART_DB


@pytest.mark.thorough
@pytest.mark.parametrize("kind", ["MP3", "OGG"])
def test_a_lossy_copy_is_known_again(kind: str) -> None:
    found, apart_db = compared(song(2), 0.7 * coded(song(2), kind))
    assert found
    assert found.correlation > 0.98
    assert found.gain_db == pytest.approx(-3.1, abs=0.5)
    assert apart_db < TONE_APART_DB


@pytest.mark.thorough
@pytest.mark.parametrize("pair", [(1, 2), (3, 4)])
def test_two_songs_to_one_click_are_two_songs(pair: tuple[int, int]) -> None:
    """The same tempo, the same length, the same sounds: nothing but the playing differs."""
    found, _ = compared(song(pair[0]), song(pair[1]))
    assert found
    assert found.correlation < 0.75  # the highest of all 28 pairs of eight such songs is 0.59; our own figure


def test_noise_is_like_no_other_noise() -> None:
    chance = np.random.default_rng(9)
    one, other = (0.1 * chance.standard_normal((30 * RATE_HZ, 2)) for _ in range(2))
    found, _ = compared(one, other)
    assert found
    assert found.correlation < 0.6


@pytest.mark.parametrize("silence_s", [0.4, 30.0])
def test_silence_in_front_is_no_part_of_the_recording(silence_s: float) -> None:
    """However long it is; the place is reported all the same."""
    one = song(1)
    found, _ = compared(one, np.concatenate([np.zeros((round(silence_s * RATE_HZ), 2)), one, np.zeros((RATE_HZ, 2))]))
    assert found
    assert found.correlation > 0.99
    assert found.offset_s == pytest.approx(silence_s, abs=0.1)


def test_recordings_of_other_lengths_are_not_compared() -> None:
    assert alike([1.0] * 1000, [1.0] * 700) is None
    assert alike([1.0] * 30, [1.0] * 30) is None


def test_silence_is_like_nothing() -> None:
    found = alike([0.0] * 400, [0.0] * 400)
    assert found
    assert found.correlation == 0.0


def test_tone_apart() -> None:
    """A level is no tone; a tilt of 1 dB a band over 11 bands differs by the root of 10, 3.16 dB."""
    flat = [-10.0] * 11
    assert tone_apart_db(flat, [-13.0] * 11) == 0.0
    assert tone_apart_db(flat, [-10.0 - band for band in range(11)]) == pytest.approx(10**0.5)
    assert tone_apart_db([*flat, -90.0], [*flat, -60.0]) == 0.0


def test_the_tones_of_many_songs_are_compared_as_those_of_two() -> None:
    """Bands that one of them lacks count in neither."""
    chance = np.random.default_rng(3)
    songs = [chance.normal(-40, 12, bands) for bands in (31, 31, 29, 33)]
    padded = np.full((4, 33), np.nan)
    for row, song in zip(padded, songs, strict=True):
        row[: len(song)] = song
    together = tones_apart_db(padded[0], padded)
    assert together == pytest.approx([tone_apart_db(songs[0].tolist(), song.tolist()) for song in songs], abs=1e-12)
    assert together[3] > 1


def level_curve(seed: int, offset_ms: int = 0, minutes: float = 4.0, noise: float = 0.0) -> list[float]:
    """Mean squares of 400 ms every 100 ms, of chance levels that change every 10 ms and slowly."""
    chance = np.random.default_rng(seed)
    count = round(minutes * 6000) + 2000
    slow = np.interp(np.arange(count), np.arange(0, count + 100, 100), chance.normal(0, 4, count // 100 + 1))
    fine = 10 ** ((slow + chance.normal(0, 3, count) - 20) / 10)
    sums = np.concatenate([[0.0], np.cumsum(fine[offset_ms // 10 :])])
    powers = (sums[40:] - sums[:-40])[::10][: round(minutes * 600)] / 40
    return list(powers * 10 ** (np.random.default_rng(seed + 1000).normal(0, noise, len(powers)) / 10))


@pytest.mark.parametrize("offset_ms", [0, 10, 50, 90, 130, 1_050, 14_950])
@pytest.mark.parametrize("noise_db", [0.0, 0.3])
def test_the_first_look_lets_every_copy_through(offset_ms: int, noise_db: float) -> None:
    """Whatever the full comparison calls one recording, by a wide margin: that is what its speed may not cost."""
    one, copy = level_curve(1), level_curve(1, offset_ms, noise=noise_db)
    found = alike(one, copy)
    assert found
    assert found.correlation > NEARLY
    assert LevelCurve(one).may_be(LevelCurve(copy))
    assert LevelCurve(copy).may_be(LevelCurve(one))
    assert LevelCurve(one)._correlations(LevelCurve(copy)).max() > 0.85


def test_the_first_look_finds_what_the_full_one_finds() -> None:
    """Its correlations are those of the overlapping parts; NumPy's own at one offset is the judge."""
    one, other = LevelCurve(level_curve(1)), LevelCurve(level_curve(2, minutes=3.6))
    found = one._correlations(other)
    a, b = one.moves, other.moves
    lag = 7
    length = min(len(a), len(b) - lag)
    expected = np.corrcoef(a[:length], b[lag : lag + length])[0, 1]
    assert np.abs(found - expected).min() < 1e-9
    assert not one.may_be(other)
    assert not one.may_be(LevelCurve(level_curve(1, minutes=3.0))), "too short to be the same"
    assert LevelCurve(level_curve(1, minutes=0.8)).may_be(LevelCurve(level_curve(2, minutes=0.8))), (
        "left to the full one"
    )
