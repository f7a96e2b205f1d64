"""Changes that another program plants in real music: what is found is what that program was set to do.

The judges are sox (`gain`, `pad`, `tempo`, `pitch`, `speed` as a clock, `equalizer`, `compand`, with its best rate
conversion), ffmpeg (muting), scipy (spectra) and pyloudnorm (K-weighting). Tolerances: common practice, no source.
"""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
import soundfile

from delivery.model.pair import Pair, Polarity
from delivery.model.version import Change
from delivery.tasks.pair import compare_pair
from delivery.tasks.stems import check_stems
from tests.compare.two_sections import RELEASE
from tests.music import PIECES, needs_music

RATE, SECONDS = 44_100, 40
pytestmark = [
    needs_music,
    pytest.mark.skipif(shutil.which("sox") is None, reason="sox is not installed, so nothing planted these changes"),
]


@pytest.fixture(scope="module")
def songs(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Forty seconds of two pieces, at 24 bit and half their level."""
    folder = tmp_path_factory.mktemp("songs")
    files = folder / "one.wav", folder / "another.wav"
    for piece, file in zip(PIECES, files, strict=False):
        with soundfile.SoundFile(piece) as source:
            source.seek(20 * source.samplerate)
            sound = source.read(SECONDS * source.samplerate, always_2d=True)
        soundfile.write(file.with_suffix(".aiff"), 0.5 * sound / np.abs(sound).max(), source.samplerate, "PCM_24")
        sox(file.with_suffix(".aiff"), file, "rate", "-v", str(RATE))
    return files


def sox(source: Path, target: Path, *effects: str) -> Path:
    subprocess.run(["sox", "-D", source, "-b", "24", target, *effects], check=True, capture_output=True)
    return target


def changed(songs: tuple[Path, Path], folder: Path, *effects: str) -> Pair:
    return compare_pair(songs[0], sox(songs[0], folder / "changed.wav", *effects))


@pytest.mark.parametrize("ppm", [10, 100])
def test_a_clock_that_runs_fast_is_found_and_followed(songs: tuple[Path, Path], tmp_path: Path, ppm: int) -> None:
    found = changed(songs, tmp_path, "speed", str(1 + ppm * 1e-6), "rate", "-v", "-s", str(RATE))
    assert found.same_recording
    assert found.drift_ppm == pytest.approx(1e6 * (1 / (1 + ppm * 1e-6) - 1), abs=0.05)
    assert found.gain_db == pytest.approx(0, abs=0.05)
    assert found.residual_db is not None
    assert found.residual_db < -85


def test_gain_and_delay(songs: tuple[Path, Path], tmp_path: Path) -> None:
    found = changed(songs, tmp_path, "pad", "1234s", "gain", "-3.7")
    assert found.gain_db == pytest.approx(-3.7, abs=0.05)
    assert found.offset_s is not None
    assert found.offset_s * RATE == pytest.approx(1234, abs=0.05)
    assert found.drift_ppm == 0


def test_a_half_time_remix_and_another_song_are_not_the_same_recording(
    songs: tuple[Path, Path], tmp_path: Path
) -> None:
    assert not changed(songs, tmp_path, "tempo", "0.5").same_recording
    assert not compare_pair(*songs).same_recording


def test_another_key_or_a_slightly_other_tempo_is_not_the_same_recording(
    songs: tuple[Path, Path], tmp_path: Path
) -> None:
    """As covers are: the same notes a semitone higher, or 3 % faster."""
    assert not changed(songs, tmp_path, "pitch", "100").same_recording
    assert not changed(songs, tmp_path, "tempo", "1.03").same_recording


def test_a_delay_of_a_quarter_of_a_sample_across_sample_rates(songs: tuple[Path, Path], tmp_path: Path) -> None:
    """Padded by 4937 samples at 4 x 44.1 kHz and delivered at 96 kHz: 1234.25 samples of 44.1 kHz."""
    sox(songs[0], tmp_path / "four.wav", "rate", "-v", str(4 * RATE), "pad", "4937s")
    found = compare_pair(songs[0], sox(tmp_path / "four.wav", tmp_path / "other.wav", "rate", "-v", "96000"))
    assert found.offset_s is not None
    assert found.offset_s * RATE == pytest.approx(1234.25, abs=0.05)
    assert found.gain_db == pytest.approx(0, abs=0.05)


def test_polarity(songs: tuple[Path, Path], tmp_path: Path) -> None:
    assert changed(songs, tmp_path, "vol", "-0.8").polarity is Polarity.INVERTED
    assert changed(songs, tmp_path, "remix", "1", "2i").polarity is Polarity.ONE_CHANNEL
    assert changed(songs, tmp_path, "remix", "1", "2").polarity is Polarity.SAME


@pytest.mark.thorough(1)
@pytest.mark.parametrize(("middle_hz", "width_q", "gain_db"), [(120, 0.7, 2.5), (1000, 2.0, -3.0), (4000, 1.0, 1.5)])
def test_an_equaliser_is_recovered_in_every_third_octave(
    songs: tuple[Path, Path], tmp_path: Path, middle_hz: float, width_q: float, gain_db: float
) -> None:
    """Within 0.2 dB of what the bell does to the power of each band, by scipy's Welch and the published filter.

    sox's `equalizer` is the bell of the Audio EQ Cookbook (R. Bristow-Johnson).
    """
    from scipy.signal import freqz, welch

    found = changed(songs, tmp_path, "equalizer", str(middle_hz), f"{width_q}q", str(gain_db))
    assert found.gain_db is not None
    sound = soundfile.read(songs[0], always_2d=True)[0]
    hz, power = welch(sound, RATE, "hann", 32_768, axis=0)
    power = power.mean(axis=1)
    turn, a = 2 * np.pi * middle_hz / RATE, 10 ** (gain_db / 40)
    alpha = np.sin(turn) / (2 * width_q)
    above = [1 + alpha * a, -2 * np.cos(turn), 1 - alpha * a]
    below = [1 + alpha / a, -2 * np.cos(turn), 1 - alpha / a]
    bell = np.abs(freqz(above, below, hz, fs=RATE)[1]) ** 2
    compared = 0
    for middle, level in zip(found.tone_hz, found.tone_db, strict=True):
        band = (hz >= middle * 10**-0.05) & (hz < middle * 10**0.05)
        if middle < 40 or middle > 16_000:
            continue
        planted = 10 * np.log10((power * bell)[band].sum() / power[band].sum())
        assert level + found.gain_db == pytest.approx(planted, abs=0.2), middle
        compared += 1
    assert compared > 20


def k_weighted_lufs(sound: np.ndarray) -> float:
    """Ungated, by pyloudnorm's filters (ITU-R BS.1770)."""
    import pyloudnorm

    filters = pyloudnorm.Meter(RATE, filter_class="DeMan")._filters.values()
    for each in filters:
        sound = np.stack([each.apply_filter(channel) for channel in sound.T], axis=1)
    return -0.691 + 10 * float(np.log10((sound**2).mean(axis=0).sum()))


@pytest.mark.parametrize(("curve", "ratio"), [("-24,-24,0,-12", 2.0), ("-24,-24,0,-16", 3.0)])
def test_a_contrast_flattened_by_a_compressor_is_recovered(
    songs: tuple[Path, Path], tmp_path: Path, curve: str, ratio: float
) -> None:
    """sox's `compand`, quick and then slow, on a verse and the same music 7 dB louder as its chorus.

    The judge measures the two sections of both files by pyloudnorm's K-weighting. The contrast is flattened by at least
    1 LU, by less than the ratio would do to a steady sound.
    """
    sound = soundfile.read(songs[0], always_2d=True)[0][: 20 * RATE]
    step_db = 7.0
    mix = np.concatenate([sound * 10 ** (-step_db / 20), sound])
    soundfile.write(tmp_path / "Mix.wav", mix, RATE, "FLOAT")
    sox(tmp_path / "Mix.wav", tmp_path / "Master.wav", "compand", "0.02,0.3", f"6:{curve}")
    (tmp_path / "release.yaml").write_text(RELEASE, encoding="utf-8")
    found = compare_pair(tmp_path / "Mix.wav", tmp_path / "Master.wav")
    master = soundfile.read(tmp_path / "Master.wav", always_2d=True)[0]
    verse, chorus = (k_weighted_lufs(part) for part in (master[: 20 * RATE], master[20 * RATE :]))
    (contrast,) = found.contrasts
    assert contrast.one_lu == pytest.approx(step_db, abs=0.2)
    assert contrast.other_lu == pytest.approx(chorus - verse, abs=0.2)
    assert step_db / ratio - 0.2 < contrast.other_lu < step_db - 1


@pytest.mark.parametrize("level_db", [-30.0, -55.0])
def test_what_is_added_is_left_when_one_is_subtracted(
    songs: tuple[Path, Path], tmp_path: Path, level_db: float
) -> None:
    """Noise of a known level below the music, 700 frames late and 2 dB quieter: the residual is that level."""
    sound = soundfile.read(songs[0], always_2d=True)[0]
    noise = np.random.default_rng(5).standard_normal(sound.shape)
    noise *= np.sqrt((sound**2).sum() / (noise**2).sum()) * 10 ** (level_db / 20)
    late = np.concatenate([np.zeros((700, 2)), sound + noise]) * 10 ** (-2 / 20)
    soundfile.write(tmp_path / "other.wav", late, RATE, "FLOAT")
    found = compare_pair(songs[0], tmp_path / "other.wav")
    assert found.residual is not None
    assert found.residual.whole_db == pytest.approx(level_db, abs=0.1)
    power, own = ((x**2).reshape(-1, RATE, 2).sum(axis=(1, 2)) for x in (noise, sound))
    assert found.residual.curve_db == pytest.approx(10 * np.log10(power / own), abs=0.2)


WORDS = ((8.23, 8.61), (17.02, 17.31), (29.5, 30.4))


@pytest.mark.skipif(shutil.which("ffmpeg") is None, reason="ffmpeg is not installed, so nothing muted the words")
def test_muted_words_are_found_within_50_ms(songs: tuple[Path, Path], tmp_path: Path) -> None:
    """ffmpeg mutes three places of a clean version that is also 1.5 dB quieter."""
    there = "+".join(f"between(t,{begin},{end})" for begin, end in WORDS)
    effect = f"asetnsamples=64,volume=0:enable='{there}',volume=-1.5dB"
    clean = tmp_path / "Song (Clean).wav"
    command = ["ffmpeg", "-loglevel", "error", "-i", songs[0], "-af", effect, "-c:a", "pcm_s24le", clean]
    subprocess.run(command, check=True)
    found = compare_pair(songs[0], clean)
    assert found.version
    assert found.version.gain_db == pytest.approx(-1.5, abs=0.05)
    assert [place.change for place in found.version.places] == [Change.MUTED] * len(WORDS)
    for place, (begin, end) in zip(found.version.places, WORDS, strict=True):
        assert place.from_s == pytest.approx(begin, abs=0.05)
        assert place.until_s == pytest.approx(end, abs=0.05)


def test_a_stem_that_is_late_is_named_in_samples(songs: tuple[Path, Path], tmp_path: Path) -> None:
    """Two pieces and the first one reversed as stems; sox adds them up to the main mix and then delays one of them."""
    stems = tmp_path / "stems"
    stems.mkdir()
    sox(songs[0], stems / "band.wav", "gain", "-6")
    sox(songs[1], stems / "drums.wav", "gain", "-8")
    sox(songs[0], stems / "voice.wav", "reverse", "gain", "-12")
    main = tmp_path / "Main.wav"
    names = [str(stems / f"{name}.wav") for name in ("band", "drums", "voice")]
    subprocess.run(["sox", "-D", "-m", "-v", "1", names[0], "-v", "1", names[1], "-v", "1", names[2], "-b", "24", main])
    assert (check_stems(main, [stems]).residual_db or 0) < -90
    sox(stems / "drums.wav", tmp_path / "late.wav", "pad", "441s", "trim", "0", f"{SECONDS * RATE}s")
    shutil.move(tmp_path / "late.wav", stems / "drums.wav")
    found = check_stems(main, [stems])
    assert found.residual_db is not None
    assert found.residual_db > -30
    (fault,) = found.faults
    assert (fault.stem, fault.late_frames) == ("drums", 441)
    assert fault.gain_db == pytest.approx(0, abs=0.05)
    assert (found.mended_db or 0) < -35  # the last 441 samples of the delayed stem are missing
