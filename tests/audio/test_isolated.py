"""Untrusted files are decoded in a child process, whose crash never ends the job."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
import soundfile

from delivery.audio import isolated as parent
from delivery.audio.blocks import open_sound, sound_facts
from delivery.errors import Unreadable
from tests.judges import needs
from tests.signals import noise

RATE_HZ = 44_100


@pytest.fixture(autouse=True)
def fresh() -> Iterator[None]:
    """No child is waiting before or after."""
    parent._end_all()
    yield
    parent._end_all()


def flac(path: Path, seconds: float = 5.0) -> Path:
    soundfile.write(path, noise(RATE_HZ, seconds) / 2, RATE_HZ, subtype="PCM_16", format="FLAC")
    return path


def running() -> list[int]:
    return [child._process.pid for child in parent._idle]


def test_one_child_serves_one_file_after_another(tmp_path: Path) -> None:
    path = flac(tmp_path / "a.flac")
    sound_facts(path)
    first = running()
    sound_facts(path)
    assert running() == first
    assert len(first) == 1


def test_plain_pcm_starts_no_child(tmp_path: Path) -> None:
    for name, subtype in (("a.wav", "PCM_24"), ("b.wav", "FLOAT"), ("c.aiff", "PCM_24"), ("d.aiff", "FLOAT")):
        soundfile.write(tmp_path / name, noise(RATE_HZ, 0.1) / 2, RATE_HZ, subtype=subtype)
        with open_sound(tmp_path / name) as sound:
            assert sum(map(len, sound.blocks())) == 4410
    assert running() == []


def test_a_reader_that_stops_early_leaves_the_child_fit_for_the_next_file(tmp_path: Path) -> None:
    path = flac(tmp_path / "a.flac", 20)
    for _ in range(3):
        with open_sound(path) as sound:
            next(iter(sound.blocks(1000)))
    with open_sound(path) as sound:
        assert sum(map(len, sound.blocks())) == 20 * RATE_HZ
    assert len(running()) == 1


def test_a_crash_between_blocks_means_a_damaged_file_and_others_continue(tmp_path: Path) -> None:
    path = flac(tmp_path / "a.flac", 20)
    with open_sound(path) as sound, open_sound(path) as other:
        blocks = sound.blocks(1000)
        next(blocks)
        os.kill(sound._child._process.pid, signal.SIGSEGV)  # type: ignore[attr-defined]
        with pytest.raises(Unreadable, match=r"a damaged file: its decoder crashed \(signal 11\)"):
            for _ in blocks:
                pass
        assert sum(map(len, other.blocks())) == 20 * RATE_HZ
    assert len(running()) == 1  # the crashed one is not used again


def test_a_library_that_crashes_or_never_ends_is_reported(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(parent.Died, match=r"crashed \(signal 6\)"):
        parent.isolated(os.abort)
    monkeypatch.setattr(parent, "CALL_S", 0.3)
    with pytest.raises(parent.Died, match="took too long"):
        parent.isolated(time.sleep, 60)  # without the limit it would return
    assert running() == []


@pytest.mark.skipif(sys.platform != "linux", reason="address space is limited where the system can do so")
def test_a_child_cannot_take_all_memory() -> None:
    with pytest.raises(parent.Died, match="needed too much memory"):
        parent.isolated(bytearray, 2**33)


def test_samples_are_right_with_several_files_open_in_several_threads(tmp_path: Path) -> None:
    paths = [flac(tmp_path / f"{at}.flac", 1 + at) for at in range(4)]

    def difference(path: Path) -> float:
        with open_sound(path) as sound:
            found = np.concatenate(list(sound.blocks(3001)))
        return float(np.abs(found - soundfile.read(path)[0]).max())

    with ThreadPoolExecutor(4) as pool:
        assert list(pool.map(difference, paths)) == [0.0] * 4


def test_blocks_of_very_many_channels_keep_their_length(tmp_path: Path) -> None:
    """A slot of shared memory holds 8192 frames of 256 channels in float64; the caller's 20,000 come all the same."""
    path = tmp_path / "wide.wav"
    written = np.random.default_rng(1).uniform(-1, 1, (50_000, 256)).astype(np.float32)
    soundfile.write(path, written, RATE_HZ, subtype="FLOAT")
    with open_sound(path) as sound:
        blocks = list(sound.blocks(20_000))
    assert [len(block) for block in blocks] == [20_000, 20_000, 10_000]
    np.testing.assert_array_equal(np.concatenate(blocks), written)


@pytest.mark.parametrize("bits", [12, 20])
@needs("flac")
def test_flac_of_12_and_20_bits_is_no_damage(tmp_path: Path, bits: int) -> None:
    """RFC 9639 allows 4 to 32 bits; libsndfile implements 8, 16 and 24. Written by the reference encoder."""
    samples = np.random.default_rng(bits).integers(-(2 ** (bits - 1)), 2 ** (bits - 1), (10_000, 2), dtype=np.int32)
    raw, path = tmp_path / "a.wav", tmp_path / "a.flac"
    sample_bytes = 2 if bits <= 16 else 3
    left = samples << (8 * sample_bytes - bits)
    packed = left.astype("<i4").view(np.uint8).reshape(-1, 4)[:, :sample_bytes].tobytes()
    head = b"RIFF" + (36 + 24 + len(packed)).to_bytes(4, "little") + b"WAVEfmt " + (40).to_bytes(4, "little")
    form = [(0xFFFE, 2), (2, 2), (RATE_HZ, 4), (RATE_HZ * 2 * sample_bytes, 4), (2 * sample_bytes, 2)]
    form += [(8 * sample_bytes, 2), (22, 2), (bits, 2), (3, 4), (1, 2)]
    guid = bytes.fromhex("0000000010008000 00aa00389b71".replace(" ", ""))
    head += b"".join(value.to_bytes(size, "little") for value, size in form) + guid
    raw.write_bytes(head + b"data" + len(packed).to_bytes(4, "little") + packed)
    subprocess.run(["flac", "--silent", "--totally-silent", "-o", str(path), str(raw)], check=True)
    with open_sound(path) as sound:
        assert (sound.facts.bits, sound.facts.coding, sound.facts.container) == (bits, "pcm", "flac")
        found = np.concatenate(list(sound.blocks()))
    np.testing.assert_array_equal(found, samples / 2.0 ** (bits - 1))


ADDRESSES = ("tcp:127.0.0.1:{port}.mp3", "http:/127.0.0.1:{port}/a.mp3", "Opus:1.mp3", "data:,a.mp3", "-", "pipe:0.mp3")


@pytest.mark.thorough(3)
@needs("ffmpeg")
@pytest.mark.parametrize("name", ADDRESSES)
@pytest.mark.parametrize("relative", [True, False])
def test_a_file_name_is_never_read_as_an_address(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, relative: bool
) -> None:
    """A server listens at the address that the name spells; nothing connects to it, and the sound is read."""
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        listener.listen()
        listener.settimeout(0.2)
        path = tmp_path / name.format(port=listener.getsockname()[1])
        path.parent.mkdir(parents=True, exist_ok=True)
        made = tmp_path / "made.mp3"
        tone = ["-f", "lavfi", "-i", "sine=duration=1", "-y", str(made)]
        subprocess.run(["ffmpeg", "-v", "error", *tone], check=True, stdin=subprocess.DEVNULL)
        made.rename(path)
        monkeypatch.chdir(tmp_path)
        assert sound_facts(path.relative_to(tmp_path) if relative else path).frames == RATE_HZ
        with pytest.raises(TimeoutError):
            listener.accept()


@pytest.mark.skipif(os.name == "nt", reason="names are text there")
@pytest.mark.parametrize("name", [b"\xe9t\xe9.flac", "Été à Łódź.flac".encode(), b"a\nb.flac"])
def test_a_name_that_is_no_text_in_this_encoding_is_still_a_file(tmp_path: Path, name: bytes) -> None:
    made = flac(tmp_path / "a.flac", 1)
    path = tmp_path / os.fsdecode(name)
    made.rename(path)
    assert sound_facts(path).frames == RATE_HZ
