"""Frames that a lossy coder left in the sound: found through dither, gain and a limiter; nowhere else."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.meters.lossy_signs import LossyFrames
from tests.benchmarks.planted.material import KINDS
from tests.coders import coded
from tests.meters.memory import cut, facts, readings, why
from tests.signals import noise, sine

Array = NDArray[np.float64]
RATE_HZ = 44_100


def band(seed: int, rate_hz: int = RATE_HZ, seconds: float = 8.0) -> Array:
    """Coloured noise in beats, each channel its own: the coder has something to do in every band."""
    wide = noise(rate_hz, seconds, seed=seed)
    spectrum = np.fft.rfft(wide, axis=0)
    hz = np.fft.rfftfreq(len(wide), 1 / rate_hz)
    spectrum /= np.sqrt(np.maximum(hz, 60))[:, None]
    beats = 0.3 + np.abs(np.sin(2 * np.pi * np.arange(len(wide)) / rate_hz))[:, None]
    shaped = np.fft.irfft(spectrum, len(wide), axis=0) * beats
    return np.asarray(0.5 * shaped / np.abs(shaped).max())


def stored(sound: Array, bits: int) -> Array:
    rng = np.random.default_rng(bits)
    steps = 2 ** (bits - 1)
    return np.asarray(np.rint(sound * steps + rng.random(sound.shape) - rng.random(sound.shape)) / steps)


def limited(sound: Array) -> Array:
    """A gain that follows the loudness of 10 ms, smoothly, down to a ceiling."""
    power = np.convolve((sound**2).max(axis=1), np.hanning(441) / 220, "same")
    return sound * (0.1 / np.maximum(np.sqrt(power), 0.1))[:, None]


@pytest.mark.thorough(2)
@pytest.mark.parametrize("rate_hz", [44_100, 48_000])
@pytest.mark.parametrize(("coder", "bitrate_kbps"), [("MP3", 128), ("MP3", 192), ("AAC", 128), ("AAC", 192)])
def test_frames_show(coder: str, bitrate_kbps: int, rate_hz: int) -> None:
    """Encoders of other people (LAME and FFmpeg's AAC, by PyAV); the decoded sound turned down, dithered to 16 bits."""
    sound = stored(0.7 * coded(band(1, rate_hz), rate_hz, coder, bitrate_kbps), 16)
    assert readings(LossyFrames, sound, rate_hz)["lossy_coder"] == coder


@pytest.mark.parametrize("coder", ["MP3", "AAC"])
def test_frames_show_through_a_limiter(coder: str) -> None:
    sound = stored(limited(coded(band(2), RATE_HZ, coder, 160)), 24)
    assert readings(LossyFrames, sound[1234:], RATE_HZ)["lossy_coder"] == coder


@pytest.mark.parametrize("coder", ["MP3", "AAC"])
def test_one_channel_will_do(coder: str) -> None:
    sound = stored(coded(band(3), RATE_HZ, coder, 128), 24)
    assert readings(LossyFrames, sound[:, :1], RATE_HZ)["lossy_coder"] == coder


def test_the_same_sound_uncoded_shows_none() -> None:
    for seed in (1, 2, 3):
        assert readings(LossyFrames, stored(band(seed), 16), RATE_HZ)["lossy_coder"] == "none"


@pytest.mark.thorough(3)
@pytest.mark.parametrize("kind", list(KINDS))
def test_genuine_sound_shows_none(kind: str) -> None:
    """Music-like sounds by formula, those that repeat exactly among them."""
    player, _ = KINDS[kind]
    sound = player(np.random.default_rng(len(kind)), RATE_HZ, 6 * RATE_HZ)
    assert readings(LossyFrames, stored(0.5 * sound / np.abs(sound).max(), 24), RATE_HZ)["lossy_coder"] == "none"


@pytest.mark.parametrize("period", [64, 512, 576, 1024, 1152])
@pytest.mark.parametrize("wave", ["one", "pulse", "noise"])
def test_what_repeats_with_a_coder_s_frames_shows_none(period: int, wave: str) -> None:
    """The same angles again in every frame, which is what the grid is known by; but at many places at once."""
    loop = {
        "one": np.sin(2 * np.pi * np.arange(period) / period) ** 5,
        "pulse": np.where(np.arange(period) < period // 4, 1.0, -1.0 / 3),
        "noise": np.random.default_rng(period).standard_normal(period) / 4,
    }[wave]
    sound = 0.4 * np.tile(loop, 6 * RATE_HZ // period)[:, None] * [1.0, 0.8]
    assert readings(LossyFrames, stored(sound, 16), RATE_HZ)["lossy_coder"] in ("none", None)


@pytest.mark.parametrize("hz", [5512.5, 44_100 / 1024 * 232.5, 44_100 / 1152 * 149.5, 7000.0])
def test_a_tone_shows_none(hz: float) -> None:
    sound = sine(hz, RATE_HZ, 6) * [0.5, 0.4]
    assert readings(LossyFrames, stored(sound, 24), RATE_HZ)["lossy_coder"] in ("none", None)


@pytest.mark.parametrize("bitrate_kbps", [96, 128])
@pytest.mark.parametrize(("coder_hz", "rate_hz"), [(44_100, 48_000), (48_000, 44_100)])
def test_frames_show_after_a_conversion_of_rate(coder_hz: int, rate_hz: int, bitrate_kbps: int) -> None:
    """FFmpeg's AAC, then libsoxr; the start is cut off, so that the frames begin between two samples."""
    import soxr

    decoded = coded(band(4, coder_hz), coder_hz, "AAC", bitrate_kbps)
    sound = stored(0.7 * soxr.resample(decoded, coder_hz, rate_hz, "VHQ")[1234:], 16)
    found = readings(LossyFrames, sound, rate_hz)
    assert (found["lossy_coder"], found["lossy_coder_rate_hz"]) == ("AAC", coder_hz)


@pytest.mark.parametrize("rate_hz", [44_100, 48_000])
def test_converted_sound_that_was_not_coded_shows_none(rate_hz: int) -> None:
    import soxr

    other_hz = 92_100 - rate_hz
    sound = stored(soxr.resample(band(4, other_hz), other_hz, rate_hz, "VHQ"), 16)
    assert readings(LossyFrames, sound, rate_hz)["lossy_coder"] == "none"


def test_what_was_converted_otherwise_is_beyond_it() -> None:
    """What is reported not to be covered: MP3 after a conversion, and rates that are not tried."""
    import soxr

    for coder, middle_hz in (("MP3", RATE_HZ), ("AAC", 32_000)):
        sound = soxr.resample(coded(band(4, middle_hz), middle_hz, coder, 128), middle_hz, 48_000, "VHQ")
        assert readings(LossyFrames, stored(sound, 24), 48_000)["lossy_coder"] == "none"


@pytest.mark.parametrize(
    ("rate_hz", "coding", "bits", "reason"),
    [
        (96_000, "pcm", 24, "cannot be decided above 48 kHz"),
        (44_100, "mp3", None, "mp3 is lossy itself"),
    ],
)
def test_where_it_does_not_apply(rate_hz: int, coding: str, bits: int | None, reason: str) -> None:
    sound = noise(rate_hz, 6)
    running = LossyFrames(facts(sound, rate_hz, coding, bits))
    for block in cut(sound, 32_768):
        running.update(block)
    assert {reading.why_missing for reading in running.result()} == {reason}


def test_what_gives_no_result() -> None:
    assert why(LossyFrames, noise(RATE_HZ, 4.9), RATE_HZ)["lossy_coder"] == "too short: under 5 s"
    assert why(LossyFrames, np.zeros((6 * RATE_HZ, 2)), RATE_HZ)["lossy_coder"] == "the file is silent"
    dull = stored(sine(60, RATE_HZ, 8) * [0.5, 0.5], 24)
    assert why(LossyFrames, dull, RATE_HZ)["lossy_coder"] == "too dull to tell"
