"""Our readings beside those of programs and libraries by other hands, on music and on sound that is like it.

Judges: FFmpeg's ebur128 filter (prints tenths), libebur128 through pyebur128, pyloudnorm (own K-weighting, DeMan),
soundfile and numpy for what needs no standard, soxr's oversampling for true peaks.
"""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import numpy as np
import pytest
import soundfile
import soxr
from numpy.typing import NDArray

from delivery.dsp.loudness.gating import loudness_range_lu, power_of
from delivery.meters import measure
from tests.judges import needs
from tests.meters.memory import measured
from tests.music import PIECES, loud_master, needs_music
from tests.signals import noise

Array = NDArray[np.float64]

AGREE_LU = 0.1


def rederived_db(rate_hz: int) -> float:
    """How far these judges' K-weighting is from the one that BS.1770-5, Annex 1 prints for 48 kHz, for most music.

    They carry the prototypes over by the bilinear transform and leave the high-pass's numerator at 1, -2, 1; so its
    treble gain, 4 / (1 - a1 + a2), depends on the rate: +0.004 dB at 44.1 kHz, -0.025 at 96, -0.033 at 192.
    """
    k = np.tan(np.pi * 38.13547087602444 / np.array([rate_hz, 48_000]))
    gain = 1 + k / 0.5003270373238773 + k * k
    return float(20 * np.log10(gain[0] / gain[1]))


def song(rate_hz: int, channels: int, seed: int, seconds: float = 30) -> Array:
    """Pink-like noise with verses, beats, and a bass tone; peaks near full scale."""
    rng = np.random.default_rng(seed)
    frames = round(rate_hz * seconds)
    t = np.arange(frames) / rate_hz
    spectrum = np.fft.rfft(rng.standard_normal((frames, channels)), axis=0)
    spectrum /= np.sqrt(np.maximum(np.fft.rfftfreq(frames, 1 / rate_hz), 20))[:, None]
    pink = np.fft.irfft(spectrum, frames, axis=0)
    verses = np.repeat(rng.uniform(0.05, 1.0, 8), -(-frames // 8))[:frames]
    beats = 0.3 + np.abs(np.sin(np.pi * rng.uniform(1, 3) * t))
    mix = pink / pink.std() * (verses * beats)[:, None] + 0.3 * np.sin(2 * np.pi * 55 * t)[:, None]
    return np.tanh(1.5 * mix / np.abs(mix).max()) * rng.uniform(0.3, 0.98)


SONGS = [(44_100, 1), (44_100, 2), (48_000, 2), (48_000, 6), (96_000, 2), (192_000, 2)]


@needs("sox")
@pytest.mark.parametrize(("rate_hz", "channels"), [(44_100, 1), (48_000, 2), (96_000, 2)])
def test_rms_of_the_programme_beside_sox(rate_hz: int, channels: int, tmp_path: Path) -> None:
    """SoX's `stats` prints the rms of all channels together in hundredths of a decibel."""
    file = tmp_path / "song.wav"
    soundfile.write(file, song(rate_hz, channels, 5, 12), rate_hz, "PCM_24")
    output = subprocess.run(["sox", str(file), "-n", "stats"], capture_output=True, text=True, check=True).stderr
    overall = float(re.search(r"^RMS lev dB\s+(-?[\d.]+)", output, re.MULTILINE)[1])  # type: ignore[index]
    assert measure(file).value("programme_rms_dbfs") == pytest.approx(overall, abs=0.006)


@pytest.mark.thorough(3)
@needs("ffmpeg")
@pytest.mark.parametrize(("rate_hz", "channels"), SONGS)
@pytest.mark.parametrize("seed", [1, 2])
def test_beside_ffmpeg(tmp_path: Path, rate_hz: int, channels: int, seed: int) -> None:
    """I and LRA to the tenth it prints; its true peak may be lower, by no more than its fourfold filter explains."""
    path = tmp_path / "a.wav"
    sound = song(rate_hz, channels, seed, seconds=20)
    soundfile.write(path, sound, rate_hz, subtype="PCM_24", format="WAVEX" if channels > 2 else "WAV")
    command = ["ffmpeg", "-hide_banner", "-nostats", "-i", path, "-filter_complex", "ebur128=peak=true+sample"]
    output = subprocess.run([*command, "-f", "null", "-"], capture_output=True, text=True, check=True).stderr
    summary = output.rpartition("Summary:")[2]
    integrated, loudness_range = (float(re.search(rf"{name}: +(-?[\d.]+) LU", summary)[1]) for name in ("I", "LRA"))
    sample_peak, true_peak = (float(value) for value in re.findall(r"Peak: +(-?[\d.]+) dBFS", summary))
    found = measure(path)
    assert found.value("integrated_lufs") == pytest.approx(integrated, abs=AGREE_LU)
    assert found.value("integrated_lufs") == pytest.approx(integrated - rederived_db(rate_hz), abs=0.06)
    assert found.value("loudness_range_lu") == pytest.approx(loudness_range, abs=0.3)  # it sorts into steps of 0.1
    assert found.value("sample_peak_dbfs") == pytest.approx(sample_peak, abs=0.051)
    assert -0.1 <= found.value("true_peak_dbtp") - true_peak <= 0.4


@pytest.mark.thorough(2)
@pytest.mark.parametrize(("rate_hz", "channels"), [(44_100, 1), (44_100, 2), (48_000, 2), (96_000, 2)])
@pytest.mark.parametrize("seed", [3, 4])
def test_beside_libebur128(rate_hz: int, channels: int, seed: int) -> None:
    """I to a hundredth of what its filter explains; LRA too, from short-term values 1 s apart, ours are 0.1 s apart.

    Its true peak comes from a filter of 49 taps in all, and may be as far off as that.
    """
    import pyebur128 as judge

    sound = song(rate_hz, channels, seed)
    modes = judge.MeasurementMode
    wanted = modes.MODE_I | modes.MODE_LRA | modes.MODE_TRUE_PEAK | modes.MODE_SAMPLE_PEAK
    state = judge.R128State(channels, rate_hz, wanted)
    state.add_frames(sound.ravel(), len(sound))
    found = measured(sound, rate_hz)
    integrated = judge.get_loudness_global(state)
    assert found.value("integrated_lufs") == pytest.approx(integrated, abs=AGREE_LU)
    assert found.value("integrated_lufs") == pytest.approx(integrated - rederived_db(rate_hz), abs=0.01)
    powers = np.array([power_of(lufs) for lufs in found.value("short_term_curve_lufs")])
    assert loudness_range_lu(powers) == pytest.approx(judge.get_loudness_range(state), abs=0.01)
    assert found.value("loudness_range_lu") == pytest.approx(judge.get_loudness_range(state), abs=1.0)  # Tech 3342
    sample_peak = max(judge.get_sample_peak(state, channel) for channel in range(channels))
    true_peak = max(judge.get_true_peak(state, channel) for channel in range(channels))
    assert found.value("sample_peak_dbfs") == pytest.approx(20 * np.log10(sample_peak), abs=1e-6)
    assert -0.1 <= found.value("true_peak_dbtp") - 20 * np.log10(true_peak) <= 0.4


@pytest.mark.thorough(2)
@pytest.mark.parametrize(("rate_hz", "channels"), [(44_100, 1), (44_100, 2), (48_000, 5), (96_000, 2)])
def test_beside_pyloudnorm(rate_hz: int, channels: int) -> None:
    """An implementation that shares no line and no filter design with ours."""
    import pyloudnorm

    sound = song(rate_hz, channels, seed=5)
    judge = pyloudnorm.Meter(rate_hz, filter_class="DeMan")
    speakers = ("L", "R", "C", "Ls", "Rs") if channels == 5 else ()
    assert measured(sound, rate_hz, speakers=speakers).value("integrated_lufs") == pytest.approx(
        judge.integrated_loudness(sound) - rederived_db(rate_hz), abs=0.02
    )


@pytest.mark.thorough(4)
@needs_music
@pytest.mark.parametrize("channels", [2, 1])
@pytest.mark.parametrize("piece", PIECES[:8], ids=lambda piece: piece.stem)
def test_music_beside_libebur128(piece: Path, channels: int) -> None:
    """Half a minute of real music, loud as masters are: I within 0.1 LU, and within a hundredth of what is explained.

    Peaks: libebur128 may read low, never higher than the truth; ours may not read below it.
    """
    import pyebur128 as judge

    sound, rate_hz = loud_master(piece, seconds=30)
    sound = np.ascontiguousarray(sound[:, :channels])
    modes = judge.MeasurementMode
    state = judge.R128State(channels, rate_hz, modes.MODE_I | modes.MODE_TRUE_PEAK)
    state.add_frames(sound.ravel(), len(sound))
    found = measured(sound, rate_hz)
    integrated = judge.get_loudness_global(state)
    print(f"{piece.stem}: {found.value('integrated_lufs') - integrated:+.4f} LU")
    assert found.value("integrated_lufs") == pytest.approx(integrated, abs=AGREE_LU)
    assert found.value("integrated_lufs") == pytest.approx(integrated - rederived_db(rate_hz), abs=0.01)
    true_peak = max(judge.get_true_peak(state, channel) for channel in range(channels))
    assert -0.02 <= found.value("true_peak_dbtp") - 20 * np.log10(true_peak) <= 0.6


@pytest.mark.thorough(2)
@needs_music
@needs("ffmpeg")
@pytest.mark.parametrize("piece", PIECES[:4], ids=lambda piece: piece.stem)
def test_music_beside_ffmpeg(tmp_path: Path, piece: Path) -> None:
    """The same music as a file: I within 0.1 LU of what FFmpeg prints."""
    sound, rate_hz = loud_master(piece, seconds=30)
    path = tmp_path / "a.wav"
    soundfile.write(path, sound, rate_hz, subtype="PCM_24")
    command = ["ffmpeg", "-hide_banner", "-nostats", "-i", path, "-filter_complex", "ebur128"]
    output = subprocess.run([*command, "-f", "null", "-"], capture_output=True, text=True, check=True).stderr
    integrated = float(re.search(r"I: +(-?[\d.]+) LUFS", output.rpartition("Summary:")[2])[1])
    assert measure(path).value("integrated_lufs") == pytest.approx(integrated, abs=AGREE_LU)


@pytest.mark.parametrize("rate_hz", [44_100, 48_000])
@pytest.mark.parametrize("seed", [6, 7])
def test_true_peak_beside_oversampling(rate_hz: int, seed: int) -> None:
    """soxr's best conversion to 16 times the rate draws the waveform; it may cut off what lies above 20 kHz."""
    sound = soxr.resample(
        soxr.resample(song(rate_hz, 2, seed, seconds=5), rate_hz, 40_000, "VHQ"), 40_000, rate_hz, "VHQ"
    )
    drawn = soxr.resample(sound, rate_hz, 16 * rate_hz, "VHQ")
    assert measured(sound, rate_hz).value("true_peak_dbtp") == pytest.approx(
        20 * np.log10(np.abs(drawn).max()), abs=0.03
    )


@needs("sox")
@pytest.mark.parametrize("seed", [8, 9])
def test_beside_sox(tmp_path: Path, seed: int) -> None:
    """sox's `stats` prints DC offset, peak level and the bit depth in use."""
    path = tmp_path / "a.wav"
    sound = np.rint((song(44_100, 2, seed, seconds=5) * 0.9 + [0.01, -0.002]) * 2**15) / 2**15
    soundfile.write(path, sound, 44_100, subtype="PCM_24")
    output = subprocess.run(["sox", path, "-n", "stats"], capture_output=True, text=True, check=True).stderr
    rows = {line[:12].strip(): line[12:].split() for line in output.splitlines()}
    found = measure(path)
    offset = max(abs(float(value)) for value in rows["DC offset"][1:])
    assert found.value("dc_offset_percent") == pytest.approx(100 * offset, abs=1e-4)
    assert found.value("sample_peak_dbfs") == pytest.approx(float(rows["Pk lev dB"][0]), abs=0.006)
    assert f"{found.value('effective_bits')}/" in rows["Bit-depth"][0]


def test_beside_numpy() -> None:
    """What needs no standard, computed here from the whole sound at once."""
    sound = noise(48_000, 10, level_dbfs=-12) + 0.003
    found = measured(sound, 48_000)
    left, right = sound.T
    assert found.value("dc_offset_percent") == pytest.approx(100 * np.abs(sound.mean(axis=0)).max())
    assert found.value("balance_db") == pytest.approx(10 * np.log10((left @ left) / (right @ right)))
    assert found.value("correlation") == pytest.approx((left @ right) / np.sqrt((left @ left) * (right @ right)))
    assert found.value("float_overs") == int((np.abs(sound) > 1).sum())
    assert found.value("sample_peak_dbfs") == pytest.approx(20 * np.log10(np.abs(sound).max()))
