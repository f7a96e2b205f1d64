"""Rate conversion, held against what sampling theory says and against an independent conversion by FFT.

Limits: passband to 20 kHz within 0.01 dB (libsoxr's documentation), aliases under -140 dB in the floating chain (the
documentation promises 168 dB of rejection), length the rounded product. Alignment by an impulse on a common instant.
"""

from __future__ import annotations

from math import gcd

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.chain.render_steps import converted_frames, rated
from tests.signals import noise, sine

Array = NDArray[np.float64]
PAIRS = [(96_000, 44_100), (88_200, 44_100), (192_000, 44_100), (48_000, 44_100), (96_000, 48_000), (44_100, 48_000)]


def converted(x: Array, from_hz: int, to_hz: int, frames_a_block: int = 65_536) -> Array:
    blocks = (x[start : start + frames_a_block] for start in range(0, len(x), frames_a_block))
    return np.concatenate(list(rated(blocks, from_hz, to_hz, x.shape[1], len(x))))


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
def test_what_lies_above_the_new_half_rate_is_gone(from_hz: int, to_hz: int) -> None:
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
    x = noise(from_hz, 2, channels=2)
    spectrum = np.fft.rfft(x, axis=0)
    spectrum[np.fft.rfftfreq(len(x), 1 / from_hz) > 14_000] = 0
    x = np.fft.irfft(spectrum, len(x), axis=0) * np.hanning(len(x))[:, None] ** 2
    difference = converted(x, from_hz, to_hz) - by_fft(x, from_hz, to_hz)
    assert 10 * np.log10((difference**2).sum() / (by_fft(x, from_hz, to_hz) ** 2).sum()) < -130


@pytest.mark.parametrize(("from_hz", "to_hz"), PAIRS)
def test_ends_sound_as_if_silence_stood_around(from_hz: int, to_hz: int) -> None:
    """A file that starts and stops at full tilt: neither end is shifted, faded or repeated."""
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
