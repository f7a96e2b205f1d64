"""Positions that a WAV states: EBU Tech 3285 (bext) and the smpl chunk, written here byte by byte."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
import soundfile

from delivery.meters import identify, measure
from delivery.meters.chunks import loops_of

RATE_HZ = 48_000


def smpl(*loops: tuple[int, int]) -> bytes:
    """Multimedia Data Standards Update, 1994: nine fields of 32 bits, then six for each loop."""
    head = struct.pack("<9I", 0, 0, 1_000_000_000 // RATE_HZ, 60, 0, 0, 0, len(loops), 0)
    return head + b"".join(struct.pack("<6I", at, 0, first, last, 0, 0) for at, (first, last) in enumerate(loops))


def bext(time_reference: int) -> bytes:
    """EBU Tech 3285: 256 + 32 + 32 + 10 + 8 bytes of text, then the time reference, low word first."""
    return bytes(338) + struct.pack("<II", time_reference & 0xFFFFFFFF, time_reference >> 32) + bytes(256)


def wav(path: Path, *chunks: tuple[bytes, bytes], frames: int = 4800) -> Path:
    soundfile.write(path, np.full((frames, 2), 0.1), RATE_HZ, "PCM_16")
    sound = path.read_bytes()[12:]
    extra = b"".join(name + struct.pack("<I", len(body)) + body + bytes(len(body) % 2) for name, body in chunks)
    path.write_bytes(b"RIFF" + struct.pack("<I", 4 + len(sound) + len(extra)) + b"WAVE" + sound + extra)
    return path


def test_loops_and_time_of_a_broadcast_wave(tmp_path: Path) -> None:
    """One hour and half a second at 48 kHz needs more than 32 bits at no rate, and is exact."""
    file = wav(tmp_path / "a.wav", (b"bext", bext(3600 * RATE_HZ + 24_000)), (b"smpl", smpl((0, 4799), (100, 200))))
    found = measure(file)
    assert found.value("time_reference_s") == 3600.5
    assert found.value("broadcast_chunk") is True
    assert found.value("loops") == ((0, 4799), (100, 200))
    assert identify(file).value("loops") == found.value("loops")


def test_time_reference_past_32_bits(tmp_path: Path) -> None:
    """26 hours at 48 kHz: the high word counts."""
    file = wav(tmp_path / "a.wav", (b"bext", bext(26 * 3600 * RATE_HZ)))
    assert measure(file).value("time_reference_s") == 26 * 3600


def test_a_plain_file_states_nothing(tmp_path: Path) -> None:
    found = measure(wav(tmp_path / "a.wav"))
    assert (found.value("broadcast_chunk"), found.value("loops")) == (False, ())
    assert found["time_reference_s"].why_missing == "no bext chunk"
    soundfile.write(tmp_path / "a.flac", np.zeros((100, 1)), RATE_HZ)
    assert measure(tmp_path / "a.flac").value("broadcast_chunk") is False


def test_a_chunk_that_promises_more_loops_than_it_holds() -> None:
    """What is wholly there is read; a count of four billion reserves nothing."""
    body = smpl((1, 2), (3, 4))
    assert list(loops_of(body[:28] + b"\xff" * 4 + body[32:])) == [(1, 2), (3, 4)]
    assert list(loops_of(body[:-1])) == [(1, 2)]
    assert list(loops_of(body[:20])) == []
    assert list(loops_of(b"")) == []
