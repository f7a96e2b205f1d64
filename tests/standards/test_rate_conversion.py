"""Rate conversion, compared with what sampling theory says and against independent conversions: by FFT, and by the
interpolation formula.

Limits: passband to 20 kHz within 0.01 dB (libsoxr's documentation), aliases under -140 dB in the floating chain (the
documentation promises 168 dB of rejection), length the rounded product. Alignment by an impulse on a common instant.
"""

from __future__ import annotations

from math import gcd

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.chain import render_steps
from delivery.chain.prediction import converted_frames
from delivery.dsp.writing.dither import Requantiser
from tests.signals import noise, sine, stretches

Array = NDArray[np.float64]
PAIRS = [(96_000, 44_100), (88_200, 44_100), (192_000, 44_100), (48_000, 44_100), (96_000, 48_000), (44_100, 48_000)]


def converted(x: Array, from_hz: int, to_hz: int, frames_a_block: int = 65_536) -> Array:
    frames = converted_frames(len(x), from_hz, to_hz)
    sound = stretches(x, frames_a_block)
    return np.concatenate(list(render_steps.converted(sound, from_hz, to_hz, x.shape[1], 0, frames)))


def tones(frequencies_hz: list[float], rate_hz: int, seconds: float = 1.0) -> Array:
    """One full-scale tone a channel, swelling and fading by a squared Hann window so that it stays one line."""
    window = np.hanning(round(seconds * rate_hz))[:, None] ** 2
    return np.hstack([sine(frequency_hz, rate_hz, seconds) for frequency_hz in frequencies_hz]) * window


def by_fft(x: Array, from_hz: int, to_hz: int) -> Array:
    """Ideal band-limiting conversion of a sound that begins and ends in silence: cut or pad its spectrum."""
    frames = len(x) * to_hz // from_hz
    return np.fft.irfft(np.fft.rfft(x, axis=0)[: frames // 2 + 1], frames, axis=0) * to_hz / from_hz


@pytest.mark.parametrize(("from_hz", "to_hz"), PAIRS)
def test_passband_is_flat_to_20_khz(from_hz: int, to_hz: int) -> None:
    frequencies_hz = [20.0, 100.0, 997.0, 5_000.0, 10_000.0, 15_000.0, 18_000.0, 19_000.0, 19_500.0, 20_000.0]
    x = tones(frequencies_hz, from_hz)
    y = converted(x, from_hz, to_hz)
    gain_db = 10 * np.log10((y**2).mean(axis=0) / (x**2).mean(axis=0))
    assert np.abs(gain_db).max() < 0.01


@pytest.mark.parametrize(
    ("from_hz", "to_hz"), [(96_000, 44_100), (192_000, 44_100), (96_000, 48_000), (48_000, 44_100)]
)
def test_nothing_above_the_new_half_rate_remains(from_hz: int, to_hz: int) -> None:
    """Full-scale tones from just above it to the top: whatever is left, at any frequency, is under -140 dB."""
    x = tones(list(np.linspace(to_hz / 2 + 50, from_hz / 2 - 50, 40)), from_hz)
    assert 20 * np.log10(np.abs(converted(x, from_hz, to_hz)).max()) < -140


@pytest.mark.parametrize(("from_hz", "to_hz"), [(44_100, 48_000), (44_100, 96_000)])
def test_raising_the_rate_adds_no_images(from_hz: int, to_hz: int) -> None:
    x = tones([997.0, 10_000.0, 19_900.0], from_hz)
    spectrum = np.abs(np.fft.rfft(converted(x, from_hz, to_hz), axis=0)) / len(x)
    frequencies_hz = np.fft.rfftfreq(round(len(x) * to_hz / from_hz), 1 / to_hz)
    assert 20 * np.log10(spectrum[frequencies_hz > from_hz / 2].max()) < -140


@pytest.mark.parametrize(("from_hz", "to_hz"), PAIRS)
@pytest.mark.parametrize("frames", [1, 2, 3, 100, 4_801, 100_003])
def test_length_is_the_rounded_product(from_hz: int, to_hz: int, frames: int) -> None:
    y = converted(np.ones((frames, 1)), from_hz, to_hz)
    assert len(y) == converted_frames(frames, from_hz, to_hz)
    assert abs(len(y) - frames * to_hz / from_hz) <= 0.5 or len(y) == 1


@pytest.mark.parametrize(
    ("frames", "from_hz", "to_hz", "wanted"),
    [
        (96_000, 96_000, 44_100, 44_100),
        (5, 96_000, 48_000, 3),
        (1, 96_000, 44_100, 1),
        (23_040_000, 96_000, 44_100, 10_584_000),
    ],
)
def test_lengths_worked_by_hand(frames: int, from_hz: int, to_hz: int, wanted: int) -> None:
    assert converted_frames(frames, from_hz, to_hz) == wanted


@pytest.mark.parametrize(("from_hz", "to_hz"), PAIRS)
def test_an_impulse_stays_where_it_was(from_hz: int, to_hz: int) -> None:
    """On an instant both rates share; and the response about it is symmetric: linear phase, whole delay removed."""
    common = gcd(from_hz, to_hz)
    at_in, at_out = 40 * from_hz // common, 40 * to_hz // common
    x = np.zeros((2 * at_in, 1))
    x[at_in] = 1.0
    y = converted(x, from_hz, to_hz)[:, 0]
    reach = min(at_out, len(y) - at_out - 1, 1000)
    assert np.abs(y).argmax() == at_out
    assert y[at_out - reach : at_out] == pytest.approx(y[at_out + 1 : at_out + reach + 1][::-1], abs=1e-7)


@pytest.mark.parametrize(("from_hz", "to_hz"), PAIRS)
def test_null_against_conversion_by_fft(from_hz: int, to_hz: int) -> None:
    """Noise below 14 kHz, faded: the difference lies more than 130 dB under the sound.

    Nearer to 20 kHz the converter's own droop of up to 0.01 dB, held above, is all that would be seen.
    """
    x = below(noise(from_hz, 2, channels=2), from_hz, 14_000)
    difference = converted(x, from_hz, to_hz) - by_fft(x, from_hz, to_hz)
    assert 10 * np.log10((difference**2).sum() / (by_fft(x, from_hz, to_hz) ** 2).sum()) < -130


def by_sinc(x: Array, from_hz: int, to_hz: int, at: NDArray[np.int64]) -> Array:
    """Values at the output instants *at* of sound that lies below 14 kHz: the interpolation formula, in double.

    The kernel passes 14 kHz, stops at the images (rate less 14 kHz) and is wide in between, so 128 taps under a Kaiser
    window of 200 dB reach it (Kaiser's design formula, from memory).
    """
    reach, beta = 64, 0.1102 * (200 - 8.7)
    when = at * (from_hz / to_hz)
    first = np.floor(when).astype(np.int64) - reach + 1
    apart = when[:, None] - (first[:, None] + np.arange(2 * reach))
    kernel = np.sinc(apart) * np.i0(beta * np.sqrt(np.maximum(0, 1 - (apart / reach) ** 2))) / np.i0(beta)
    return np.stack([(x[first[:, None] + np.arange(2 * reach), c] * kernel).sum(axis=1) for c in range(x.shape[1])], 1)


def below(x: Array, rate_hz: int, highest_hz: float) -> Array:
    """Without anything above *highest_hz*, and faded."""
    spectrum = np.fft.rfft(x, axis=0)
    spectrum[np.fft.rfftfreq(len(x), 1 / rate_hz) > highest_hz] = 0
    return np.fft.irfft(spectrum, len(x), axis=0) * np.hanning(len(x))[:, None] ** 2


@pytest.mark.parametrize(("from_hz", "to_hz"), PAIRS)
def test_null_against_the_interpolation_formula(from_hz: int, to_hz: int) -> None:
    """At 3000 instants anywhere, an independent exact method; the difference is 130 dB under the sound."""
    x = below(noise(from_hz, 1), from_hz, 14_000)
    y = converted(x, from_hz, to_hz)
    at = np.sort(np.random.default_rng(1).integers(to_hz // 10, len(y) - to_hz // 10, 3_000))
    exact = by_sinc(x, from_hz, to_hz, at)
    assert 10 * np.log10(((y[at] - exact) ** 2).sum() / (exact**2).sum()) < -130


@pytest.mark.parametrize("by_way_of_hz", [48_000, 96_000, 192_000])
def test_there_and_back_again(by_way_of_hz: int) -> None:
    """44.1 kHz up and down again: length and place are what they were; below 14 kHz the difference is 124 dB down (130
    for one conversion, and two may add up: 6 more); to 20 kHz the level keeps within twice what one may cost, 0.01 dB.
    """
    x = below(noise(44_100, 2), 44_100, 14_000)
    y = converted(converted(x, 44_100, by_way_of_hz), by_way_of_hz, 44_100)
    assert y.shape == x.shape
    assert 10 * np.log10(((y - x) ** 2).sum() / (x**2).sum()) < -124
    high = tones([15_000.0, 18_000.0, 20_000.0], 44_100)
    again = converted(converted(high, 44_100, by_way_of_hz), by_way_of_hz, 44_100)
    assert np.abs(10 * np.log10((again**2).mean(axis=0) / (high**2).mean(axis=0))).max() < 0.02


def sweep(rate_hz: int, seconds: float, from_hz: float, to_hz: float) -> tuple[Array, Array]:
    """A full-scale sine whose frequency rises evenly, with silence around it; and its frequency at each instant."""
    t = np.arange(round(seconds * rate_hz)) / rate_hz
    slope = (to_hz - from_hz) / seconds
    wave = np.sin(2 * np.pi * (from_hz * t + slope * t**2 / 2))
    edge = np.minimum(1, np.minimum(t, t[::-1]) / 0.05)
    return (wave * np.sin(np.pi / 2 * edge) ** 2)[:, None], from_hz + slope * t


@pytest.mark.parametrize(("from_hz", "to_hz"), [(96_000, 44_100), (192_000, 44_100), (96_000, 48_000)])
def test_a_swept_sine_stays_itself_and_then_is_gone(from_hz: int, to_hz: int) -> None:
    """From 100 Hz to the top in 8 s. Below 14 kHz it equals the sine (by the interpolation formula); once it has
    passed the new half-rate nothing is left at any frequency: every alias there could be would fall into that time.
    """
    x, frequency_hz = sweep(from_hz, 8, 100, from_hz / 2 - 500)
    y = converted(x, from_hz, to_hz)
    in_band = int(np.searchsorted(frequency_hz, 13_000) * to_hz / from_hz)
    at = np.sort(np.random.default_rng(1).integers(to_hz // 10, in_band, 3_000))
    assert np.abs(y[at] - by_sinc(x, from_hz, to_hz, at)).max() < 10 ** (-130 / 20)
    gone = int(np.searchsorted(frequency_hz, to_hz / 2 + 400) * to_hz / from_hz)
    assert 20 * np.log10(np.abs(y[gone:]).max()) < -140


@pytest.mark.parametrize(("from_hz", "to_hz"), [(96_000, 44_100), (96_000, 48_000), (44_100, 48_000)])
def test_24_bit_result_has_no_aliases_and_no_images(from_hz: int, to_hz: int) -> None:
    """Tones at -1 dBFS beyond the new half-rate, or below it where the rate is raised, all the way to dithered samples:
    what is no tone is the dither's -141.5 dB (re a full-scale sine) and no line of its spectrum reaches -160 dB.
    """
    top_hz = min(from_hz, to_hz) / 2
    wanted = [997.0, 19_900.0] if to_hz > from_hz else list(np.linspace(top_hz + 100, from_hz / 2 - 100, 8))
    x = 10 ** (-1 / 20) * tones(wanted, from_hz, seconds=4)
    y = converted(x, from_hz, to_hz)
    values = Requantiser(24, "tpdf", to_hz, x.shape[1], "seed").update(y) * 2.0**-31
    window = np.hanning(len(values))[:, None] ** 2
    lines_db = 20 * np.log10(np.abs(np.fft.rfft(values * window, axis=0)) * 2 / window.sum() + 1e-30)
    frequencies_hz = np.fft.rfftfreq(len(values), 1 / to_hz)
    foreign = np.ones(lines_db.shape, bool)
    for channel, tone_hz in enumerate(wanted if to_hz > from_hz else []):
        foreign[np.abs(frequencies_hz - tone_hz) < 20, channel] = False
    assert lines_db[foreign].max() < -160
    if to_hz < from_hz:
        assert 10 * np.log10(values.var() / 0.5) == pytest.approx(-141.48, abs=0.1)


@pytest.mark.parametrize(("from_hz", "to_hz"), PAIRS)
def test_ends_sound_as_if_silence_stood_around(from_hz: int, to_hz: int) -> None:
    """A file that starts and stops at full level: neither end is shifted, faded or repeated."""
    common = gcd(from_hz, to_hz)
    pad_in, pad_out = 60 * from_hz // common, 60 * to_hz // common
    x = noise(from_hz, 0.2, channels=1)
    silence = np.zeros((pad_in, 1))
    long = converted(np.concatenate([silence, x, silence]), from_hz, to_hz)
    y = converted(x, from_hz, to_hz)
    assert y == pytest.approx(long[pad_out : pad_out + len(y)], abs=1e-8)


@pytest.mark.parametrize("frames_a_block", [1, 17, 4096])
def test_block_size_does_not_matter(frames_a_block: int) -> None:
    x = noise(96_000, 0.2)
    assert np.array_equal(converted(x, 96_000, 44_100, frames_a_block), converted(x, 96_000, 44_100))
