"""Third-octaves, the end of the band, and the marks of an earlier, lower rate."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
import soxr
from numpy.typing import NDArray

from delivery.dsp.spectrum.images import Images
from delivery.meters.spectrum import Spectrum
from tests.coders import coded
from tests.meters.memory import readings, why
from tests.signals import noise, sine

Array = NDArray[np.float64]


def music(rate_hz: int, seconds: float, *, slope_db: float, seed: int, level_dbfs: float = -18) -> Array:
    """Noise that falls by *slope_db* an octave from 100 Hz on, up to half the rate, in beats."""
    wide = noise(rate_hz, seconds, seed=seed)
    spectrum = np.fft.rfft(wide, axis=0)
    hz = np.fft.rfftfreq(len(wide), 1 / rate_hz)
    spectrum *= 10 ** (-slope_db * np.log2(np.maximum(hz, 100) / 100) / 20)[:, None]
    spectrum[hz < 20] = 0
    shaped = np.fft.irfft(spectrum, len(wide), axis=0)
    beats = 0.3 + np.abs(np.sin(2 * np.pi * np.arange(len(wide)) / rate_hz))[:, None]
    shaped *= beats
    return shaped / shaped.std() * 10 ** (level_dbfs / 20)


def stored(sound: Array, bits: int, seed: int = 5) -> Array:
    """Dithered and rounded, as a file of that word length holds it."""
    rng = np.random.default_rng(seed)
    tpdf = rng.uniform(-0.5, 0.5, sound.shape) + rng.uniform(-0.5, 0.5, sound.shape)
    return np.rint(sound * 2 ** (bits - 1) + tpdf) / 2 ** (bits - 1)


def upsampled_from(sound: Array, rate_hz: int) -> int | None:
    found: int | None = readings(Spectrum, sound, rate_hz)["upsampled_from_hz"]
    return found


@pytest.mark.parametrize(("rate_hz", "bands"), [(44_100, 29), (96_000, 30)])
def test_white_noise_rises_by_a_decibel_a_band(rate_hz: int, bands: int) -> None:
    """IEC 61260-1: bands have constant relative width, so white noise has 1 dB more in each (10 lg 10^0.1)."""
    found = readings(Spectrum, noise(rate_hz, 45), rate_hz)
    levels = np.array(found["third_octave_db"])
    assert len(levels) == bands  # the band at 20 kHz ends at 22.4 kHz and does not fit under 22.05
    assert np.diff(levels[12:]) == pytest.approx(1.0, abs=0.3)  # the lowest bands hold few bins
    assert np.polyfit(range(bands - 6), levels[6:], 1)[0] == pytest.approx(1.0, abs=0.02)
    assert 10 * np.log10(np.sum(10 ** (levels / 10))) == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("centre_hz", [25.1189, 63.0957, 1000.0, 7943.28, 19952.6])
def test_a_tone_lies_in_its_band(centre_hz: float) -> None:
    found = readings(Spectrum, sine(centre_hz, 48_000, 5) * [0.5, 0.5], 48_000)
    at = int(np.argmax(found["third_octave_db"]))
    assert found["third_octave_hz"][at] == pytest.approx(centre_hz, rel=1e-3)
    leak_db = 2 if centre_hz < 30 else 0.5  # the lowest bands are as narrow as the window's own response
    assert found["third_octave_db"][at] == pytest.approx(0, abs=leak_db)


def test_silence_is_left_out() -> None:
    loud = noise(48_000, 4)
    with_silence = np.concatenate([loud, np.zeros((480_000, 2))])
    one, other = (readings(Spectrum, sound, 48_000)["third_octave_db"] for sound in (loud, with_silence))
    assert one[12:] == pytest.approx(other[12:], abs=0.2)
    assert one[:12] == pytest.approx(other[:12], abs=1.0)  # windows of 1.4 s hear the edges of 4 s of noise otherwise


@pytest.mark.parametrize("edge_hz", [11_025, 16_000, 19_000])
def test_band_edge(edge_hz: int) -> None:
    """Band-limited by a resampler there and back; its pass band ends at 0.913 of the lower half-rate."""
    sound = music(44_100, 12, slope_db=3, seed=1)
    limited = soxr.resample(soxr.resample(sound, 44_100, 2 * edge_hz, "VHQ"), 2 * edge_hz, 44_100, "VHQ")
    found = readings(Spectrum, stored(limited, 24), 44_100)["band_edge_hz"]
    assert 0.91 * edge_hz <= found <= 1.01 * edge_hz


def test_full_band_has_no_edge() -> None:
    assert why(Spectrum, music(44_100, 12, slope_db=3, seed=1), 44_100)["band_edge_hz"] == "no steep end of the band"


CONVERSIONS = [
    (44_100, 96_000),
    (44_100, 88_200),
    (48_000, 96_000),
    (44_100, 192_000),
    (96_000, 192_000),
    (88_200, 176_400),
    (44_100, 48_000),
]


@pytest.mark.thorough(4)
@pytest.mark.parametrize(("from_hz", "to_hz"), CONVERSIONS)
@pytest.mark.parametrize("quality", ["VHQ", "HQ", "MQ"])
def test_upsampled_music_is_found(from_hz: int, to_hz: int, quality: str) -> None:
    """Sound that fills its band, raised by an independent resampler."""
    sound = soxr.resample(music(from_hz, 12, slope_db=3, seed=from_hz), from_hz, to_hz, quality)
    assert upsampled_from(stored(sound, 24), to_hz) == from_hz


def by_ffmpeg(sound: Array, from_hz: int, to_hz: int) -> Array:
    """Raised by the converter of FFmpeg's libraries, whose usual filter leaves images for several kilohertz."""
    import av

    frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(sound.T), format="dblp", layout="stereo")
    frame.sample_rate = from_hz
    converter = av.AudioResampler(format="dblp", layout="stereo", rate=to_hz)
    return np.concatenate([made.to_ndarray() for made in [*converter.resample(frame), *converter.resample(None)]], 1).T


def by_soxr(quality: str) -> Callable[[Array, int, int], Array]:
    return lambda sound, from_hz, to_hz: np.asarray(soxr.resample(sound, from_hz, to_hz, quality))


GENTLE = {"ffmpeg": by_ffmpeg, "soxr LQ": by_soxr("LQ"), "soxr QQ": by_soxr("QQ")}


@pytest.mark.thorough(5)
@pytest.mark.parametrize("slope_db", [3, 9])
@pytest.mark.parametrize(
    ("from_hz", "to_hz"), [(44_100, 96_000), (44_100, 192_000), (48_000, 96_000), (44_100, 48_000)]
)
@pytest.mark.parametrize("converter", GENTLE)
def test_a_gentle_converter_is_given_the_rate_it_came_from(
    converter: str, from_hz: int, to_hz: int, slope_db: float
) -> None:
    """Their images hide the edge, or move it to where another rate's would be; the mirror is at the true one."""
    sound = GENTLE[converter](0.8 * music(from_hz, 12, slope_db=slope_db, seed=from_hz), from_hz, to_hz)
    assert upsampled_from(stored(sound, 24), to_hz) == from_hz


@pytest.mark.thorough(3)
@pytest.mark.parametrize("quality", ["VHQ", "HQ", "MQ", "LQ"])
@pytest.mark.parametrize("slope_db", [3, 9])
def test_music_lowered_to_48_khz_is_not_accused(quality: str, slope_db: float) -> None:
    sound = soxr.resample(0.8 * music(96_000, 12, slope_db=slope_db, seed=4), 96_000, 48_000, quality)
    assert upsampled_from(stored(sound, 24), 48_000) == 0


def repeated(rate_hz: int, frames: int, seed: int, *, noise_dbfs: float) -> Array:
    """One short sample again and again, at other levels."""
    rng = np.random.default_rng(seed)
    hit = rng.normal(0, 0.2, (frames, 2)) * np.hanning(frames)[:, None]
    sound = noise(rate_hz, 20, level_dbfs=noise_dbfs)
    for start in range(0, len(sound) - frames, rate_hz // 4):
        sound[start : start + frames] += rng.uniform(0, 1) * hit
    return sound


def test_one_short_sample_again_and_again_is_no_image() -> None:
    """Its spectrum, smooth over 500 Hz, is alike about many places; an image is about one alone."""
    assert upsampled_from(stored(repeated(96_000, 192, 5, noise_dbfs=-90), 24), 96_000) == 0


def test_the_image_of_one_short_sample_again_and_again_is_found() -> None:
    """It is somewhat alike about other places too, as tracker music is."""
    sound = by_ffmpeg(repeated(44_100, 190, 6, noise_dbfs=-80), 44_100, 96_000)
    assert upsampled_from(stored(sound, 24), 96_000) == 44_100


@pytest.mark.parametrize(
    ("likeness", "elsewhere", "found"),
    [(0.80, 0.16, 44_100), (0.54, 0.30, 44_100), (0.54, 0.40, None), (0.54, 0.60, 48_000), (None, None, 48_000)],
)
def test_no_rate_is_named_where_the_two_signs_contradict_each_other(
    monkeypatch: pytest.MonkeyPatch, likeness: float | None, elsewhere: float | None, found: int | None
) -> None:
    """FFmpeg's images of 44.1 kHz end where 48 kHz would; in one module their likeness was 0.54, elsewhere 0.40."""
    mirror = None if likeness is None or elsewhere is None else Images(44_100, likeness, elsewhere)
    monkeypatch.setattr("delivery.meters.spectrum.images", lambda *_: mirror)
    sound = stored(by_ffmpeg(0.8 * music(44_100, 12, slope_db=9, seed=44_100), 44_100, 96_000), 24)
    if found is None:
        assert why(Spectrum, sound, 96_000)["upsampled_from_hz"] == "raised from 48 or 44.1 kHz, cannot tell which"
    else:
        assert upsampled_from(sound, 96_000) == found


@pytest.mark.parametrize(("coder", "kbps"), [("MP3", 320), ("Opus", 256)])
def test_what_a_coder_cuts_off_at_20_khz_is_no_earlier_rate(coder: str, kbps: int) -> None:
    sound = coded(music(48_000, 12, slope_db=3, seed=2), 48_000, coder, kbps)
    assert upsampled_from(stored(sound, 24), 48_000) == 0


@pytest.mark.thorough(8)
@pytest.mark.parametrize("slope_db", [0, 3, 6, 12, 24, 36])
@pytest.mark.parametrize("rate_hz", [48_000, 88_200, 96_000, 192_000])
@pytest.mark.parametrize("floor_dbfs", [-100, -120])
def test_genuine_music_is_not_accused(slope_db: float, rate_hz: int, floor_dbfs: float) -> None:
    """Sound that fades into a converter's noise, steeply or gently, has no edge; its noise goes on above 22 kHz."""
    played = music(rate_hz, 10.5, slope_db=slope_db, seed=int(slope_db)) + noise(rate_hz, 10.5, level_dbfs=floor_dbfs)
    assert upsampled_from(stored(played, 24), rate_hz) == 0


def test_dull_music_gives_no_result() -> None:
    sound = soxr.resample(music(16_000, 12, slope_db=6, seed=1), 16_000, 96_000, "VHQ")
    assert why(Spectrum, stored(sound, 24), 96_000)["upsampled_from_hz"] == "too dull to tell"


@pytest.mark.parametrize(
    ("rate_hz", "seconds", "reason"),
    [(44_100, 12, "cannot be decided below 48 kHz"), (96_000, 8, "too short: under 10 s")],
)
def test_where_it_does_not_apply(rate_hz: int, seconds: int, reason: str) -> None:
    assert why(Spectrum, noise(rate_hz, seconds), rate_hz)["upsampled_from_hz"] == reason


def test_long_files_keep_a_fair_choice_of_windows(monkeypatch: pytest.MonkeyPatch) -> None:
    """When the space for windows is used up, every second one goes, and the answer stays."""
    sound = stored(soxr.resample(music(44_100, 20, slope_db=3, seed=1), 44_100, 96_000, "VHQ"), 24)
    monkeypatch.setattr("delivery.meters.spectrum.KEPT_WINDOWS", 16)
    assert upsampled_from(sound, 96_000) == 44_100


@pytest.mark.thorough(3)
@pytest.mark.parametrize("beat_windows", [1.5, 2.0, 2.5, 3.0, 4.0, 6.0])
@pytest.mark.parametrize("apart", [2, 3])
def test_no_beat_keeps_step_with_the_windows(beat_windows: float, apart: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two tones in turn, at tempos that windows at even distances would fall in with: each has half of the power."""
    monkeypatch.setattr("delivery.meters.spectrum.ENOUGH_WINDOWS", 351 // apart)
    rate_hz, beat = 48_000, beat_windows * 8192
    n = np.arange(60 * rate_hz)
    first = (n / beat % 1 < 0.5).astype(float)
    tones = first * np.sin(2 * np.pi * 1000 * n / rate_hz) + (1 - first) * np.sin(2 * np.pi * 4000 * n / rate_hz)
    found = readings(Spectrum, 0.3 * tones[:, None] * [1.0, 1.0], rate_hz)
    levels = dict(zip(found["third_octave_hz"], found["third_octave_db"], strict=True))
    assert levels[1000.0] == pytest.approx(-3.0, abs=1.0)
    assert levels[3981.07] == pytest.approx(-3.0, abs=1.0)
