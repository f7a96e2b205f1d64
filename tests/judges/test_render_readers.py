"""What we write, read by programs that are not ours and do not use our reader's library."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.audio import pcm
from delivery.audio.codecs import CodedForm
from delivery.audio.encode import encode
from delivery.audio.pcm import PcmForm, write_pcm
from tests.judges import needs
from tests.signals import noise

LOSSLESS = [("wav", 16), ("wav", 24), ("wav", 32), ("aiff", 16), ("aiff", 24), ("aiff", 32), ("flac", 16), ("flac", 24)]
SHAPES = [(1, 1), (4_097, 1), (4_096, 2), (50_001, 2), (999, 6)]
"""Frames and channels; odd sizes in bytes among them, where containers pad."""


def output(*command: str | Path) -> bytes:
    return subprocess.run(command, capture_output=True, check=True).stdout


def some_integers(frames: int, channels: int, bits: int) -> NDArray[np.int32]:
    values = np.random.default_rng(bits).integers(-(2 ** (bits - 1)), 2 ** (bits - 1), (frames, channels))
    return (values << (32 - bits)).astype(np.int32)


def written(folder: Path, container: str, bits: int, values: NDArray[np.int32], *, extensible: bool = False) -> Path:
    path = folder / f"x.{container}"
    form = PcmForm(container, "pcm", 48_000, values.shape[1], bits, extensible)
    write_pcm(path, form, len(values), [values[:100], values[100:]])
    return path


def by_ffmpeg(path: Path, kind: str = "s32le") -> NDArray[np.generic]:
    raw = output("ffmpeg", "-v", "error", "-i", path, "-f", kind, "-")
    return np.frombuffer(raw, {"s32le": "<i4", "f64le": "<f8"}[kind])


@pytest.mark.thorough(8)
@needs("ffmpeg")
@pytest.mark.parametrize(("container", "bits"), LOSSLESS)
@pytest.mark.parametrize(("frames", "channels"), SHAPES)
def test_ffmpeg_reads_the_same_samples(tmp_path: Path, container: str, bits: int, frames: int, channels: int) -> None:
    values = some_integers(frames, channels, bits)
    assert np.array_equal(by_ffmpeg(written(tmp_path, container, bits, values)).reshape(-1, channels), values)


@needs("ffmpeg")
@pytest.mark.parametrize("channels", [1, 2])
def test_ffmpeg_reads_the_extensible_header_and_rf64(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, channels: int
) -> None:
    values = some_integers(501, channels, 24)
    path = written(tmp_path, "wav", 24, values, extensible=True)
    assert np.array_equal(by_ffmpeg(path).reshape(-1, channels), values)
    monkeypatch.setattr(pcm, "SIZE_FIELD_MAX", pcm.ROOM_FOR_TAGS_BYTES)
    path = written(tmp_path, "wav", 24, values)
    assert path.read_bytes()[:4] == b"RF64"
    assert np.array_equal(by_ffmpeg(path).reshape(-1, channels), values)


@needs("sox")
@pytest.mark.parametrize(("container", "bits"), [one for one in LOSSLESS if one[0] != "flac"])
@pytest.mark.parametrize(("frames", "channels"), SHAPES)
def test_sox_reads_the_same_samples(tmp_path: Path, container: str, bits: int, frames: int, channels: int) -> None:
    values = some_integers(frames, channels, bits)
    raw = output("sox", "-D", written(tmp_path, container, bits, values), "-t", "s32", "-L", "-")
    assert np.array_equal(np.frombuffer(raw, "<i4").reshape(-1, channels), values)


@needs("flac")
@pytest.mark.parametrize("bits", [16, 24])
@pytest.mark.parametrize(("frames", "channels"), SHAPES)
def test_the_reference_decoder_finds_the_flac_whole(tmp_path: Path, bits: int, frames: int, channels: int) -> None:
    """Its test mode holds every frame's checksum and the checksum of all samples in the header."""
    values = some_integers(frames, channels, bits)
    path = written(tmp_path, "flac", bits, values)
    subprocess.run(["flac", "--test", "--silent", path], check=True)
    raw = output("flac", "-d", "-c", "--silent", "--force-raw-format", "--endian=little", "--sign=signed", path)
    steps = np.frombuffer(raw, np.uint8).reshape(-1, bits // 8)
    found = np.zeros((len(steps), 4), np.uint8)
    found[:, 4 - bits // 8 :] = steps
    assert np.array_equal(found.view("<i4").reshape(-1, channels), values)


@needs("ffmpeg")
@pytest.mark.parametrize("bits", [16, 24])
def test_ffmpeg_reads_the_same_samples_from_alac(tmp_path: Path, bits: int) -> None:
    values = some_integers(10_001, 2, bits)
    encode(tmp_path / "x.m4a", CodedForm("alac", 48_000, 2, bits=bits), [values])
    assert np.array_equal(by_ffmpeg(tmp_path / "x.m4a").reshape(-1, 2), values)


CODED = {"mp3": ("mp3", 44_100, 320), "aac": ("m4a", 44_100, 256), "opus": ("opus", 48_000, 192)}


def coded(folder: Path, coding: str, frames: int) -> tuple[Path, NDArray[np.float64]]:
    suffix, rate_hz, bitrate_kbps = CODED[coding]
    x = noise(rate_hz, 3)[:frames]
    path = folder / f"x.{suffix}"
    encode(path, CodedForm(coding, rate_hz, 2, bitrate_kbps), [x])
    return path, x


@needs("ffmpeg")
@pytest.mark.parametrize("coding", ["mp3", "opus"])
@pytest.mark.parametrize("frames", [500, 1_152, 44_100, 100_001])
def test_ffmpeg_gives_back_as_many_frames(tmp_path: Path, coding: str, frames: int) -> None:
    path, x = coded(tmp_path, coding, frames)
    assert len(by_ffmpeg(path, "f64le")) == x.size


@needs("ffmpeg", "ffprobe")
@pytest.mark.parametrize("frames", [500, 1_024, 44_100, 100_001])
def test_the_edit_list_of_an_m4a_states_start_and_length(tmp_path: Path, frames: int) -> None:
    """ffprobe reads the exact length. ffmpeg's decoder drops the priming but plays the last frame to its end, so it
    gives less than one frame (1024) too many, and next to nothing in them.
    """
    path, _ = coded(tmp_path, "aac", frames)
    reported = output("ffprobe", "-v", "error", "-show_entries", "stream=start_pts,duration_ts", "-of", "json", path)
    stream = json.loads(reported)["streams"][0]
    assert (stream["start_pts"], stream["duration_ts"]) == (0, frames)
    assert 0 <= len(by_ffmpeg(path, "f64le")) // 2 - frames < 1024


@needs("ffmpeg")
@pytest.mark.parametrize("coding", CODED)
def test_ffmpeg_finds_the_sound_where_it_was(tmp_path: Path, coding: str) -> None:
    """Best match of the decoded with the source, among 81 shifts, at none."""
    path, x = coded(tmp_path, coding, 100_001)
    y = by_ffmpeg(path, "f64le").reshape(-1, 2)[: len(x)]
    match = [float((y[100:-100] * np.roll(x, shift, axis=0)[100:-100]).sum()) for shift in range(-40, 41)]
    assert int(np.argmax(match)) == 40


@needs("lame")
def test_lame_gives_back_as_many_frames(tmp_path: Path) -> None:
    """Another decoder that honours the delay and padding in the first frame."""
    path, x = coded(tmp_path, "mp3", 100_001)
    raw = output("lame", "--silent", "--decode", "-t", path, "-")
    assert len(raw) == 2 * x.size


@needs("mediainfo")
def test_another_reader_finds_the_required_bit_rate(tmp_path: Path) -> None:
    path, _ = coded(tmp_path, "mp3", 100_001)
    reported = json.loads(output("mediainfo", "--Output=JSON", path))["media"]["track"]
    audio = next(track for track in reported if track["@type"] == "Audio")
    assert (audio["BitRate_Mode"], int(audio["BitRate"]), audio["SamplingRate"]) == ("CBR", 320_000, "44100")
