"""Octaves over time: levels against a second way of computing them, planted gaps and build-ups found where they are."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import scipy.signal
from numpy.typing import NDArray

from delivery.compare.bands import bar_seconds, habits_of, places_of
from delivery.dsp.spectrum.band_levels import LEAST_RATE_HZ, STEP_S, BandLevels, octave_middles_hz
from delivery.dsp.spectrum.decimation import Decimator
from delivery.model.reference import BandHabit, Place, PlaceKind

Array = NDArray[np.float64]
RATE_HZ = 44_100
OCTAVE_250 = (177.83, 354.81)
LUFS = -20.0


@cache
def pink(seconds: float, seed: int = 1, rate_hz: int = RATE_HZ) -> Array:
    """(frames, 2) of equal power in every octave, -20 dB rms a channel."""
    frames = round(seconds * rate_hz)
    spectrum = np.fft.rfft(np.random.default_rng(seed).standard_normal((2, frames)))
    spectrum /= np.sqrt(np.maximum(np.fft.rfftfreq(frames, 1 / rate_hz), 20.0))
    sound = np.fft.irfft(spectrum, frames)
    sound = 0.1 * (sound / np.sqrt(np.mean(sound**2))).T
    sound.flags.writeable = False  # one for all tests
    return sound


def equalised(sound: Array, between_s: tuple[float, float], band_hz: tuple[float, float], db: float) -> Array:
    """*sound* with a band raised by *db*, from one time to another, without any slope."""
    first, last = (round(at * RATE_HZ) for at in between_s)
    spectrum = np.fft.rfft(sound[first:last], axis=0)
    hz = np.fft.rfftfreq(last - first, 1 / RATE_HZ)
    spectrum[(hz >= band_hz[0]) & (hz < band_hz[1])] *= 10 ** (db / 20)
    changed = sound.copy()
    changed[first:last] = np.fft.irfft(spectrum, last - first, axis=0)
    return changed


def levels(sound: Array, rate_hz: int = RATE_HZ, block: int = 65_536) -> tuple[Array, Array]:
    decimator = Decimator(sound.shape[1], rate_hz)
    bands = BandLevels(rate_hz, sound.shape[1], 4 * decimator.rate_hz, decimator.response_four_times)
    for at in range(0, len(sound), block):
        samples = np.ascontiguousarray(sound[at : at + block].T)
        decimator.take(samples)
        bands.take(samples, decimator.four_times)
    return bands.result(), octave_middles_hz(rate_hz)


def places(sound: Array, peers: list[tuple[BandHabit, ...]] | None = None, bar_s: float = 2.0) -> tuple[Place, ...]:
    found, middles_hz = levels(sound)
    if peers is None:
        peers = pink_peers()
    return places_of(found, middles_hz, STEP_S, LUFS, peers, bar_s)


@cache
def pink_peers() -> list[tuple[BandHabit, ...]]:
    return [habits(pink(60, seed)) for seed in (11, 12, 13)]


def habits(sound: Array) -> tuple[BandHabit, ...]:
    found, middles_hz = levels(sound)
    return habits_of(found, middles_hz, STEP_S, LUFS)


RATES_HZ = [LEAST_RATE_HZ, 22_050, 32_000, 44_100, 48_000, 88_200, 96_000, 192_000]


@pytest.mark.thorough(3)
@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_levels_are_those_of_welch(rate_hz: int) -> None:
    """scipy's Welch estimate of pink noise, added up between the edges of IEC 61260-1: within 0.1 dB, as printed."""
    sound = pink(12, rate_hz=rate_hz)
    found, middles_hz = levels(sound, rate_hz)
    assert len(found) == pytest.approx(120, abs=1)
    hz, density = scipy.signal.welch(sound, rate_hz, nperseg=2 ** round(np.log2(rate_hz / 2)), axis=0)
    for level_db, middle_hz in zip(found.T, middles_hz, strict=True):
        low_hz, high_hz = np.maximum(hz - hz[1] / 2, middle_hz * 10**-0.15), hz + hz[1] / 2
        widths_hz = np.maximum(np.minimum(high_hz, middle_hz * 10**0.15) - low_hz, 0.0)
        wanted_db = 10 * np.log10(density.sum(axis=1) @ widths_hz)
        assert mean_db(level_db) == pytest.approx(wanted_db, abs=0.1), middle_hz


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_a_sine_reads_half_its_square_in_its_own_octave(rate_hz: int) -> None:
    """A sine of amplitude 0.25 in one channel: 10 log10(0.25 ** 2 / 2) in every step, and 60 dB less two octaves away.

    Closed form: the mean square of a sine. Within 0.03 dB, the response of the decimation included.
    """
    for number, middle_hz in enumerate(octave_middles_hz(rate_hz)):
        tone = np.zeros((rate_hz, 2))
        tone[:, 0] = 0.25 * np.sin(2 * np.pi * middle_hz / rate_hz * np.arange(rate_hz))
        found, _ = levels(tone, rate_hz)
        assert found[2:, number] == pytest.approx(10 * np.log10(0.25**2 / 2), abs=0.03), middle_hz
        others = np.delete(found[2:], slice(max(number - 1, 0), number + 2), axis=1)
        assert others.max() < 10 * np.log10(0.25**2 / 2) - 60, middle_hz


def test_every_hit_counts_alike_wherever_it_falls() -> None:
    """Bursts of 20 ms at 4 and 8 kHz, each in a second of its own: the energy over it, within 0.2 dB.

    Closed form: the sum of the burst's squares. Windows whose squares do not add up to a constant miss by 3 dB.
    """
    chance, frames = np.random.default_rng(4), round(0.02 * RATE_HZ)
    for middle_hz, number in ((3981.07, 6), (7943.28, 7)):
        burst = 0.5 * np.hanning(frames) * np.sin(2 * np.pi * middle_hz / RATE_HZ * np.arange(frames))
        sound = np.zeros((40 * RATE_HZ, 2))
        for second in range(40):
            at = second * RATE_HZ + int(chance.integers(RATE_HZ // 4, RATE_HZ // 2))
            sound[at : at + frames, 1] += burst
        powers = 10 ** (levels(sound)[0][:, number] / 10)
        energies = np.array([powers[10 * second : 10 * second + 10].sum() * STEP_S for second in range(39)])
        wanted = np.square(burst).sum() / RATE_HZ
        assert 10 * np.log10(energies / wanted) == pytest.approx(np.zeros(39), abs=0.2)


@pytest.mark.parametrize("channels", [1, 3, 6])
def test_channels_add_up(channels: int) -> None:
    """The same sound in n channels has n times the power of one: 10 log10 n."""
    one = pink(3)[:, :1]
    several, alone = levels(np.repeat(one, channels, axis=1))[0], levels(one)[0]
    assert several == pytest.approx(alone + 10 * np.log10(channels), abs=1e-3)


def mean_db(levels_db: Array) -> float:
    return float(10 * np.log10(np.mean(10 ** (levels_db / 10))))


@pytest.mark.parametrize("block", [1000, 4096, 1_000_000])
def test_levels_do_not_depend_on_how_the_sound_was_cut(block: int) -> None:
    sound = pink(3)
    assert levels(sound, block=block)[0] == pytest.approx(levels(sound)[0], abs=1e-3)


def test_too_short_a_sound_has_no_steps() -> None:
    assert levels(pink(0.1))[0].shape == (0, 9)
    assert places(pink(5)) == ()


def test_steady_noise_has_no_places() -> None:
    assert places(pink(90)) == ()


@pytest.mark.parametrize("begin_s", [20.0, 31.37])
def test_a_build_up_is_found_with_its_time_band_and_level(begin_s: float) -> None:
    """Pink noise, one octave 7 dB up for 6 s: ends within 0.3 s, level within 1 dB (0.1 s of noise varies by more)."""
    (found,) = places(equalised(pink(90), (begin_s, begin_s + 6), OCTAVE_250, 7.0))
    assert found.kind is PlaceKind.CROWDED
    assert (found.at_s, found.until_s) == pytest.approx((begin_s, begin_s + 6), abs=0.3)
    assert (found.low_hz, found.high_hz) == pytest.approx((199.5, 316.2), rel=0.01)
    assert found.own_db == pytest.approx(7.0, abs=1.0)
    assert found.peers_db is not None
    assert 0 < found.peers_db < found.own_db


def test_two_places_of_a_band_a_bar_apart_are_one() -> None:
    """Two build-ups of 5 s with 1.5 s between them, in bars of 2 s."""
    twice = equalised(equalised(pink(90), (20, 25), OCTAVE_250, 8.0), (26.5, 31.5), OCTAVE_250, 8.0)
    (found,) = places(twice)
    assert (found.at_s, found.until_s) == pytest.approx((20, 31.5), abs=0.3)


def test_what_is_hardly_beyond_the_peers_is_no_place() -> None:
    """Peers whose bars lie up to 6.5 dB above their usual level: 7 dB is no place beside them, 11 dB is one."""
    peers = [
        tuple(BandHabit(each.middle_hz, each.usual_re_loudness_db, -6.5, 6.5) for each in peer) for peer in pink_peers()
    ]
    for raised_db, count in ((7.0, 0), (11.0, 1)):
        assert len(places(equalised(pink(90), (20, 26), OCTAVE_250, raised_db), peers)) == count


def test_a_part_that_drops_out_and_returns_is_arrangement() -> None:
    (found,) = places(equalised(pink(90), (40.0, 48.0), OCTAVE_250, -15.0))
    assert found.kind is PlaceKind.DROPS_OUT
    assert (found.at_s, found.until_s) == pytest.approx((40.0, 48.0), abs=0.3)
    assert found.own_db < -8


def test_a_band_that_thins_slowly_is_thin() -> None:
    """Down by 1 dB a second to 10 dB, and up again: nothing stops, nothing begins."""
    sound = pink(90)
    for second in range(20):
        depth_db = -10.0 + abs(second - 9.5)
        sound = equalised(sound, (30.0 + second, 31.0 + second), OCTAVE_250, depth_db)
    (found,) = places(sound)
    assert found.kind is PlaceKind.THIN
    assert 30 < found.at_s < found.until_s < 50.5


def test_a_place_shorter_than_a_bar_is_no_place() -> None:
    assert places(equalised(pink(90), (40.0, 41.2), OCTAVE_250, 9.0)) == ()


def test_a_bar_follows_the_tempo() -> None:
    assert bar_seconds(None) == 2.0
    assert bar_seconds(96.0) == pytest.approx(2.5)
    sound = equalised(pink(90), (40.0, 42.9), OCTAVE_250, 8.0)
    assert len(places(sound, bar_s=2.0)) == 1
    assert places(sound, bar_s=3.5) == ()


@pytest.mark.thorough
def test_what_the_peers_do_as_well_is_no_place() -> None:
    """Reference songs with the same swell in every ten seconds hold it for more than one bar in twenty."""

    def swelling(seed: int) -> Array:
        sound = pink(60, seed)
        for at in range(0, 60, 10):
            sound = equalised(sound, (at, at + 4.0), OCTAVE_250, 9.0)
        return sound

    song = equalised(pink(90), (40.0, 46.0), OCTAVE_250, 7.0)
    assert len(places(song)) == 1
    assert places(song, [habits(swelling(seed)) for seed in (1, 2, 3)]) == ()


def test_a_quiet_verse_or_a_fade_is_no_place() -> None:
    """Whatever all bands do together is taken off."""
    sound = pink(90).copy()
    sound[20 * RATE_HZ : 40 * RATE_HZ] *= 0.3
    sound[80 * RATE_HZ :] *= np.linspace(1, 0, 10 * RATE_HZ)[:, None]
    assert places(sound) == ()


def test_neighbouring_octaves_that_depart_together_are_one_place() -> None:
    (found,) = places(equalised(pink(90), (40.0, 48.0), (177.83, 707.95), 8.0))
    assert (found.low_hz, found.high_hz) == pytest.approx((199.5, 631.0), rel=0.01)


def test_without_peers_the_song_s_own_level_counts_alone() -> None:
    (found,) = places(equalised(pink(90), (20.0, 26.0), OCTAVE_250, 7.0), [])
    assert found.peers_db is None
