"""Our lossy copies, decoded by others, and what encoding does to peaks, measured by others too."""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile
from mutagen.mp4 import MP4
from numpy.typing import NDArray

from delivery.audio.blocks import open_sound
from delivery.audio.codecs import CODECS, CodedForm
from delivery.audio.encode import encode
from delivery.model.trial import Trial
from delivery.pipeline.after_codec import after_codec, codec_forms
from delivery.pipeline.sound_files import bare_tracks
from delivery.pipeline.sources import take_in
from tests.judges import needs
from tests.music import PIECES, loud_master, needs_music
from tests.signals import noise, sine

Array = NDArray[np.float64]
RATE_HZ = 48_000
FORMS = {
    "mp3": CodedForm("mp3", RATE_HZ, 2, 320),
    "mp3 low": CodedForm("mp3", RATE_HZ, 2, 96),
    "mp3 by quality": CodedForm("mp3", RATE_HZ, 2, vbr_quality=2),
    "aac": CodedForm("aac", RATE_HZ, 2, 192),
    "opus": CodedForm("opus", RATE_HZ, 2, 128),
}
SUFFIX = {"mp3": "mp3", "aac": "m4a", "opus": "opus"}


def clipped_noise(seconds: float, peak_dbfs: float = -1.0) -> Array:
    """As hard as it gets: noise cut off at every second sample or so."""
    return 10 ** (peak_dbfs / 20) * np.clip(noise(RATE_HZ, seconds, level_dbfs=-6), -1, 1)


def coded(folder: Path, form: CodedForm, x: Array) -> Path:
    path = folder / f"copy.{SUFFIX[form.coding]}"
    encode(path, form, [x])
    return path


def ours(path: Path) -> Array:
    with open_sound(path) as sound:
        return np.concatenate(list(sound.blocks()))


def by_ffmpeg(path: Path, *decoder: str) -> Array:
    command = ["ffmpeg", "-v", "error", *decoder, "-i", path, "-f", "f64le", "-"]
    return np.frombuffer(subprocess.run(command, check=True, capture_output=True).stdout, "<f8").reshape(-1, 2)


@needs("ffmpeg")
@pytest.mark.parametrize("name", FORMS)
def test_ffmpeg_decodes_the_same_floats(tmp_path: Path, name: str) -> None:
    """Overs included: nothing on our way from decoder to meter scales, clips or shifts. (Of M4A ffmpeg gives less than
    one frame more, the padding.)
    """
    path = coded(tmp_path, FORMS[name], clipped_noise(2))
    mine, theirs = ours(path), by_ffmpeg(path)
    assert np.abs(mine).max() > 1
    assert 0 <= len(theirs) - len(mine) < (1024 if name == "aac" else 1)
    assert np.abs(mine - theirs[: len(mine)]).max() < 1e-5  # two builds of one decoder, in 32-bit floats


@needs("lame")
@pytest.mark.parametrize("name", ["mp3", "mp3 low", "mp3 by quality"])
def test_lame_decodes_the_same_samples(tmp_path: Path, name: str) -> None:
    """A decoder with another ancestry; it gives 16-bit samples, so half a step, and a little for its own arithmetic."""
    path = coded(tmp_path, FORMS[name], noise(RATE_HZ, 2, level_dbfs=-20))
    raw = subprocess.run(["lame", "--silent", "--decode", "-t", path, "-"], check=True, capture_output=True).stdout
    theirs = np.frombuffer(raw, "<i2").reshape(-1, 2)
    mine = ours(path) * 32_768
    assert len(theirs) == len(mine) == 2 * RATE_HZ
    assert np.abs(mine - theirs).max() < 1.0
    assert (mine - theirs).std() == pytest.approx(1 / np.sqrt(12), rel=0.1)  # rounding alone


@needs("ffmpeg", "lame")
@pytest.mark.parametrize("kbps", [64, 128, 160, 192, 224, 320])
def test_a_tone_keeps_its_level_in_mp3_as_others_decode_it(tmp_path: Path, kbps: int) -> None:
    """LAME's own decoder gives 16-bit samples, which round a tone at -10 dBFS by less than 0.001 dB."""
    t = np.arange(2 * RATE_HZ) / RATE_HZ
    tone = 10 ** (-10 / 20) * np.sin(2 * np.pi * 1_000 * t)[:, None] * [1.0, 1.0]
    path = coded(tmp_path, CodedForm("mp3", RATE_HZ, 2, kbps), tone)
    command = ["lame", "--silent", "--decode", "-t", path, "-"]
    integers = np.frombuffer(subprocess.run(command, check=True, capture_output=True).stdout, "<i2").reshape(-1, 2)
    for y in (by_ffmpeg(path), integers / 32_768):
        turn = np.exp(-2j * np.pi * 1_000 * t[RATE_HZ // 2 : -RATE_HZ // 2])  # whole periods: 1 s
        level = 2 * np.abs(turn @ y[RATE_HZ // 2 : -RATE_HZ // 2]) / RATE_HZ
        assert 20 * np.log10(level) == pytest.approx(-10, abs=0.01)


def by_opusdec(path: Path) -> Array:
    raw = subprocess.run(["opusdec", "--quiet", "--float", path, "-"], check=True, capture_output=True).stdout
    return np.frombuffer(raw, "<f4").astype(np.float64).reshape(-1, 2)


def by_lame(path: Path) -> Array:
    command = ["lame", "--silent", "--decode", "-t", path, "-"]
    integers = np.frombuffer(subprocess.run(command, check=True, capture_output=True).stdout, "<i2")
    return integers.reshape(-1, 2) / 32_768


@needs("ffmpeg", "lame", "opusdec")
@pytest.mark.parametrize(
    ("name", "decoder"),
    [
        ("mp3", by_ffmpeg),
        ("mp3", by_lame),
        ("mp3 low", by_lame),
        ("mp3 by quality", by_ffmpeg),
        ("aac", by_ffmpeg),
        ("opus", by_ffmpeg),
        ("opus", by_opusdec),
    ],
)
def test_a_song_cut_from_its_stream_has_its_own_length_and_place_for_others(
    tmp_path: Path, name: str, decoder: Callable[[Path], Array]
) -> None:
    """Encoded with its neighbours' edges around it, which gapless figures take off again: a sweep says where it is."""
    t = np.arange(RATE_HZ) / RATE_HZ
    sweep = 0.3 * np.sin(2 * np.pi * (200 * t + 2_000 * t**2))[:, None] * [1.0, 1.0]
    before, after = CODECS[FORMS[name].coding].neighbours
    path = tmp_path / f"copy.{SUFFIX[FORMS[name].coding]}"
    encode(path, FORMS[name], [sweep], (before, RATE_HZ - after))
    wanted, found = sweep[before : RATE_HZ - after], decoder(path)
    assert 0 <= len(found) - len(wanted) < (1024 if name == "aac" else 1)  # ffmpeg plays the padding of an M4A
    error = found[: len(wanted)] - wanted
    assert 10 * np.log10((error**2).mean() / (wanted**2).mean()) < -25


@needs("ffmpeg")
def test_a_reader_without_edit_lists_uses_the_comment(tmp_path: Path) -> None:
    """FFmpeg set to ignore them: it reads the comment's start, and plays the padding behind, as it does otherwise."""
    path = coded(tmp_path, FORMS["aac"], 0.5 * clipped_noise(1.3))
    with_list, without = by_ffmpeg(path), by_ffmpeg(path, "-ignore_editlist", "1")
    assert np.array_equal(with_list, without)
    (comment,) = MP4(path)["----:com.apple.iTunes:iTunSMPB"]
    _, priming, behind, frames = (int(word, 16) for word in bytes(comment).decode().split()[:4])
    assert frames == len(ours(path)) == round(1.3 * RATE_HZ)
    assert len(without) == frames + behind
    assert (priming + frames + behind) % 1024 == 0
    tags = MP4(path)
    del tags["----:com.apple.iTunes:iTunSMPB"]
    tags.save()
    late = by_ffmpeg(path, "-ignore_editlist", "1")  # with neither of the two it begins with the encoder's delay
    assert len(late) == len(without) + priming
    assert np.array_equal(late[priming:], without)


@needs("ffmpeg")
def test_the_reference_decoder_of_opus_agrees(tmp_path: Path) -> None:
    """libopus, the format's own, beside the decoder of FFmpeg that we use: RFC 6716 lets them differ, but not much."""
    path = coded(tmp_path, FORMS["opus"], 0.5 * clipped_noise(2))
    mine, theirs = ours(path), by_ffmpeg(path, "-c:a", "libopus")
    assert len(theirs) == len(mine)
    assert 10 * np.log10(((mine - theirs) ** 2).mean() / (mine**2).mean()) < -80
    assert 20 * np.log10(np.abs(mine).max() / np.abs(theirs).max()) == pytest.approx(0, abs=0.01)


def true_peak_dbtp(x: Array) -> float:
    """By padding the spectrum to eight times the rate: an ideal interpolation, not the meter's filter."""
    spectrum = np.fft.rfft(np.concatenate([x, np.zeros_like(x)]), axis=0)
    return 20 * float(np.log10(8 * np.abs(np.fft.irfft(spectrum, 16 * len(x), axis=0)).max()))


def trials(folder: Path, x: Array, rate_hz: int, text: str) -> tuple[Trial, ...]:
    path = folder / "master.wav"
    soundfile.write(path, x, rate_hz, "PCM_24")
    return after_codec(take_in(bare_tracks((path,)), None, 1), codec_forms(text))[1]


@needs("ffmpeg")
@pytest.mark.parametrize("name", ["mp3", "mp3 low", "opus"])
def test_peak_growth_of_clipped_noise_as_others_measure_it(tmp_path: Path, name: str) -> None:
    """Decoded by ffmpeg, interpolated by FFT: the same peak within the meter's 0.03 dB and the 0.01 of 8 places."""
    x, form = clipped_noise(2), FORMS[name]
    (found,) = trials(tmp_path, x, RATE_HZ, f"{form.coding}:{form.bitrate_kbps}")
    stored = soundfile.read(tmp_path / "master.wav")[0]
    theirs_dbtp = true_peak_dbtp(by_ffmpeg(coded(tmp_path, form, stored)))
    assert found.decoded
    assert found.decoded.true_peak_dbtp == pytest.approx(theirs_dbtp, abs=0.06)
    assert found.decoded.overs_count > 0


@pytest.mark.thorough
@needs_music
@needs("ffmpeg")
@pytest.mark.parametrize("piece", PIECES[:3], ids=lambda piece: f"piece {PIECES.index(piece) + 1}")
def test_peak_growth_of_music_as_others_measure_it(tmp_path: Path, piece: Path) -> None:
    x, rate_hz = loud_master(piece)
    (found,) = trials(tmp_path, x, rate_hz, "mp3:128")
    stored = soundfile.read(tmp_path / "master.wav")[0]
    path = coded(tmp_path, CodedForm("mp3", rate_hz, 2, 128), stored)
    assert found.decoded
    assert found.decoded.true_peak_dbtp == pytest.approx(true_peak_dbtp(by_ffmpeg(path)), abs=0.04)


@pytest.mark.thorough
@pytest.mark.slow
@needs_music
def test_a_lower_rate_raises_the_peaks_of_music_more(tmp_path: Path) -> None:
    """On average over many pieces; and with the trim that was found, no decoded copy goes over full scale."""
    changes = []
    for piece in PIECES[::2]:
        high, low = trials(tmp_path, *loud_master(piece, 4.0), "mp3:320,mp3:96")
        changes.append((high.change_db, low.change_db))
        for trial in (high, low):
            assert trial.decoded
            assert trial.trim_db is not None
            assert trial.decoded.true_peak_dbtp <= 0 or (trial.trimmed_dbtp is not None and trial.trimmed_dbtp <= 0)
    mean_high_db, mean_low_db = np.mean(changes, axis=0)
    assert mean_low_db > mean_high_db + 0.2


@needs("lame")
@pytest.mark.parametrize("quality", [0, 2, 4, 7, 9])
def test_a_tone_at_a_variable_rate_has_the_level_that_the_lame_program_gives_it(tmp_path: Path, quality: int) -> None:
    """Single tones are off by up to 0.03 dB at low qualities: by LAME's rounding, and not by anything done here."""
    for hz, level_dbfs in ((440, -10), (997, -10), (2_500, -20), (3_333, -30)):
        tone = sine(hz, RATE_HZ, 2, level_dbfs=level_dbfs) * [1.0, 1.0]
        soundfile.write(tmp_path / "tone.wav", tone, RATE_HZ, "PCM_24")
        made = [
            "lame",
            "--quiet",
            "--vbr-old",
            "-V",
            str(quality),
            "--resample",
            "48",
            tmp_path / "tone.wav",
            tmp_path / "lame.mp3",
        ]
        subprocess.run(made, check=True)
        own = coded(tmp_path, CodedForm("mp3", RATE_HZ, 2, vbr_quality=quality), tone)
        assert _part_of(ours(own), tone) == pytest.approx(_part_of(ours(tmp_path / "lame.mp3"), tone), abs=0.02)


@needs_music
@pytest.mark.parametrize("quality", [0, 2, 4])
def test_music_keeps_its_energy_at_a_variable_rate(tmp_path: Path, quality: int) -> None:
    """Where steps are many and various, rounding is up as often as down."""
    music, rate_hz = loud_master(PIECES[0], 10.0)
    copy = ours(coded(tmp_path, CodedForm("mp3", rate_hz, 2, vbr_quality=quality), music))
    assert _part_of(copy, music) == pytest.approx(0, abs=0.01)
    assert 20 * np.log10(copy.std() / music.std()) == pytest.approx(0, abs=0.02)


def _part_of(found: Array, sound: Array) -> float:
    """How much louder *sound* is in *found*, in dB; what is not like it does not count."""
    inner = slice(8_000, -8_000)
    return 20 * float(np.log10((found[inner] * sound[inner]).sum() / (sound[inner] ** 2).sum()))
