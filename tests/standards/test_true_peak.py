"""True peak against ITU-R BS.1770-5, Annex 2, the signals of EBU Tech 3341 (2023), and the waveform itself."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.dsp.peaks.interpolation import PLACES, interpolators
from delivery.meters.true_peak import TruePeak
from tests.meters.memory import readings
from tests.music import PIECES, loud_master, needs_music

Array = NDArray[np.float64]

RATES_HZ = (44_100, 48_000, 88_200, 96_000, 192_000)
ABOVE_DB, BELOW_DB = 0.2, 0.4
"""Tolerance of Tech 3341 for true peaks."""


def faded(wave: Array, rate_hz: int, seconds: float = 0.01) -> Array:
    ramp = np.minimum(np.arange(len(wave)) / (seconds * rate_hz), 1)
    return wave * ramp * ramp[::-1]


def true_peak(wave: Array, rate_hz: int) -> float:
    found = readings(TruePeak, np.stack([wave, wave], axis=1), rate_hz)
    return float(found["true_peak_dbtp"])


@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize(
    ("number", "division", "phase_deg", "amplitude", "expected_dbtp"),
    [
        (15, 4, 0.0, 0.50, -6.0),
        (16, 4, 45.0, 0.50, -6.0),
        (17, 6, 60.0, 0.50, -6.0),
        (18, 8, 67.5, 0.50, -6.0),
        (19, 4, 45.0, 1.41, 3.0),
    ],
)
def test_ebu_15_to_19_tones(
    rate_hz: int, number: int, division: int, phase_deg: float, amplitude: float, expected_dbtp: float
) -> None:
    """Tech 3341, signals 15 to 19: tones whose samples miss their peaks."""
    n = np.arange(rate_hz)
    tone = faded(amplitude * np.sin(2 * np.pi * n / division + np.deg2rad(phase_deg)), rate_hz)
    assert -BELOW_DB <= true_peak(tone, rate_hz) - expected_dbtp <= ABOVE_DB, number


def spliced(offset: int, rate_hz: int) -> Array:
    """Signals 20 to 23: fs/6 at 0.5 with one period of fs/4 at full scale, made at 4 fs, then decimated.

    The document leaves splice and filter open. Here the period goes in at a rising zero crossing, and a Kaiser-windowed
    low-pass of 401 taps at 0.98 of the new half-rate precedes the decimation.
    """
    half = 24 * 1000
    wave = 0.5 * np.sin(2 * np.pi * np.arange(2 * half) / 24)
    fast = faded(np.concatenate([wave[:half], np.sin(2 * np.pi * np.arange(16) / 16), wave[half:]]), 4 * rate_hz)
    taps = np.arange(401) - 200
    low_pass = np.sinc(0.98 * taps / 4) * np.kaiser(401, 10)
    return np.convolve(fast, low_pass / low_pass.sum(), mode="same")[offset::4]


@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("offset", range(4))
def test_ebu_20_to_23_splices(offset: int, rate_hz: int) -> None:
    """Tech 3341, signals 20 to 23: 0 dBTP wherever the samples fall."""
    assert -BELOW_DB <= true_peak(spliced(offset, rate_hz), rate_hz) <= ABOVE_DB


@pytest.mark.thorough(2)
@pytest.mark.parametrize("rate_hz", [*RATES_HZ, 176_400])
def test_worst_under_read_up_to_20_khz(rate_hz: int, record_property: Callable[[str, object], None]) -> None:
    """The figure's own promise: tones up to 20 kHz, at any phase, read at most 0.05 dB low, and never 0.02 dB high.

    The peak of a steady tone is its amplitude; Attachment 1 to Annex 2 of BS.1770-5 gives 20 lg cos(pi f / n) as the
    worst that any meter with n places for each sample must expect: 0.035 dB at 20 kHz, 44.1 kHz and 16 places.
    """
    n = np.arange(round(0.045 * rate_hz))
    fade = np.sin(np.minimum(np.minimum(n, n[::-1]) / (len(n) / 4), 1) * np.pi / 2) ** 2
    exact_ratios = [rate_hz * p / q for q in range(3, 33) for p in range(1, q) if p / q * rate_hz <= 20_000]
    errors = [
        true_peak(0.9 * fade * np.cos(2 * np.pi * f / rate_hz * n + phase), rate_hz) - 20 * np.log10(0.9)
        for f in (*exact_ratios[::6], *np.linspace(50, 20_000, 20))
        for phase in np.pi * np.arange(0.25, 8) / 8
    ]
    record_property("worst under-read", f"{min(errors):.4f} dB")
    record_property("worst over-read", f"{max(errors):.4f} dB")
    print(f"{rate_hz} Hz: worst {min(errors):+.4f} dB, highest {max(errors):+.4f} dB over {len(errors)} tones")
    assert min(errors) >= -0.05
    assert max(errors) <= 0.02


@pytest.mark.parametrize(
    ("rate_hz", "top_hz"), [(44_100, 20_000), (48_000, 20_000), (88_200, 34_000), (96_000, 37_000)]
)
def test_interpolator_is_flat_up_to_20_khz_and_beyond_at_high_rates(rate_hz: int, top_hz: float) -> None:
    """Each place delays a tone by its own share of a sample and leaves its height alone, to 0.005 dB.

    With the worst distance to the nearest place, half of 1/16, that keeps the under-read at 20 kHz within 0.05 dB.
    """
    f = np.linspace(10, top_hz, 500) / rate_hz
    for place, row in enumerate(interpolators(rate_hz)):
        distance = np.arange(len(row)) - (len(row) // 2 - 1) - place / PLACES
        response = np.exp(2j * np.pi * np.outer(f, distance)) @ row
        assert 20 * np.log10(np.abs(response)) == pytest.approx(0, abs=0.0055)
        assert np.angle(response) == pytest.approx(0, abs=1e-3)
    assert 20 * np.log10(np.cos(np.pi * 20_000 / rate_hz / PLACES)) - 0.0055 > -0.05


@pytest.mark.parametrize("seed", range(8))
def test_noise_against_the_waveform_itself(seed: int) -> None:
    """Judge: the discrete Fourier transform, padded 64 times, draws the whole waveform of band-limited noise."""
    frames, rate_hz = 4096, 44_100
    noise = np.random.default_rng(seed).standard_normal(frames)
    spectrum = np.fft.rfft(noise)
    spectrum[np.fft.rfftfreq(frames, 1 / rate_hz) > 19_500] = 0  # the window widens it by less than 500 Hz
    wave = np.fft.irfft(spectrum) * np.hanning(frames) ** 2
    drawn = 64 * np.fft.irfft(np.fft.rfft(wave), 64 * frames)
    exact_dbtp = 20 * np.log10(np.abs(drawn).max())
    assert true_peak(wave, rate_hz) == pytest.approx(exact_dbtp, abs=0.05)
    assert true_peak(wave, rate_hz) <= exact_dbtp + 0.01


class FirstLook(TruePeak):
    """Without the second look: what the sieves find among the places they know."""

    def _look_again(self, *_: object) -> None:
        self._summits[:] = self._peaks


def clipped_at_44_1(seed: int) -> Array:
    """Noise that falls by 12 dB an octave from 2 kHz on, much as music does, driven into a clipper for five seconds."""
    frames, rate_hz = 5 * 44_100, 44_100
    spectrum = np.fft.rfft(np.random.default_rng(seed).standard_normal(frames))
    x = np.fft.irfft(spectrum / (1 + (np.fft.rfftfreq(frames, 1 / rate_hz) / 2_000) ** 2), frames)
    fade = np.minimum(1, np.minimum(np.arange(frames), np.arange(frames)[::-1]) / 2_000)
    return np.asarray(fade * 0.9 * np.clip(2.5 * x / (3 * x.std()), -1, 1))


def by_fourier(wave: Array) -> float:
    """True peak in dB of the waveform drawn by padding its spectrum 32 times."""
    padded = np.concatenate([wave, np.zeros(1_000)])
    drawn = 32 * np.fft.irfft(np.fft.rfft(padded), 32 * len(padded))
    return 20 * float(np.log10(np.abs(drawn).max()))


@pytest.mark.thorough(3)
@pytest.mark.parametrize("seed", range(6))
def test_clipped_sound_against_the_waveform_itself(seed: int) -> None:
    """Clipping leaves sound right up to half the rate, where a short interpolator falls off (0.05 dB low)."""
    wave = clipped_at_44_1(seed)
    assert true_peak(wave, 44_100) == pytest.approx(by_fourier(wave), abs=0.03)


@pytest.mark.thorough(2)
@needs_music
@pytest.mark.parametrize("piece", PIECES[:6], ids=lambda piece: f"piece {PIECES.index(piece) + 1}")
def test_clipped_music_against_the_waveform_itself(piece: Path) -> None:
    x, rate_hz = loud_master(piece, 4.0)
    fade = np.minimum(1, np.minimum(np.arange(len(x)), np.arange(len(x))[::-1]) / 2_000)
    wave = fade * x[:, 0]
    assert true_peak(wave, rate_hz) == pytest.approx(by_fourier(wave), abs=0.03)


def test_every_figure_of_the_highest_point_is_one() -> None:
    """Peak, its channel's, its second's and the first of the places: one height, looked at twice."""
    found = readings(TruePeak, clipped_at_44_1(1)[:, None], 44_100)
    peak = found["true_peak_dbtp"]
    assert max(found["true_peaks_dbtp"]) == max(found["peak_curve_dbtp"]) == pytest.approx(peak, abs=1e-12)
    assert max(dbtp for _, _, dbtp in found["highest_places"]) == pytest.approx(peak, abs=1e-12)


def every_place(wave: Array, rate_hz: int) -> tuple[Array, int]:
    """All 16 places of all intervals, one after the other, without any sieve; and how many are before the sound."""
    rows = interpolators(rate_hz)
    half = rows.shape[1] // 2
    padded = np.concatenate([np.zeros(2 * half - 1), wave, np.zeros(half)])
    return np.stack([np.convolve(padded, row[::-1], mode="valid") for row in rows], axis=1).ravel(), half


def clipped_noise(seed: int) -> Array:
    return np.clip(0.5 * np.random.default_rng(seed).standard_normal(30_000), -0.9, 0.9)


def slow_and_fast(seed: int) -> Array:
    n = np.arange(30_000)
    noise = np.random.default_rng(seed).standard_normal(30_000)
    return 0.7 * np.sin(n / 90) + 0.2 * np.sin(2.7 * n) + 0.02 * noise


def near_half_the_rate(seed: int) -> Array:
    """Beats of tones as fast as samples can hold: here the bounds behind the sieves are tight."""
    n = np.arange(4_000)
    return 0.4 * (np.cos((0.93 + 0.01 * seed) * np.pi * n + seed) + np.cos(0.971 * np.pi * n)) * np.hanning(4_000)


def sound_at_the_very_end(seed: int) -> Array:
    return np.concatenate([np.zeros(3_000), 0.5 * np.random.default_rng(seed).standard_normal(5)])


MATERIAL = [clipped_noise, slow_and_fast, near_half_the_rate, sound_at_the_very_end, lambda s: 0.1 * clipped_noise(s)]


@pytest.mark.parametrize("make", MATERIAL)
@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("rate_hz", [44_100, 96_000])
def test_sieves_lose_nothing(make: Callable[[int], Array], seed: int, rate_hz: int) -> None:
    """The bounds promise it; here all places are computed and compared."""
    wave = make(seed)
    found = readings(FirstLook, wave[:, None], rate_hz)
    places, lead = every_place(wave, rate_hz)
    places = np.abs(places)
    assert found["true_peak_dbtp"] == pytest.approx(20 * np.log10(places.max()), abs=1e-9)
    assert found["true_peak_at_s"] == pytest.approx((np.argmax(places) / PLACES - lead) / rate_hz, abs=1e-9)


def _of_channels(waves: Array, rate_hz: int) -> tuple[Array, int]:
    """Magnitudes, (frames, channels) to (channels, places), and how many places are before the sound."""
    found = [every_place(wave, rate_hz) for wave in waves.T]
    return np.abs(np.stack([places for places, _ in found])), found[0][1]


def highest_of_cells(waves: Array, rate_hz: int) -> tuple[Array, Array, Array]:
    """Height, place in samples and channel of the highest place of each 10 ms, of (frames, channels)."""
    places, lead = _of_channels(waves, rate_hz)
    at = np.arange(places.shape[1]) / PLACES - lead
    cells = np.floor((np.maximum(np.floor(at), 0) + 0.5) * 100 / rate_hz).astype(int)
    starts = np.flatnonzero(np.diff(cells, prepend=-1))
    tops = [start + places[:, start:end].max(axis=0).argmax() for start, end in pairwise([*starts, len(at)])]
    return places[:, tops].max(axis=0), at[tops], places[:, tops].argmax(axis=0) + 1


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("rate_hz", [44_100, 96_000])
def test_separate_places_above_every_ceiling(seed: int, rate_hz: int) -> None:
    """Computed here from all places: a cell of 10 ms higher than both neighbours is a place, identified by its top."""
    swell = np.repeat(np.random.default_rng(seed).uniform(0.3, 1.2, (60, 2)), 500, axis=0)
    waves = np.stack([clipped_noise(seed), clipped_noise(seed + 9)], axis=1) * swell
    height, at, channel = highest_of_cells(waves, rate_hz)
    around = np.concatenate([[0], height, [0]])
    place = np.flatnonzero((height > around[:-2]) & (height >= around[2:]))
    found = readings(FirstLook, waves, rate_hz)
    assert found["ceilings_dbtp"][:3] == (0.0, -0.1, -0.2)
    assert found["ceilings_dbtp"][-1] == -3.0
    for ceiling, count in zip(found["ceilings_dbtp"], found["places_above_ceilings"], strict=True):
        assert count == np.count_nonzero(height[place] > 10 ** (ceiling / 20)), ceiling
    assert found["overs_count"] == found["places_above_ceilings"][0] > 5
    worst = sorted(place, key=lambda k: -height[k])[:10]
    expected = sorted((at[k] / rate_hz, channel[k], 20 * np.log10(height[k])) for k in worst)
    assert np.array(found["highest_places"]) == pytest.approx(np.array(expected))
    assert found["overs"] == tuple(over for over in found["highest_places"] if over[2] > 0)


def test_places_closer_than_a_cell_are_one_and_further_than_two_are_several() -> None:
    """Spikes 9 ms apart, then 21 ms apart, wherever the cells fall."""
    for offset in range(0, 480, 37):
        sound = np.zeros((48_000, 1))
        sound[[10_000 + offset, 10_432 + offset, 20_000 + offset, 21_008 + offset]] = 0.95
        assert readings(TruePeak, sound, 48_000)["places_above_ceilings"][-1] == 3


@pytest.mark.thorough(2)
@pytest.mark.parametrize("rate_hz", [8_000, 44_100, 96_000])
@pytest.mark.parametrize("block", [1, 700, 10**6])
def test_peak_of_each_channel_and_each_second(rate_hz: int, block: int) -> None:
    """Computed here from all places; half a second at the end is a second too."""
    n = round(2.5 * rate_hz) if block > 1 else round(1.1 * rate_hz) // 4
    waves = np.random.default_rng(1).standard_normal((n, 3)) * [0.1, 0.02, 0] * np.linspace(0.2, 1, n)[:, None]
    found = readings(FirstLook, waves, rate_hz, block)
    places, lead = _of_channels(waves, rate_hz)
    second = np.maximum(np.arange(places.shape[1]) // PLACES - lead, 0) // rate_hz
    second = np.minimum(second, (n - 1) // rate_hz)
    curve = [20 * np.log10(places[:, second == k].max()) for k in range(second[-1] + 1)]
    assert found["peak_curve_dbtp"] == pytest.approx(curve)
    with np.errstate(divide="ignore"):
        peaks, samples = (np.maximum(20 * np.log10(x), -120) for x in (places.max(axis=1), np.abs(waves).max(axis=0)))
    assert found["true_peaks_dbtp"] == pytest.approx(peaks)
    assert found["sample_peaks_dbfs"] == pytest.approx(samples)


@pytest.mark.parametrize("cells", [1000, 1001, 1002, 2002])
def test_it_does_not_matter_where_the_last_cell_ends(cells: int) -> None:
    """Cells are returned in batches; one that is full at the very end is followed by none."""
    sound = np.full((80 * cells - 40, 1), 0.01)
    sound[[400, -400]] = 0.9
    found = readings(TruePeak, sound, 8_000, 4_000)
    assert found["places_above_ceilings"][-1] == 2
    assert len(found["peak_curve_dbtp"]) == -(-cells // 100)


def test_never_below_the_sample_peak() -> None:
    """BS.1770-5, Annex 2 uses samples and what lies between; a meter of only the second can read below the first."""
    spike = np.zeros(1000)
    spike[500] = 0.8
    found = readings(TruePeak, spike[:, None], 48_000)
    assert found["true_peak_dbtp"] == found["sample_peak_dbfs"] == pytest.approx(20 * np.log10(0.8))
    assert found["true_peak_at_s"] == pytest.approx(500 / 48_000)


@pytest.mark.parametrize("at", [0, 999])
def test_first_and_last_sample_count(at: int) -> None:
    """A file begins and ends in silence: sound that is cut there overshoots outside, and the meter looks there too."""
    step = np.zeros(1000)
    step[:500] = 0.9 if at == 0 else 0
    step[500:] = 0 if at == 0 else 0.9
    assert readings(TruePeak, step[:, None], 48_000)["true_peak_dbtp"] > 20 * np.log10(0.9) + 0.5
