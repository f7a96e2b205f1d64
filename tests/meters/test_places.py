"""Clicks, jumps, gaps and hum: found where code planted them, and not in music-like sound that only looks like them.

Figures of hits and false alarms over much more material: ``python -m tests.benchmarks.detectors``.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.dsp.blocks.stretches import Lately, Stretches
from delivery.dsp.events.ranking import KEPT, Place, Places, outstanding_from_db
from delivery.meters.clicks import CLICK_STANDS_OUT_DB, Clicks
from delivery.meters.dropouts import Dropouts
from delivery.meters.hum import Hum
from tests.benchmarks.planted.material import KINDS, synthetic
from tests.meters.memory import cut, readings, why
from tests.signals import noise, sine

Array = NDArray[np.float64]
RATES = [44_100, 48_000, 96_000, 192_000]


def chord(rate_hz: int, seconds: float = 8.0) -> Array:
    """Held notes at -12 dBFS in two channels with a little hiss: no part of it is sudden."""
    t = np.arange(round(seconds * rate_hz)) / rate_hz
    notes = sum(np.sin(2 * np.pi * hz * t + hz) for hz in (110.0, 277.2, 440.0, 659.3, 1318.5)) / 20
    return np.stack([notes, 0.8 * np.asarray(notes)], axis=1) + noise(rate_hz, seconds, level_dbfs=-80)


@pytest.mark.thorough(10)
@pytest.mark.parametrize("rate_hz", RATES)
@pytest.mark.parametrize("width", [1, 2, 3, 5])
@pytest.mark.parametrize("level_dbfs", [-12, -30, -40])
def test_clicks_are_found_where_they_are(rate_hz: int, width: int, level_dbfs: float) -> None:
    """By construction: samples raised in the right channel at 2.0 s, in both at 5.0 s."""
    sound = chord(rate_hz)
    sound[2 * rate_hz : 2 * rate_hz + width, 1] += 10 ** (level_dbfs / 20)
    sound[5 * rate_hz : 5 * rate_hz + width] -= 10 ** (level_dbfs / 20)
    found = readings(Clicks, sound, rate_hz)
    both = sorted([*found["click_places_ranked"], *found["jump_places_ranked"]])
    assert [at_s for at_s, _, _ in both] == pytest.approx([2.0, 5.0], abs=8 / 44_100)
    assert [channel for _, channel, _ in both] == [2, 0]
    assert found["click_places"] + found["jump_places"] == 2
    assert both[0][2] > 18


@pytest.mark.parametrize("cutoff_hz", [2000, 2500, 3000])
def test_clipped_peaks_are_no_clicks(cutoff_hz: int) -> None:
    """By construction: smooth noise, its peaks from 11 dB over its rms on cut off; then one real click at 3.0 s."""
    rate_hz = 44_100
    spectrum = np.fft.rfft(noise(rate_hz, 12, channels=1), axis=0)
    low_pass = 1 / np.sqrt(1 + (np.fft.rfftfreq(12 * rate_hz, 1 / rate_hz) / cutoff_hz) ** 12)
    smooth = np.fft.irfft(spectrum * low_pass[:, None], axis=0)
    sound = np.clip(smooth / smooth.std() / 3.5, -1, 1) * 0.99
    assert np.sum(np.abs(sound) == 0.99) > 200
    assert readings(Clicks, sound, rate_hz)["click_places"] == 0
    at = 3 * rate_hz
    sound[at : at + 2] -= 0.4 * np.sign(sound[at])
    assert readings(Clicks, sound, rate_hz)["click_places_at_s"] == pytest.approx([3.0], abs=0.001)


@pytest.mark.parametrize("lost", [16, 100, 333])
def test_lost_samples_are_found(lost: int) -> None:
    """The waveform goes on elsewhere; all channels jump at once."""
    sound = chord(44_100)
    kept = np.ones(len(sound), bool)
    kept[100_000 : 100_000 + lost] = False
    found = readings(Clicks, sound[kept], 44_100)
    assert found["jump_places"] + found["click_places"] == 1
    at_s = (*found["jump_places_at_s"], *found["click_places_at_s"])
    assert at_s == pytest.approx([100_000 / 44_100], abs=0.001)


@pytest.mark.thorough(1)
@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind not in ("glitchy on purpose", "8-bit style")])
def test_similar_music_gives_no_finding(kind: str) -> None:
    """Attacks, plosives, saw waves, cut tops, rests: nothing was planted, and at most one false alarm."""
    (material,) = synthetic(range(100, 101), kinds=[kind], seconds=12.0)
    found = {meter: readings(meter, material.sound, material.rate_hz) for meter in (Clicks, Dropouts, Hum)}
    assert found[Clicks]["click_places"] + found[Clicks]["jump_places"] <= 1
    assert found[Dropouts]["dropout_places"] <= 1
    assert found[Hum]["hum_places"] == 0


@pytest.mark.parametrize("rate_hz", [8_000, *RATES])
@pytest.mark.parametrize("length_s", [0.002, 0.01, 0.05])
def test_zeros_in_loud_sound_are_found_in_one_channel_or_both(rate_hz: int, length_s: float) -> None:
    sound = noise(rate_hz, 6, level_dbfs=-18)
    frames = round(length_s * rate_hz)
    sound[2 * rate_hz : 2 * rate_hz + frames, 0] = 0
    sound[4 * rate_hz : 4 * rate_hz + frames] = 0
    found = readings(Dropouts, sound, rate_hz)
    assert found["zero_run_places_at_s"] == pytest.approx((2.0, 4.0), abs=0.0005)
    assert sorted(channel for _, channel, _ in found["zero_run_places_ranked"]) == [0, 1]
    assert found["zero_run_places_ranked"][0][2] == pytest.approx(1000 * length_s, abs=1)
    assert found["dropout_places"] == 0


def test_a_gap_with_a_hiss_in_it_is_a_dropout_from_five_milliseconds_on() -> None:
    sound = noise(48_000, 8, level_dbfs=-18)
    for at_s, length_s in ((2, 0.003), (4, 0.006), (6, 0.04)):
        sound[at_s * 48_000 : round((at_s + length_s) * 48_000)] *= 0.001
    found = readings(Dropouts, sound, 48_000)
    assert found["dropout_places_at_s"] == pytest.approx((4.0, 6.0), abs=0.0005)
    assert found["zero_run_places"] == 0


def test_rests_fades_and_digital_silence_at_the_edges_are_no_gaps() -> None:
    """A rest of half a second, a fade to nothing and back, silence at both ends, and a gap in soft sound."""
    sound = noise(48_000, 10, level_dbfs=-18)
    sound[: 48_000 // 2] = sound[-48_000 // 2 :] = 0
    sound[3 * 48_000 : 3 * 48_000 + 24_000] = 0
    sound[5 * 48_000 : 6 * 48_000] *= np.abs(np.linspace(-1, 1, 48_000))[:, None] ** 2
    sound[7 * 48_000 : 8 * 48_000] *= 0.02
    sound[360_000:360_480] = 0
    found = readings(Dropouts, sound, 48_000)
    assert (found["dropout_places"], found["zero_run_places"]) == (0, 0)


def test_many_are_a_style_and_not_listed() -> None:
    """Thirty in ten seconds are more than twenty, and more than ten a minute; the count stays."""
    sound = noise(48_000, 30, level_dbfs=-18)
    for k in range(1, 31):
        sound[k * 46_000 : k * 46_000 + 500] = 0
    found = readings(Dropouts, sound, 48_000)
    assert (found["zero_run_places"], found["zero_run_places_many"]) == (30, True)
    assert found["zero_run_places_at_s"] == found["zero_run_places_ranked"] == ()


@pytest.mark.parametrize("mains_hz", [50, 60, 16.7])
@pytest.mark.parametrize("level_dbfs", [-50, -60])
@pytest.mark.parametrize("rate_hz", [8_000, 44_100, 192_000])
def test_hum_under_a_quiet_part_is_found_with_its_level(mains_hz: float, level_dbfs: float, rate_hz: int) -> None:
    """By construction: fundamental and third harmonic, rms as given, in the left channel; music after five seconds.

    The third harmonic of 16.7 Hz is 50 Hz, and the fundamental is reported.
    """
    music = np.concatenate([np.zeros((5 * rate_hz, 2)), noise(rate_hz, 5, level_dbfs=-20)])
    tone = sine(mains_hz, rate_hz, 10) + 0.5 * sine(3 * mains_hz, rate_hz, 10)
    tone *= 10 ** (level_dbfs / 20) / np.sqrt(np.mean(tone**2))
    sound = music + tone * [1.0, 0.0] + noise(rate_hz, 10, level_dbfs=-85)
    found = readings(Hum, sound, rate_hz)
    assert found["hum_places_at_s"][0] == 0.0
    assert found["hum_hz"] == pytest.approx(mains_hz, abs=0.05)
    assert found["hum_dbfs"] == pytest.approx(level_dbfs, abs=0.5)


@pytest.mark.parametrize(("harmonics", "places"), [((2, 4), 1), ((2, 6), 1), ((2,), 0), ((4, 6), 0)])
@pytest.mark.parametrize("mains_hz", [50, 60, 16.7])
def test_hum_of_rectifiers_has_twice_the_frequency(mains_hz: float, harmonics: tuple[int, ...], places: int) -> None:
    """Even harmonics alone; one tone at twice the mains frequency may be a note."""
    tone = sum(sine(n * mains_hz, 48_000, 8, level_dbfs=-70) for n in harmonics)
    found = readings(Hum, tone * [1, 1] + noise(48_000, 8, level_dbfs=-75), 48_000)
    assert found["hum_places"] == places
    assert not places or found["hum_hz"] == pytest.approx(mains_hz, abs=0.03)


@pytest.mark.parametrize("hz", [16.35, 17.32, 49.0, 51.9, 55.0, 58.3, 61.7])
def test_notes_beside_the_mains_frequencies_are_no_hum(hz: float) -> None:
    """C0, C sharp 0, G1, G sharp 1, A1, B flat 1 and B1 of equal temperament at A = 440 Hz, held for ten seconds."""
    sound = (sine(hz, 48_000, 10, level_dbfs=-40) + sine(2 * hz, 48_000, 10, level_dbfs=-46)) * [1, 1]
    assert readings(Hum, sound + noise(48_000, 10, level_dbfs=-85), 48_000)["hum_places"] == 0


def test_a_bass_that_plays_fifty_hertz_is_no_hum() -> None:
    t = np.arange(20 * 48_000) / 48_000
    notes = np.sin(2 * np.pi * 50 * t) * np.exp(-3 * (t % 0.6)) * (t % 3 < 2.4)
    sound = 0.02 * notes[:, None] * np.ones(2) + noise(48_000, 20, level_dbfs=-80)
    assert readings(Hum, sound, 48_000)["hum_places"] == 0


@pytest.mark.parametrize("mains_hz", [50.03, 59.96, 16.7])
@pytest.mark.parametrize("rate_hz", [8_000, 44_100, 192_000])
def test_hum_under_sound_that_is_never_quiet_is_found(mains_hz: float, rate_hz: int) -> None:
    """By construction: three harmonics at -50 dBFS in the right channel, under noise at -20 dBFS throughout."""
    tone = sum(sine(n * mains_hz, rate_hz, 40) / n for n in (1, 2, 3))
    tone *= 10 ** (-50 / 20) / np.sqrt(np.mean(tone**2))
    sound = noise(rate_hz, 40, level_dbfs=-26 if rate_hz == 8_000 else -20)
    found = readings(Hum, sound + tone * [0.0, 1.0], rate_hz)
    assert found["hum_throughout"] is True
    assert found["hum_places"] >= 1  # several where white noise leaves little in the bass: at high rates
    assert found["hum_hz"] == pytest.approx(mains_hz, abs=0.03)
    assert found["hum_dbfs"] == pytest.approx(-50, abs=1.5)  # the weaker harmonics may not stand out
    assert readings(Hum, sound, rate_hz)["hum_places"] == 0


@pytest.mark.parametrize("hz", [16.35, 49.0, 51.9, 58.3, 61.7])
def test_drones_beside_the_mains_frequencies_are_no_hum_under_music(hz: float) -> None:
    """Notes of equal temperament at A = 440 Hz (from the formula), held all through."""
    drone = (sine(hz, 44_100, 40, level_dbfs=-40) + sine(2 * hz, 44_100, 40, level_dbfs=-46)) * [1, 1]
    assert readings(Hum, drone + noise(44_100, 40, level_dbfs=-30), 44_100)["hum_places"] == 0


def test_a_beat_whose_multiples_are_mains_frequencies_is_no_hum() -> None:
    """A drum of 50 Hz struck 125 times a minute repeats exactly: lines at 16.67, 50, 100 Hz, and between."""
    t = np.arange(60 * 44_100) / 44_100
    drum = 0.2 * np.sin(2 * np.pi * 50 * (t % 0.48)) * np.exp(-8 * (t % 0.48))
    assert readings(Hum, drum[:, None] + noise(44_100, 60, level_dbfs=-60), 44_100)["hum_places"] == 0


@pytest.mark.parametrize(("between_hz", "places"), [((), 1), ((25.0,), 1), ((25.0, 75.0), 0), ((75.0, 116.667), 0)])
def test_lines_between_the_harmonics_tell_a_rhythm_from_hum(between_hz: tuple[float, ...], places: int) -> None:
    """Arithmetic: notes every 0.12 s, a usual row of a tracker, have lines at all multiples of 8 1/3 Hz."""
    tones = sum(sine(hz, 44_100, 60, level_dbfs=-48) for hz in (50.0, 100.0, *between_hz))
    assert readings(Hum, tones * [1.0, 1.0] + noise(44_100, 60, level_dbfs=-15), 44_100)["hum_places"] == places


@pytest.mark.parametrize("apart_s", [0.1, 0.12, 0.125, 0.14, 0.15, 0.18, 0.24])
@pytest.mark.parametrize("seconds", [20, 60])
def test_strokes_at_even_distances_are_no_hum(apart_s: float, seconds: int) -> None:
    """Arithmetic: all of them have lines at multiples of 1 / apart_s, and some of those are mains frequencies."""
    t = np.arange(seconds * 8_000) / 8_000 % apart_s
    strokes = 0.02 * np.sin(2 * np.pi * 180 * t) * np.exp(-t / 0.03)
    assert readings(Hum, strokes[:, None] + noise(8_000, seconds, level_dbfs=-75), 8_000)["hum_places"] == 0


@pytest.mark.parametrize("mains_hz", [50, 60])
@pytest.mark.parametrize(("seconds", "noise_dbfs"), [(10, -75), (40, -38)])
def test_hum_that_is_strongest_at_twice_its_frequency_is_no_rhythm(
    mains_hz: int, seconds: int, noise_dbfs: float
) -> None:
    """By construction: the odd harmonics lie between those of the strongest one, as the lines of a rhythm would."""
    levels = {1: -62, 2: -48, 3: -58, 4: -58, 5: -58}
    tone = sum(sine(n * mains_hz, 8_000, seconds, level_dbfs=level) for n, level in levels.items())
    found = readings(Hum, tone * [1.0, 1.0] + noise(8_000, seconds, level_dbfs=noise_dbfs), 8_000)
    assert found["hum_places"] >= 1
    assert found["hum_hz"] == pytest.approx(mains_hz, abs=0.03)


@pytest.mark.parametrize(("tones_hz", "places"), [((100.0,), 1), ((120.0,), 1), ((100.0, 120.0), 0)])
def test_lines_of_two_supplies_at_once_are_music(tones_hz: tuple[float, ...], places: int) -> None:
    """Second harmonics alone, as rectifiers leave them. No place has 50 and 60 Hz; a repeating loop can have both."""
    sound = noise(44_100, 40, level_dbfs=-25)
    for number, hz in enumerate(tones_hz):
        sound += sine(hz, 44_100, 40, level_dbfs=-42) * np.eye(2)[number]
    assert readings(Hum, sound, 44_100)["hum_places"] == places


def test_long_windows_are_thinned_out_evenly_in_a_long_file() -> None:
    """Half an hour: the hum is found, and the place named is within the file."""
    tone = sine(50, 2000, 1800, level_dbfs=-45) + sine(100, 2000, 1800, level_dbfs=-50)
    found = readings(Hum, tone * [1.0, 1.0] + noise(2000, 1800, level_dbfs=-30), 2000)
    assert found["hum_throughout"] is True
    assert 0 <= found["hum_places_at_s"][0] < 1800


def test_what_cannot_be_looked_at_is_named() -> None:
    assert set(why(Clicks, chord(22_050, 3), 22_050).values()) == {"only from 32 kHz on"}
    assert set(why(Hum, chord(44_100, 1), 44_100).values()) == {"too short: under 2 s"}
    assert set(why(Hum, np.zeros((200_000, 2)), 44_100).values()) == {"the file is silent"}
    assert why(Hum, chord(44_100, 8), 44_100)["hum_hz"] == "no hum found"


@pytest.mark.parametrize("before", [0, 3, 5])
@pytest.mark.parametrize("lengths", [1, 2, 7, 8, 9, [3, 30, 1], 100])
def test_stretches_are_the_same_however_sound_is_cut(before: int, lengths: int | list[int]) -> None:
    sound = np.arange(100.0)[:, None] * [1, -1]
    stretches, at = Stretches(2, 8, before), 0
    for block in cut(sound, lengths):
        for piece, frame in stretches.pieces(block.T):
            assert frame == at
            expected = np.concatenate([np.zeros((before, 2)), sound])[at : at + piece.shape[1]]
            assert (piece == expected.T).all()
            at += piece.shape[1] - before
    assert at == 96


def test_recent_sound_is_available_in_any_part() -> None:
    sound, lately, end = np.arange(50.0)[:, None] * [1, -1], Lately(10), 0
    for block in cut(sound, [3, 1, 20, 4, 7]):
        lately.append(block.T)
        end += len(block)
        for first in range(max(0, end - 10), end):
            for last in range(first + 1, end + 1):
                kept = lately.channel(1, first, last)
                assert kept is not None
                assert (kept == sound[first:last, 1]).all()
        assert lately.channel(0, end - 1, end + 1) is None


@pytest.mark.parametrize("louder_db", [0, 20])
def test_outstanding_clicks_in_a_song_that_clicks_throughout(louder_db: float) -> None:
    """Sixty equally strong clicks in thirty seconds are style; three that are ten times as strong are not."""
    sound = noise(48_000, 30, level_dbfs=-50)
    at = 24_000 * np.arange(1, 59)
    sound[at] += 0.06
    sound[at[[9, 29, 49]]] += 0.06 * (10 ** (louder_db / 20) - 1)
    found = readings(Clicks, sound, 48_000)
    assert found["click_places"] == len(at)
    expected = tuple(at[[9, 29, 49]] / 48_000) if louder_db else ()
    assert found["click_places_outstanding"] == len(expected)
    assert found["click_places_outstanding_at_s"] == pytest.approx(expected, abs=0.0005)


def test_soft_clicks_are_listed_and_only_strong_ones_are_outstanding() -> None:
    """A spike of 1/30 and one of 1/3 full scale in noise of -60 dBFS rms: about 30 and 50 dB over it."""
    sound = noise(44_100, 6, channels=1, level_dbfs=-60)
    for at_s, level in ((2, 1 / 30), (4, 1 / 3)):
        sound[at_s * 44_100] = level
    found = readings(Clicks, sound, 44_100)
    strengths = {round(at_s): over_db for at_s, _, over_db in found["click_places_ranked"]}
    assert 24 < strengths[2] < CLICK_STANDS_OUT_DB < strengths[4]
    assert found["click_places_outstanding_at_s"] == pytest.approx((4.0,), abs=0.001)


def test_outstanding_places_depend_on_their_number() -> None:
    """Twenty are few, whatever their length; more than ten a minute are many."""
    strengths_db = [10.0] * 20 + [30.0]
    assert outstanding_from_db(strengths_db[1:], 0.1) == outstanding_from_db(strengths_db, 2.2) == -np.inf
    assert outstanding_from_db(strengths_db, 2.0) == 16.0
    assert outstanding_from_db([8.0, 10.0, 12.0] * 10, 2.0) == 20.0


def test_places_are_grouped_ranked_and_few() -> None:
    places = Places(apart=10)
    for k in range(40):
        places.add(Place(100 * k, 1, float(k)))
        places.add(Place(100 * k + 9, 2, k + 0.5))
    assert places.count == 40
    assert len(places.ranked) == KEPT
    assert places.ranked[0] == Place(3909, 0, 39.5)
    assert places.strengths == [k + 0.5 for k in range(40)]
    assert places.many(1.0)
    assert not places.many(4.0)


@pytest.mark.parametrize("rate_hz", RATES)
def test_clicks_near_both_ends_of_a_file_are_found(rate_hz: int) -> None:
    """By construction: 15 ms from either end; closer ones have too little sound beside them."""
    sound = chord(rate_hz, 2.0)
    ends = (round(0.015 * rate_hz), len(sound) - round(0.015 * rate_hz))
    for at in ends:
        sound[at, :] += 0.1
    found = readings(Clicks, sound, rate_hz)
    assert found["click_places_at_s"] == pytest.approx([at / rate_hz for at in ends], abs=8 / 44_100)


def test_clicks_under_loud_bass_are_found_though_the_waveform_is_steeper_than_they_are() -> None:
    """What whitening is for: -30 dBFS beside a saw-like bass at -3 dBFS, whose steps are as large."""
    t = np.arange(6 * 44_100) / 44_100
    bass = sum(np.sin(2 * np.pi * 55 * n * t + n * n) / n for n in range(1, 60))
    sound = 0.7 * bass[:, None] / np.abs(bass).max() * [1.0, 1.0] + noise(44_100, 6, level_dbfs=-75)
    for at in (60_000, 120_000, 180_000):
        sound[at, :] += 10 ** (-30 / 20)
    assert np.abs(np.diff(sound[:50_000, 0])).max() > 10 ** (-30 / 20)
    assert readings(Clicks, sound, 44_100)["click_places_at_s"] == pytest.approx(
        [60_000 / 44_100, 120_000 / 44_100, 180_000 / 44_100], abs=0.0005
    )


def test_a_train_of_clicks_is_reported() -> None:
    """Eight in half a second, as bad digital transfers make them: each is listed, or those 50 ms apart are."""
    sound = chord(44_100, 6.0)
    for k in range(8):
        sound[100_000 + 3_000 * k, :] += 0.05
    assert readings(Clicks, sound, 44_100)["click_places"] == 8
