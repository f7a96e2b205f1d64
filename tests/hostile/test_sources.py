"""Damaged, vanished and mistaken files: one clear message each, with the place, and never half an answer."""

from __future__ import annotations

import errno
import os
import pickle
import struct
import subprocess
from collections import deque
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from delivery.audio.blocks import open_sound, sound_facts
from delivery.audio.headers import read_header
from delivery.audio.sndfile import SndFile
from delivery.errors import Unreadable
from delivery.meters import identify, measure
from tests.judges import needs
from tests.signals import noise

RATE_HZ = 44_100


def written(path: Path, subtype: str = "PCM_24", format: str = "WAV", seconds: float = 2.0) -> Path:
    soundfile.write(path, np.clip(noise(RATE_HZ, seconds), -1, 1), RATE_HZ, subtype=subtype, format=format)
    return path


def refused(path: Path, match: str) -> Unreadable:
    """The same error from each function; a worker process passes it on unchanged."""
    for way_in in (measure, identify):
        with pytest.raises(Unreadable, match=match) as refusal:
            way_in(path)
    assert refusal.value.place == path.name
    assert str(path.parent) not in str(refusal.value)
    assert str(pickle.loads(pickle.dumps(refusal.value))) == str(refusal.value)
    return refusal.value


@pytest.mark.parametrize("suffix", [".wav", ".flac", ".mp3", ".m4a", ""])
def test_empty_file(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"a{suffix}"
    path.touch()
    refused(path, "an empty file")


@pytest.mark.parametrize(
    "content",
    [
        b"Dear engineer, here is the master.\n" * 50,
        "Grüße aus dem Hafen\n".encode("utf-16"),
        "Grüße aus dem Hafen\n".encode("utf-8-sig"),
        b"\x89PNG\r\n\x1a\n" + bytes(2000),
        b"PK\x03\x04" + bytes(2000),
        b"%PDF-1.7\n" + bytes(2000),
        b"RIFF\x24\0\0\0AVI " + bytes(2000),
        bytes(5000),
        b"\xff" * 5000,
        b"R",
    ],
    ids=["text", "utf-16", "utf-8 with mark", "picture", "archive", "pdf", "video", "zeros", "ones", "one byte"],
)
def test_a_file_that_is_no_sound_is_reported(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "a.wav"
    path.write_bytes(content)
    refused(path, "no audio in a form this program supports")


def test_folder_and_vanished_file(tmp_path: Path) -> None:
    refused(tmp_path, "a folder")
    refused(tmp_path / "gone.wav", "no file of this name")


@pytest.mark.parametrize(
    ("fault", "match"),
    [
        (PermissionError(errno.EACCES, "Permission denied"), "may not be read"),
        (OSError(errno.EIO, "Input/output error"), "cannot be read .Input/output error"),
    ],
)
def test_file_that_may_not_or_cannot_be_opened(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fault: OSError, match: str
) -> None:
    path = written(tmp_path / "a.wav")

    def failing(*_: Any, **__: Any) -> None:
        raise fault

    monkeypatch.setattr("delivery.regular.os.open", failing)
    refused(path, match)


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may read everything")
def test_file_without_permission(tmp_path: Path) -> None:
    path = written(tmp_path / "a.wav")
    path.chmod(0)
    refused(path, "may not be read")


@pytest.mark.parametrize("subtype", ["PCM_U8", "PCM_16", "PCM_24", "PCM_32", "FLOAT"])
@pytest.mark.parametrize("format", ["WAV", "WAVEX", "RF64", "AIFF"])
@pytest.mark.parametrize("share", [0.9999, 0.5, 0.01])
def test_header_that_promises_more_than_there_is(tmp_path: Path, subtype: str, format: str, share: float) -> None:
    """libsndfile opens such a file silently and gives what there is."""
    subtype = "PCM_S8" if (format, subtype) == ("AIFF", "PCM_U8") else subtype
    path = written(tmp_path / "a.wav", subtype, format)
    whole = path.read_bytes()
    path.write_bytes(whole[: int(len(whole) * share)])
    assert soundfile.info(path).frames < 2 * RATE_HZ or format == "AIFF"
    message = refused(path, r"bytes of sound where the header promises \d+; the audio stops at 0:0")
    seconds = float(str(message).partition("0:0")[2].partition(",")[0])
    assert seconds == pytest.approx(2 * share, abs=0.02)


@pytest.mark.thorough(12)
@pytest.mark.parametrize("cut", range(1, 60, 3))
@pytest.mark.parametrize("format", ["WAV", "AIFF", "FLAC"])
def test_header_cut_short_anywhere(tmp_path: Path, cut: int, format: str) -> None:
    path = written(tmp_path / "a", "PCM_16", format)
    path.write_bytes(path.read_bytes()[:cut])
    refused(path, "found")


@pytest.mark.parametrize(("stated", "match"), [(0xFFFFFFFF, "without the length"), (0, "never finished")])
def test_length_that_was_never_written(tmp_path: Path, stated: int, match: str) -> None:
    """A stream leaves all ones, a recorder that lost its power leaves zero."""
    path = written(tmp_path / "a.wav")
    raw = bytearray(path.read_bytes())
    at = raw.index(b"data") + 4
    raw[at : at + 4] = stated.to_bytes(4, "little")
    path.write_bytes(raw)
    refused(path, match)


def test_long_wav_without_its_size_table(tmp_path: Path) -> None:
    path = written(tmp_path / "a.wav", format="RF64")
    path.write_bytes(path.read_bytes().replace(b"ds64", b"JUNK", 1))
    refused(path, "never finished")


def test_plain_wav_beyond_four_gigabytes(tmp_path: Path) -> None:
    """RIFF counts in 32 bits; what lies beyond would be lost silently. (A sparse file: no disk is used.)"""
    path = written(tmp_path / "a.wav")
    with path.open("r+b") as file:
        file.truncate(2**32 + 100)
    refused(path, "more bytes than a RIFF header permits")


@pytest.mark.parametrize("missing", [b"fmt ", b"data"])
def test_wav_without_a_chunk_it_needs(tmp_path: Path, missing: bytes) -> None:
    path = written(tmp_path / "a.wav")
    path.write_bytes(path.read_bytes().replace(missing, b"junk", 1))
    refused(path, "a WAV")


@pytest.mark.parametrize("missing", [b"COMM", b"SSND"])
def test_aiff_without_a_chunk_it_needs(tmp_path: Path, missing: bytes) -> None:
    path = written(tmp_path / "a.aiff", format="AIFF")
    path.write_bytes(path.read_bytes().replace(missing, b"junk", 1))
    refused(path, "an AIFF without")


def no_channels(raw: bytearray) -> None:
    raw[22:24] = b"\0\0"


def no_rate(raw: bytearray) -> None:
    raw[24:28] = bytes(4)


def no_frame_size(raw: bytearray) -> None:
    raw[32:34] = b"\0\0"


@pytest.mark.parametrize("spoil", [no_channels, no_rate, no_frame_size])
def test_wav_header_of_zeros(tmp_path: Path, spoil: Callable[[bytearray], None]) -> None:
    """No number from a header is a divisor before it is checked to be above zero."""
    path = written(tmp_path / "a.wav", "PCM_16")
    raw = bytearray(path.read_bytes())
    assert raw[12:16] == b"fmt "
    spoil(raw)
    path.write_bytes(raw)
    if spoil is no_frame_size:  # the library works it out again
        assert measure(path)["frames"].value == 2 * RATE_HZ
    else:
        refused(path, "found")


@pytest.mark.thorough(2)
@pytest.mark.parametrize("spot", [0.3, 0.5, 0.8])
@pytest.mark.parametrize("damage", ["zeros", "cut out", "noise"])
def test_flac_with_a_damaged_middle(tmp_path: Path, spot: float, damage: str) -> None:
    """Frames of FLAC carry checksums: damage is detected, and reported with its time."""
    path = written(tmp_path / "a.flac", "PCM_16", "FLAC")
    raw = bytearray(path.read_bytes())
    at = int(len(raw) * spot)
    if damage == "zeros":
        raw[at : at + 3000] = bytes(3000)
    elif damage == "cut out":
        del raw[at : at + 30_000]
    else:
        raw[at : at + 3000] = np.random.default_rng(1).bytes(3000)
    path.write_bytes(raw)
    message = str(refused(path, r"sound that (breaks off|stops early)"))
    reported = float(message.partition(" at 0:0")[2].partition(" ")[0])
    assert reported <= 2 * spot + 0.1 if damage != "cut out" else reported <= 2


@pytest.mark.parametrize("share", [0.2, 0.7, 0.99])
def test_flac_that_ends_too_early(tmp_path: Path, share: float) -> None:
    path = written(tmp_path / "a.flac", "PCM_24", "FLAC")
    raw = path.read_bytes()
    path.write_bytes(raw[: int(len(raw) * share)])
    refused(path, "sound that")


def test_library_that_gives_less_than_it_promised(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever a library swallows silently, the count at the end finds it."""
    path = written(tmp_path / "a.flac", "PCM_16", "FLAC")
    read = soundfile.SoundFile.read

    def forgetful(self: soundfile.SoundFile, out: Any) -> Any:
        return read(self, out=out)[: 0 if self.tell() > RATE_HZ else None]

    monkeypatch.setattr(soundfile.SoundFile, "read", forgetful)
    sound = SndFile(path, read_header(path))  # in this process, where the library can be replaced
    memory = memoryview(bytearray(2**20))
    with closing(sound), pytest.raises(Unreadable, match=r"stops early at 0:00\.\d+ of 0:02\.000 .frame \d+ of 88200"):
        deque(iter(lambda: sound.read_into(memory, 4096), 0))


def test_file_that_shrinks_while_it_is_read(tmp_path: Path) -> None:
    """A cloud folder or another program takes the end away after the header was read."""
    path = written(tmp_path / "a.wav", seconds=5)
    with open_sound(path) as sound:
        blocks = sound.blocks(10_000)
        next(blocks)
        with path.open("r+b") as file:
            file.truncate(100_000)
        with pytest.raises(Unreadable, match=r"breaks off at 0:00\.\d+: the file shrank"):
            list(blocks)


@pytest.mark.thorough(4)
@needs("ffmpeg")
@pytest.mark.parametrize("name", ["a.mp3", "a.m4a", "front.m4a", "a.opus", "a.ogg", "flac.ogg"])
@pytest.mark.parametrize("share", [0.01, 0.3, 0.9])
def test_compressed_file_cut_short(tmp_path: Path, name: str, share: float) -> None:
    """MP4 and the first frame of MP3 state a length, Ogg marks its last page: what is missing is missed."""
    path = tmp_path / name
    source = written(tmp_path / "source.wav")
    options = ["-movflags", "faststart"] if name == "front.m4a" else ["-c:a", "flac"] if name == "flac.ogg" else []
    subprocess.run(["ffmpeg", "-v", "error", "-i", source, "-b:a", "192k", *options, path], check=True)
    assert measure(path)["duration_s"].value == pytest.approx(2.0, abs=0.05)
    raw = path.read_bytes()
    path.write_bytes(raw[: int(len(raw) * share)])
    refused(path, "damaged|without its end|sound that")


@needs("ffmpeg")
def test_video_without_sound(tmp_path: Path) -> None:
    path = tmp_path / "a.m4a"
    draw = ["-f", "lavfi", "-i", "color=size=64x64:duration=1", "-f", "mp4"]
    subprocess.run(["ffmpeg", "-v", "error", *draw, path], check=True)
    refused(path, "a file without sound")


def test_random_bytes_behind_every_mark_never_raise_anything_else(tmp_path: Path) -> None:
    """Whatever follows a file's first bytes, the answer is a measurement or Unreadable."""
    marks = [b"RIFF\0\1\0\0WAVE", b"RF64\0\1\0\0WAVEds64", b"FORM\0\0\1\0AIFF", b"FORM\0\0\1\0AIFCCOMM", b"fLaC"]
    marks += [b"OggS\0\2", b"ID3\4\0\0\0\0\0\1", b"\xff\xfb\x90\x00", b"\xff\xf1\x50\x80", b"\0\0\0\x20ftypM4A "]
    marks += [b"RIFF\0\1\0\0WAVEfmt \x10\0\0\0" + struct.pack("<HHIIHH", 1, 2, 44100, 176400, 4, 16)]
    rng = np.random.default_rng(7)
    refusals = 0
    for mark in marks:
        for _ in range(5):
            path = tmp_path / "a.wav"
            path.write_bytes(mark + rng.bytes(int(rng.integers(1, 4000))))
            try:
                measure(path)
            except Unreadable:
                refusals += 1
    assert refusals > 40


@pytest.mark.parametrize("name", ["Straße.wav", "海.wav", "ملف.wav", "a b 'c\".wav", "-n.wav", "x" * 200 + ".wav"])
def test_any_name_will_do(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    try:
        path.touch()
    except OSError:
        pytest.skip("this system does not allow the name")
    for kind, subtype in (("WAV", "PCM_16"), ("FLAC", "PCM_16"), ("WAV", "FLOAT")):
        with path.open("wb") as file:
            soundfile.write(file, np.zeros((10, 2)), RATE_HZ, subtype=subtype, format=kind)
        assert sound_facts(path).frames == 10
