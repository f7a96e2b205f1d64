"""Masters in Wave64, CAF, RF64, BW64, AIFF-C floats, 64-bit floats and one-bit sound, read to the last sample."""

from __future__ import annotations

import shutil
import struct
import subprocess
from pathlib import Path

import numpy as np
import pytest
import soundfile

from delivery.audio.blocks import open_sound
from delivery.errors import Unreadable
from delivery.meters import measure
from tests.signals import Array, noise, sine

DSD_HZ = 2_822_400
"""64 times 44.1 kHz."""


def read(path: Path) -> Array:
    with open_sound(path) as sound:
        return np.concatenate(list(sound.blocks(1000)))


@pytest.mark.parametrize(("kind", "container"), [("W64", "w64"), ("CAF", "caf"), ("RF64", "wav"), ("AIFF", "aiff")])
@pytest.mark.parametrize("subtype", ["PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE"])
def test_written_by_libsndfile(tmp_path: Path, kind: str, container: str, subtype: str) -> None:
    """Judged by libsndfile, which reads its own file."""
    path = tmp_path / "master"
    soundfile.write(path, noise(96_000, 0.1), 96_000, subtype, format=kind)
    assert np.array_equal(read(path), soundfile.read(path, always_2d=True)[0])
    found = measure(path)
    assert found.value("container") == container
    assert found.value("coding") == ("pcm" if subtype.startswith("PCM") else "float")
    assert found.value("bits") == {"FLOAT": 32, "DOUBLE": 64}.get(
        subtype, int(subtype[-2:] if subtype[-1] in "246" else 0)
    )
    assert found.value("decoded_by") == "read directly"


@pytest.mark.skipif(shutil.which("ffmpeg") is None, reason="no ffmpeg to write the files")
@pytest.mark.parametrize(
    ("suffix", "coder"),
    [("w64", "pcm_s24le"), ("w64", "pcm_f32le"), ("caf", "pcm_s16be"), ("caf", "pcm_s24le"), ("caf", "pcm_f64be")],
)
def test_written_by_ffmpeg(tmp_path: Path, suffix: str, coder: str) -> None:
    x = np.rint(noise(48_000, 0.2) * 2**15) / 2**15
    soundfile.write(tmp_path / "x.wav", x, 48_000, "PCM_16")
    path = tmp_path / f"x.{suffix}"
    made = ["ffmpeg", "-v", "error", "-i", str(tmp_path / "x.wav"), "-c:a", coder, str(path)]
    subprocess.run(made, check=True)
    assert np.array_equal(read(path), x)


@pytest.mark.skipif(shutil.which("ffmpeg") is None, reason="no ffmpeg to write the files")
def test_alac_in_caf_is_decoded_and_reported_so(tmp_path: Path) -> None:
    x = np.rint(noise(48_000, 0.2) * 2**15) / 2**15
    soundfile.write(tmp_path / "x.wav", x, 48_000, "PCM_16")
    made = ["ffmpeg", "-v", "error", "-i", str(tmp_path / "x.wav"), "-c:a", "alac", str(tmp_path / "x.caf")]
    subprocess.run(made, check=True)
    assert np.array_equal(read(tmp_path / "x.caf"), x)
    found = measure(tmp_path / "x.caf")
    assert [found.value(name) for name in ("container", "coding", "bits", "decoded_by")] == ["caf", "pcm", 16, "FFmpeg"]


@pytest.mark.parametrize("rate_hz", [0.0, 1e-300, 0.4, -1.0, float("nan"), float("inf"), 1e300])
def test_a_caf_file_of_an_impossible_rate_is_refused(tmp_path: Path, rate_hz: float) -> None:
    """The rate of a CAF is a double (Apple's specification): it can round to 0, by which times would be divided."""
    path = tmp_path / "x.caf"
    soundfile.write(path, noise(48_000, 0.2), 48_000, "PCM_24")
    content = path.read_bytes()
    at = content.index(b"desc") + 12
    path.write_bytes((content[:at] + struct.pack(">d", rate_hz) + content[at + 8 :])[:-100])
    with pytest.raises(Unreadable, match="impossible sample rate"):
        read(path)


@pytest.mark.parametrize("kind", ["W64", "CAF"])
@pytest.mark.parametrize("left", [0.9, 0.5])
def test_less_sound_than_promised_is_no_whole_file(tmp_path: Path, kind: str, left: float) -> None:
    """libsndfile shortens such files silently."""
    path = tmp_path / "master"
    soundfile.write(path, noise(48_000, 0.5), 48_000, "PCM_24", format=kind)
    path.write_bytes(path.read_bytes()[: int(left * path.stat().st_size)])
    with pytest.raises(Unreadable, match="where the header promises"):
        read(path)


@pytest.mark.parametrize("kind", ["W64", "CAF"])
def test_no_cut_of_the_header_gets_past(tmp_path: Path, kind: str) -> None:
    """A file cut off anywhere up to the middle of its first samples is refused with a message."""
    whole, path = tmp_path / "whole", tmp_path / "master"
    soundfile.write(whole, noise(48_000, 0.01), 48_000, "PCM_16", format=kind)
    for count in range(1, 240):
        path.write_bytes(whole.read_bytes()[:count])
        with pytest.raises(Unreadable):
            read(path)


def one_bit(x: Array) -> Array:
    """Second-order sigma-delta modulation: booleans at the rate of *x*; only to have something to decode."""
    bits, first, second, fed = np.empty(len(x), bool), 0.0, 0.0, 0.0
    for i, value in enumerate(x):
        first += value - fed
        second += first - 2 * fed
        bits[i] = second >= 0
        fed = 1.0 if bits[i] else -1.0
    return bits


def dsf(path: Path, bits: Array) -> None:
    """DSF 1.01 (Sony, 2005), as its tables say: one channel, blocks of 4096 bytes, least significant bit first."""
    sound = np.packbits(bits, bitorder="little").tobytes()
    padded = sound.ljust(-(-len(sound) // 4096) * 4096, b"\x69")
    head = struct.pack("<4sQQQ", b"DSD ", 28, 28 + 52 + 12 + len(padded), 0)
    form = struct.pack("<4sQIIIIIIQII", b"fmt ", 52, 1, 0, 1, 1, DSD_HZ, 1, len(bits), 4096, 0)
    path.write_bytes(head + form + struct.pack("<4sQ", b"data", 12 + len(padded)) + padded)


def dff(path: Path, bits: Array) -> None:
    """DSDIFF 1.5 (Philips, 2004): one channel, most significant bit first."""
    sound = np.packbits(bits).tobytes()

    def chunk(name: bytes, content: bytes) -> bytes:
        return name + struct.pack(">Q", len(content)) + content + b"\0" * (len(content) % 2)

    properties = (
        b"SND "
        + chunk(b"FS  ", struct.pack(">I", DSD_HZ))
        + chunk(b"CHNL", struct.pack(">H4s", 1, b"C   "))
        + chunk(b"CMPR", b"DSD " + bytes([14]) + b"not compressed" + b"\0")
    )
    inner = b"DSD " + chunk(b"FVER", struct.pack(">I", 0x01050000)) + chunk(b"PROP", properties) + chunk(b"DSD ", sound)
    path.write_bytes(b"FRM8" + struct.pack(">Q", len(inner)) + inner)


@pytest.mark.parametrize("write", [dsf, dff])
def test_one_bit_sound_is_decoded_to_floats_and_reported_so(tmp_path: Path, write: object) -> None:
    """A tone of -6 dB modulation is found at its level and pitch; the rate is an eighth of the one-bit rate."""
    bits = one_bit(sine(1000, DSD_HZ, 0.2, level_dbfs=-6)[:, 0])
    path = tmp_path / "master"
    write(path, bits)  # type: ignore[operator]
    found = measure(path)
    reported = [found.value(name) for name in ("container", "coding", "rate_hz", "decoded_by")]
    assert reported == [write.__name__, "dsd", DSD_HZ // 8, "FFmpeg"]  # type: ignore[attr-defined]
    assert found["bits"].why_missing == "one-bit sound, decoded to floats"
    x = read(path)[5_292 : 5_292 + 30 * 1_764, 0]  # whole periods of the tone, 352.8 samples each
    tone = 2 * np.mean(x * np.exp(-2j * np.pi * 1000 * np.arange(len(x)) * 8 / DSD_HZ))
    assert 20 * np.log10(abs(tone)) == pytest.approx(-6, abs=0.1)


@pytest.mark.skipif(not shutil.which("flac"), reason="flac is not installed")
@pytest.mark.parametrize(("bits", "sample_bytes", "channels"), [(12, 2, 2), (20, 3, 2), (20, 3, 6), (12, 2, 1)])
def test_flac_of_12_and_20_bits_is_read_exactly(tmp_path: Path, bits: int, sample_bytes: int, channels: int) -> None:
    """RFC 9639, 9.1.4 lists both; libsndfile does not implement them, another decoder reads them exactly."""
    whole = np.random.default_rng(bits).integers(-(2 ** (bits - 1)), 2 ** (bits - 1), (30_000, channels))
    raw = (whole << (8 * sample_bytes - bits)).astype("<i4").reshape(-1).view(np.uint8).reshape(-1, 4)
    sound = raw[:, :sample_bytes].tobytes()
    form = (0xFFFE, channels, 48_000, 48_000 * channels * sample_bytes, channels * sample_bytes, 8 * sample_bytes)
    mask = {1: 0x4, 2: 0x3, 6: 0x3F}[channels]
    fmt = struct.pack("<HHIIHHHHI", *form, 22, bits, mask) + bytes.fromhex("0100000000001000800000aa00389b71")
    chunks = b"fmt " + struct.pack("<I", len(fmt)) + fmt + b"data" + struct.pack("<I", len(sound)) + sound
    wav, flac = tmp_path / "a.wav", tmp_path / "a.flac"
    wav.write_bytes(b"RIFF" + struct.pack("<I", 4 + len(chunks)) + b"WAVE" + chunks)
    subprocess.run(["flac", "-s", str(wav), "-o", str(flac)], check=True)
    with open_sound(flac) as opened:
        assert (opened.facts.bits, opened.facts.decoded_by, len(opened.facts.speakers)) == (bits, "FFmpeg", channels)
        read = np.concatenate(list(opened.blocks(7_000)))
    assert np.array_equal(read * 2 ** (bits - 1), whole)
