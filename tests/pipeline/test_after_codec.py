"""What encoders do to a master's peaks: tried, measured as floats, cured by a trim that was tried too."""

from __future__ import annotations

from pathlib import Path

import av
import numpy as np
import pytest
import soundfile

from delivery.audio.blocks import open_sound
from delivery.audio.codecs import CODECS, CodedForm
from delivery.audio.encode import encode
from delivery.errors import Unusable
from delivery.meters import measure
from delivery.model.part import Source
from delivery.model.trial import CodecForm, Trial
from delivery.pipeline.after_codec import DEFAULT, after_codec, codec_forms
from delivery.pipeline.sound_files import bare_tracks
from delivery.pipeline.sources import take_in
from tests.signals import Array, noise, sine


def source(folder: Path, x: Array, rate_hz: int = 44_100, subtype: str = "PCM_24") -> Source:
    path = folder / "master.wav"
    soundfile.write(path, x, rate_hz, subtype)
    return take_in(bare_tracks((path,)), None, 1)[0]


def tried(of: Source, text: str) -> Trial:
    return after_codec([of], codec_forms(text))[1][0]


def clipped_noise(rate_hz: int = 44_100, seconds: float = 3) -> Array:
    """Loud beyond any music, cut off hard at -1 dBFS."""
    return 10 ** (-1 / 20) * np.clip(noise(rate_hz, seconds, level_dbfs=-6), -1, 1)


def faded_tone(level_dbfs: float) -> Array:
    """One line of the spectrum, swelling and fading, so that its peak is its level."""
    return sine(997, 44_100, 2, level_dbfs=level_dbfs) * np.hanning(88_200)[:, None] ** 0.5 * [1.0, 0.5]


def test_a_list_of_codecs_is_read_in_its_order() -> None:
    assert codec_forms("mp3:320, aac:256,mp3:v0") == (
        CodecForm("mp3", 320),
        CodecForm("aac", 256),
        CodecForm("mp3", vbr_quality=0),
    )
    assert ",".join(map(str, codec_forms(DEFAULT))) == DEFAULT


@pytest.mark.parametrize("text", ["", "mp3", "mp3:", "mp3:loud", "flac:320", "mp3:320,,aac:256", "mp3:v10", "mp3:-1"])
def test_what_is_no_such_list_is_refused_whole(text: str) -> None:
    with pytest.raises(Unusable, match="--codecs"):
        codec_forms(text)


@pytest.mark.thorough(2)
@pytest.mark.parametrize("text", ["mp3:320", "mp3:128", "mp3:v2", "opus:128"])
def test_the_figures_are_those_of_a_copy_made_by_hand(tmp_path: Path, text: str) -> None:
    """The same encoder on the same samples, decoded by an outside reader (PyAV, straight), its largest sample taken."""
    rate_hz = 48_000  # which all of them take
    x = clipped_noise(rate_hz)
    soundfile.write(tmp_path / "same.wav", x, rate_hz, "PCM_24")
    stored = soundfile.read(tmp_path / "same.wav")[0]
    form = codec_forms(text)[0]
    encode(tmp_path / "copy", CodedForm(form.coding, rate_hz, 2, form.bitrate_kbps, None, form.vbr_quality), [stored])
    with av.open(str(tmp_path / "copy")) as file:
        pieces = [frame.to_ndarray() for frame in file.decode(audio=0)]
    highest_dbfs = 20 * np.log10(max(np.abs(piece).max() for piece in pieces))
    found = tried(source(tmp_path, x, rate_hz), text)
    assert found.decoded
    assert highest_dbfs <= found.decoded.true_peak_dbtp <= highest_dbfs + 2  # between samples it goes a little higher
    assert found.decoded.true_peak_dbtp == pytest.approx(measure(tmp_path / "copy").value("true_peak_dbtp"), abs=1e-9)
    assert found.decoded.overs_count >= 1
    assert max(dbtp for _, _, dbtp in found.decoded.overs) == pytest.approx(found.decoded.true_peak_dbtp, abs=1e-9)


@pytest.mark.thorough(2)
@pytest.mark.parametrize("text", ["mp3:320", "mp3:128", "aac:256", "opus:128"])
def test_the_trim_cures_the_over_when_applied_elsewhere(tmp_path: Path, text: str) -> None:
    """A master lowered by the trim, at 24 bits, and tried again has no over."""
    x = clipped_noise()
    found = tried(source(tmp_path, x), text)
    assert found.trim_db is not None
    assert found.trim_db < 0
    assert found.trimmed_dbtp is not None
    assert found.trimmed_dbtp <= 0
    again = tried(source(tmp_path, x * 10 ** (found.trim_db / 20)), text)
    assert again.decoded
    assert again.decoded.true_peak_dbtp == pytest.approx(found.trimmed_dbtp, abs=0.15)  # 24-bit words in between


def test_sound_with_enough_headroom_needs_no_trim(tmp_path: Path) -> None:
    found = tried(source(tmp_path, noise(44_100, 2, level_dbfs=-30)), "mp3:320")
    assert found.decoded
    assert (found.decoded.overs_count, found.trim_db, found.trimmed_dbtp) == (0, 0.0, None)
    assert found.decoded.overs == ()


@pytest.mark.thorough
def test_scale_steps_below_the_limiter_of_the_aac_encoder(tmp_path: Path) -> None:
    """Where the limiter is inactive anyway, a copy halved and doubled again has the same peak in the mean.

    Not each by itself: which lines an encoder spends its bits on turns on details, and one peak moves by tenths.
    """
    apart = []
    for seed in range(12):
        x = np.clip(noise(44_100, 1, level_dbfs=-6, seed=seed), -0.9, 0.9)
        encode(tmp_path / "copy.m4a", CodedForm("aac", 44_100, 2, 256), [x])
        found = tried(source(tmp_path, x), "aac:256")
        assert found.lowered_db < -6
        assert found.decoded
        apart.append(found.decoded.true_peak_dbtp - measure(tmp_path / "copy.m4a").value("true_peak_dbtp"))
    assert np.mean(apart) == pytest.approx(0, abs=4 * 0.6 / np.sqrt(12))  # four standard errors
    assert np.abs(apart).max() < 2


def test_the_limiter_in_the_aac_encoder_hides_nothing_from_us(tmp_path: Path) -> None:
    """Given a tone 1 dB over, it answers with a quieter one in many frames: the copy made by hand is the witness."""
    x = faded_tone(1.0)
    encode(tmp_path / "copy.m4a", CodedForm("aac", 44_100, 2, 256), [x])
    with open_sound(tmp_path / "copy.m4a") as sound:
        copy = np.concatenate(list(sound.blocks()))
    assert 20 * np.log10((x * copy)[:, 0].sum() / (x * x)[:, 0].sum()) < -0.2
    found = tried(source(tmp_path, x, subtype="DOUBLE"), "aac:256")
    assert found.decoded
    assert found.decoded.true_peak_dbtp == pytest.approx(1, abs=0.1)
    assert found.trim_db == pytest.approx(-1, abs=0.1)


@pytest.mark.parametrize("text", ["mp3:320", "aac:256"])
def test_a_float_master_far_beyond_full_scale_is_tried_as_it_is(tmp_path: Path, text: str) -> None:
    found = tried(source(tmp_path, faded_tone(8.0), subtype="FLOAT"), text)
    assert found.decoded
    assert found.decoded.true_peak_dbtp == pytest.approx(8, abs=0.1)
    assert found.trim_db == pytest.approx(-8, abs=0.2)


@pytest.mark.parametrize(("rate_hz", "becomes_hz"), [(44_100, 44_100), (96_000, 48_000), (176_400, 44_100)])
def test_the_copy_is_made_at_a_rate_copies_are_made_at(tmp_path: Path, rate_hz: int, becomes_hz: int) -> None:
    assert tried(source(tmp_path, noise(rate_hz, 1), rate_hz), "aac:256").rate_hz == becomes_hz


def test_an_encoder_that_is_not_there_is_no_pass(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from dataclasses import replace

    monkeypatch.setitem(CODECS, "aac", replace(CODECS["aac"], encoder="libnosuchthing"))
    found = tried(source(tmp_path, noise(44_100, 1)), "aac:256")
    assert found.decoded is None
    assert found.not_tested == "no encoder for AAC on this machine"


@pytest.mark.parametrize(
    ("x", "text", "why"),
    [
        (np.zeros((44_100, 2)), "mp3:320", "silent"),
        (noise(44_100, 1, channels=4), "mp3:320", "4 channels for the MP3 encoder in use"),
        (noise(44_100, 1), "mp3:300", "300 kbit/s for MP3"),
    ],
)
def test_a_trial_that_cannot_be_made_has_a_reason(tmp_path: Path, x: Array, text: str, why: str) -> None:
    found = tried(source(tmp_path, x), text)
    assert found.decoded is None
    assert why in found.not_tested


def test_a_lossy_copy_is_not_coded_once_more(tmp_path: Path) -> None:
    path = tmp_path / "copy.mp3"
    encode(path, CodedForm("mp3", 44_100, 2, 320), [noise(44_100, 1)])
    assert tried(take_in(bare_tracks((path,)), None, 1)[0], "mp3:320").not_tested == "the file is a lossy copy itself"


def test_an_unusable_file_is_reported_for_each_codec(tmp_path: Path) -> None:
    path = tmp_path / "master.wav"
    path.write_text("no sound", encoding="utf-8")
    of = take_in(bare_tracks((path,)), None, 1)[0]
    assert {trial.not_tested for trial in after_codec([of], codec_forms(DEFAULT))[1]} == {of.problem}


@pytest.mark.thorough
def test_workers_change_nothing(tmp_path: Path) -> None:
    of = source(tmp_path, clipped_noise(seconds=1))
    forms = codec_forms(DEFAULT)
    assert after_codec([of], forms, 1) == after_codec([of], forms, 3)


def test_no_copy_is_left_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Unreleased music does not stay in a temporary folder."""
    import tempfile

    (tmp_path / "temporary").mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "temporary"))
    of = source(tmp_path, noise(44_100, 1))
    assert tried(of, "opus:128").decoded
    assert list((tmp_path / "temporary").iterdir()) == []


def test_the_decoded_samples_are_what_ffmpeg_s_library_gives(tmp_path: Path) -> None:
    """Nothing on our way from decoder to meter scales, cuts or shifts: block by block the same floats."""
    x = clipped_noise(seconds=1)
    encode(tmp_path / "copy.mp3", CodedForm("mp3", 44_100, 2, 128), [x])
    with open_sound(tmp_path / "copy.mp3") as sound:
        ours = np.concatenate(list(sound.blocks()))
    with av.open(str(tmp_path / "copy.mp3")) as file:
        theirs = np.concatenate([frame.to_ndarray().T for frame in file.decode(audio=0)])
    assert np.array_equal(ours, theirs[: len(ours)])
    assert np.abs(ours).max() > 1
