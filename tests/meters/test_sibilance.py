"""Places to listen to before cutting: hiss that is really there is found where it is, and music without it is not."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.audio.facts import SoundFacts
from delivery.meters.low_band import BANDS_HZ, LowBand
from delivery.meters.sibilance import Sibilance

Array = NDArray[np.float64]


def facts(frames: int, rate_hz: int, channels: int = 2) -> SoundFacts:
    return SoundFacts(Path("x.wav"), "wav", "RIFF", "float", rate_hz, channels, frames, 32, 0)


def sibilance(sound: Array, rate_hz: int) -> tuple[int, tuple[float, ...]]:
    meter = Sibilance(facts(len(sound), rate_hz, sound.shape[1]))
    meter.update(sound)
    count, at_s, *_ = meter.result()
    return count.value, at_s.value


def voice(rate_hz: int, hisses: tuple[float, ...], level: float = 0.15, hiss_hz: float = 7000.0) -> Array:
    """Eight seconds of held notes with strong partials to 4 kHz; at each of *hisses* 0.12 s of a band around 7 kHz."""
    t = np.arange(8 * rate_hz) / rate_hz
    notes = sum(0.05 * np.sin(2 * np.pi * hz * t) for hz in (220.0, 440.0, 1500.0, 2500.0))
    hiss = sum(
        level * np.sin(2 * np.pi * (hiss_hz + 40 * k) * t + k) * ((t >= at) & (t < at + 0.12))
        for at in hisses
        for k in range(-3, 4)
    )
    return np.repeat(np.asarray(notes + hiss)[:, None], 2, axis=1)


def outstanding(sound: Array, rate_hz: int) -> tuple[int, tuple[float, ...]]:
    meter = Sibilance(facts(len(sound), rate_hz, sound.shape[1]))
    meter.update(sound)
    _, _, count, at_s = meter.result()
    return count.value, at_s.value


HABIT_AT_S = tuple(np.round(np.arange(0.2, 7.8, 0.25), 2))
"""31 hisses in eight seconds."""


def varied(rate_hz: int, spread_db: float) -> Array:
    """A song full of hisses whose levels differ by so much on either side."""
    levels_db = np.random.default_rng(3).uniform(-spread_db, spread_db, len(HABIT_AT_S))
    notes = voice(rate_hz, ())
    hisses = [
        voice(rate_hz, (at_s,), level=0.1 * 10 ** (db / 20)) - notes
        for at_s, db in zip(HABIT_AT_S, levels_db, strict=True)
    ]
    return notes + np.sum(hisses, axis=0)


@pytest.mark.thorough(1)
@pytest.mark.parametrize("spread_db", [0.0, 3.0, 6.0])
def test_a_song_with_sibilance_throughout_has_no_outstanding_event(spread_db: float) -> None:
    sound = varied(44_100, spread_db)
    assert sibilance(sound, 44_100)[0] == len(HABIT_AT_S)
    assert outstanding(sound, 44_100) == (0, ())


def test_bursts_well_above_a_songs_habit_are_reported() -> None:
    """Two bursts 12 dB above hisses of one level, of which there are 29 more."""
    bursts = voice(44_100, (2.2, 5.2), level=0.4) - voice(44_100, ())
    count, at_s = outstanding(varied(44_100, 0.5) + bursts, 44_100)
    assert count == 2
    assert at_s == pytest.approx((2.2, 5.2), abs=0.03)


def test_a_few_hisses_no_louder_than_the_songs_treble_are_not_outstanding() -> None:
    """Broad noise as loud in the high band as the hisses less 6 dB, under notes that outweigh it: listed, no remark."""
    rng = np.random.default_rng(4)
    treble = np.fft.rfft(rng.standard_normal(8 * 44_100))
    hz = np.fft.rfftfreq(8 * 44_100, 1 / 44_100)
    treble = np.fft.irfft(np.where((hz > 5000) & (hz < 10_000), treble, 0), 8 * 44_100)
    treble *= 10 ** (-32 / 20) / treble.std()
    notes = 0.055 * np.sin(2 * np.pi * 2000 * np.arange(8 * 44_100) / 44_100)
    hisses = voice(44_100, (1.0, 3.5, 6.2), level=0.025) - voice(44_100, ())
    sound = hisses + (treble + notes)[:, None]
    assert sibilance(sound, 44_100)[0] == 3
    assert outstanding(sound, 44_100) == (0, ())


def test_few_hisses_are_all_outstanding() -> None:
    count, at_s = outstanding(voice(44_100, (1.0, 3.5, 6.2)), 44_100)
    assert count == 3
    assert at_s == pytest.approx((1.0, 3.5, 6.2), abs=0.03)


@pytest.mark.parametrize("rate_hz", [44_100, 48_000, 96_000])
def test_hisses_are_counted_and_placed(rate_hz: int) -> None:
    count, at_s = sibilance(voice(rate_hz, (1.0, 3.5, 6.2)), rate_hz)
    assert count == 3
    assert at_s == pytest.approx((1.0, 3.5, 6.2), abs=0.03)


def test_a_voice_without_hiss_and_a_soft_one_are_no_places() -> None:
    """-30 dBFS rms in the band is the least; 0.004 of seven tones is -42."""
    assert sibilance(voice(44_100, ()), 44_100)[0] == 0
    assert sibilance(voice(44_100, (2.0,), level=0.004), 44_100)[0] == 0


def test_sibilance_in_the_side_signal_alone_is_no_lateral_cut() -> None:
    sound = voice(44_100, (2.0,))
    sound[:, 1] *= -1
    assert sibilance(sound, 44_100)[0] == 0


def test_loud_treble_elsewhere_is_another_matter() -> None:
    """A whistle at 3 kHz is no sibilant; one at 14 kHz is above the band."""
    assert sibilance(voice(44_100, (2.0,), hiss_hz=3000.0), 44_100)[0] == 0
    assert sibilance(voice(44_100, (2.0,), level=0.05, hiss_hz=16_500.0), 44_100)[0] == 0


def test_lows_out_of_phase_are_found_below_the_frequency_where_they_are() -> None:
    """A tone of 80 Hz in phase, one of 240 Hz with one channel turned, from 4 s on: below 100 Hz all is well."""
    rate_hz = 48_000
    t = np.arange(10 * rate_hz) / rate_hz
    low = 0.1 * np.sin(2 * np.pi * 80 * t)
    turned = 0.4 * np.sin(2 * np.pi * 240 * t) * (t >= 4)
    meter = LowBand(facts(len(t), rate_hz))
    meter.update(np.stack([low + turned, low - turned], axis=1))
    widest, bands, lowest, at_s, *_ = (reading.value for reading in meter.result())
    assert bands == BANDS_HZ
    assert lowest[0] > 0.95
    assert lowest[-1] == widest < -0.8
    assert at_s[-1] >= 3.9
