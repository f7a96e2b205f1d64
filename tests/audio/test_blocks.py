"""Sound read from every kind of file: exact where it can be, counted where it was lossy, known by content."""

from __future__ import annotations

import subprocess
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from delivery.audio.blocks import open_sound, sound_facts
from delivery.audio.digest import AudioDigest
from tests.judges import needs
from tests.signals import noise, sine

Array = NDArray[np.float64]

RATE_HZ = 44_100


def values(bits: int, frames: int = 10_008, channels: int = 2) -> NDArray[np.int32]:
    """Every part of the range, both limits included, left-justified in 32 bits."""
    rng = np.random.default_rng(bits)
    low, high = -(2 ** (bits - 1)), 2 ** (bits - 1) - 1
    drawn = rng.integers(low, high, (frames, channels), endpoint=True)
    drawn[:4] = np.array([[low], [high], [0], [-1]])
    return (drawn << (32 - bits)).astype(np.int32)


def read(path: Path, frames: int = 4096) -> Array:
    with open_sound(path) as sound:
        blocks = list(sound.blocks(frames))
        assert all(len(block) == frames for block in blocks[:-1])
        assert all(block.ndim == 2 and block.dtype == np.float64 for block in blocks)
        return np.concatenate(blocks)


def digest(path: Path) -> str:
    with open_sound(path) as sound:
        reported = AudioDigest(sound.facts.rate_hz, sound.facts.channels, sound.facts.integers)
        for block in sound.blocks(5000):
            reported.update(block)
    return reported.hexdigest()


@pytest.mark.parametrize("channels", [1, 2, 3, 6])
@pytest.mark.parametrize(
    ("container", "subtype", "bits"),
    [
        ("WAV", "PCM_U8", 8),
        ("WAV", "PCM_16", 16),
        ("WAV", "PCM_24", 24),
        ("WAV", "PCM_32", 32),
        ("WAVEX", "PCM_16", 16),
        ("WAVEX", "PCM_24", 24),
        ("RF64", "PCM_24", 24),
        ("AIFF", "PCM_S8", 8),
        ("AIFF", "PCM_16", 16),
        ("AIFF", "PCM_24", 24),
        ("AIFF", "PCM_32", 32),
        ("FLAC", "PCM_S8", 8),
        ("FLAC", "PCM_16", 16),
        ("FLAC", "PCM_24", 24),
    ],
)
def test_integers_are_read_back_exactly(tmp_path: Path, container: str, subtype: str, bits: int, channels: int) -> None:
    """libsndfile writes the integers; every one is read back as its exact multiple of 2**(1 - bits)."""
    path = tmp_path / "no suffix"
    written = values(bits, channels=channels)
    soundfile.write(path, written, RATE_HZ, subtype=subtype, format=container)
    np.testing.assert_array_equal(read(path), written / 2.0**31)
    facts = sound_facts(path)
    kind = "wav" if container in ("WAV", "WAVEX", "RF64") else container.lower()
    assert (facts.container, facts.coding, facts.bits) == (kind, "pcm", bits)
    assert (facts.rate_hz, facts.channels, facts.frames) == (RATE_HZ, channels, len(written))
    assert facts.size_bytes == path.stat().st_size
    assert facts.extensible == (container in ("WAVEX", "RF64"))  # this writer gives its long form that header too
    assert facts.riff_form == {"wav": "RF64" if container == "RF64" else "RIFF"}.get(kind, "")


@pytest.mark.parametrize(
    ("container", "subtype"), [("WAV", "FLOAT"), ("WAV", "DOUBLE"), ("AIFF", "FLOAT"), ("AIFF", "DOUBLE")]
)
def test_floats_are_read_back_exactly_even_above_full_scale(tmp_path: Path, container: str, subtype: str) -> None:
    path = tmp_path / "a"
    sound = noise(RATE_HZ, 0.1, level_dbfs=3)
    if subtype == "FLOAT":
        sound = sound.astype(np.float32).astype(np.float64)
    soundfile.write(path, sound, RATE_HZ, subtype=subtype, format=container)
    np.testing.assert_array_equal(read(path), sound)
    facts = sound_facts(path)
    assert (facts.coding, facts.bits) == ("float", 32 if subtype == "FLOAT" else 64)


def test_bw64_is_read(tmp_path: Path) -> None:
    """ITU-R BS.2088 calls the form BW64 and keeps the rest of RF64."""
    path = tmp_path / "a.wav"
    soundfile.write(path, values(24), RATE_HZ, subtype="PCM_24", format="RF64")
    path.write_bytes(b"BW64" + path.read_bytes()[4:])
    assert sound_facts(path).riff_form == "BW64"
    np.testing.assert_array_equal(read(path), values(24) / 2.0**31)


@pytest.mark.parametrize("frames", [1, 17, 4096, 10_007, 10**6])
@pytest.mark.parametrize("container", ["WAV", "FLAC"])
def test_block_length_is_the_callers(tmp_path: Path, frames: int, container: str) -> None:
    path = tmp_path / "a"
    written = values(16, frames=2003)
    soundfile.write(path, written, RATE_HZ, subtype="PCM_16", format=container)
    np.testing.assert_array_equal(read(path, frames), written / 2.0**31)


def test_blocks_are_the_callers_to_keep(tmp_path: Path) -> None:
    """No block changes when the next one is read, and writing into one changes nothing else."""
    path = tmp_path / "a.wav"
    soundfile.write(path, values(24), RATE_HZ, subtype="PCM_24")
    with open_sound(path) as sound:
        blocks = iter(sound.blocks(1000))
        first = next(blocks)
        copy = first.copy()
        next(blocks)[:] = 9.0
        np.testing.assert_array_equal(first, copy)


def test_a_file_without_frames_has_none(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    soundfile.write(path, np.zeros((0, 2)), RATE_HZ, subtype="PCM_16")
    with open_sound(path) as sound:
        assert list(sound.blocks()) == []
        assert sound.facts.frames == 0


def test_chunks_before_and_after_the_sound_are_passed_over(tmp_path: Path) -> None:
    """Broadcast files carry chunks in front, taggers add them behind; odd ones are padded to even length."""
    path = tmp_path / "a.wav"
    soundfile.write(path, values(16, frames=101, channels=1), RATE_HZ, subtype="PCM_16")
    raw = path.read_bytes()
    odd = b"bext" + (5).to_bytes(4, "little") + b"hello\0"
    riff = raw[8:12] + odd + raw[12:] + b"LIST" + (4).to_bytes(4, "little") + b"INFO"
    path.write_bytes(b"RIFF" + len(riff).to_bytes(4, "little") + riff)
    np.testing.assert_array_equal(read(path), values(16, frames=101, channels=1) / 2.0**31)


def test_valid_bits_of_the_extensible_header_are_the_bit_depth(tmp_path: Path) -> None:
    """20 bits in a container of 24: the header states both (Multimedia Programming Interface, WAVEFORMATEXTENSIBLE)."""
    path = tmp_path / "a.wav"
    soundfile.write(path, values(20), RATE_HZ, subtype="PCM_24", format="WAVEX")
    raw = bytearray(path.read_bytes())
    at = raw.index(b"fmt ") + 8 + 18
    assert raw[at : at + 2] == (24).to_bytes(2, "little")
    raw[at : at + 2] = (20).to_bytes(2, "little")
    path.write_bytes(raw)
    assert sound_facts(path).bits == 20
    np.testing.assert_array_equal(read(path), values(20) / 2.0**31)


def encoded(folder: Path, name: str, codec: str, sound: Array, rate_hz: int) -> Path:
    """Written by FFmpeg's libraries, Vorbis by libsndfile."""
    path = folder / name
    if codec == "vorbis":
        soundfile.write(path, sound, rate_hz, format="OGG", subtype="VORBIS")
        return path
    with av.open(str(path), "w") as file:
        stream = file.add_stream(codec, rate=rate_hz, layout="stereo" if sound.shape[1] == 2 else "mono")
        if codec == "alac":
            stream.format = "s16p"
        else:
            stream.bit_rate = 256_000
        resampler = av.AudioResampler(
            format=stream.format, layout=stream.layout, rate=rate_hz, frame_size=stream.frame_size
        )
        frame = av.AudioFrame.from_ndarray(sound.T.astype(np.float32).copy(), format="fltp", layout=stream.layout.name)
        frame.sample_rate, frame.pts, frame.time_base = rate_hz, 0, Fraction(1, rate_hz)
        for piece in [*resampler.resample(frame), *resampler.resample(None)]:
            file.mux(stream.encode(piece))
        file.mux(stream.encode(None))
    return path


@pytest.mark.parametrize(
    ("name", "codec", "rate_hz", "container", "coding"),
    [
        ("a.mp3", "libmp3lame", 44_100, "mp3", "mp3"),
        ("a.m4a", "aac", 48_000, "m4a", "aac"),
        ("a.opus", "libopus", 48_000, "opus", "opus"),
        ("a.ogg", "vorbis", 44_100, "ogg", "vorbis"),
    ],
)
@pytest.mark.parametrize("channels", [1, 2])
def test_lossy_files_are_decoded_in_place(
    tmp_path: Path, name: str, codec: str, rate_hz: int, container: str, coding: str, channels: int
) -> None:
    """The encoder's delay and padding are trimmed: a tone is read back at its own place and length."""
    tone = sine(997, rate_hz, 1.5) * ([0.5] * channels)
    path = encoded(tmp_path, name, codec, tone, rate_hz)
    hidden = path.rename(tmp_path / "renamed.bin")
    facts = sound_facts(hidden)
    assert (facts.container, facts.coding, facts.bits) == (container, coding, None)
    assert (facts.rate_hz, facts.channels) == (rate_hz, channels)
    back = read(hidden)
    assert facts.frames == len(back) == len(tone)
    middle = slice(rate_hz // 4, rate_hz)
    assert np.abs(back[middle] - tone[middle]).max() < 0.05


def test_alac_is_lossless_and_states_its_bit_depth(tmp_path: Path) -> None:
    written = values(16)
    path = encoded(tmp_path, "a.m4a", "alac", written / 2.0**31, RATE_HZ)
    facts = sound_facts(path)
    assert (facts.container, facts.coding, facts.bits, facts.frames) == ("m4a", "pcm", 16, len(written))
    np.testing.assert_array_equal(read(path), written / 2.0**31)


@pytest.mark.thorough(2)
@needs("ffmpeg")
@pytest.mark.parametrize(
    ("name", "options", "bits"),
    [
        ("a.wav", ["-c:a", "pcm_s24le"], 24),
        ("a.aiff", ["-c:a", "pcm_s24be"], 24),
        ("sowt.aifc", ["-c:a", "pcm_s16le", "-f", "aiff"], 16),
        ("a.flac", ["-c:a", "flac", "-sample_fmt", "s32", "-bits_per_raw_sample", "24"], 24),
        ("long.wav", ["-c:a", "pcm_s24le", "-rf64", "always"], 24),
        ("a.m4a", ["-c:a", "alac", "-sample_fmt", "s32p"], 24),
        ("flac.ogg", ["-c:a", "flac", "-sample_fmt", "s32", "-bits_per_raw_sample", "24"], 24),
    ],
)
def test_files_of_another_writer_hold_the_same_sound(tmp_path: Path, name: str, options: list[str], bits: int) -> None:
    """Judge: ffmpeg writes one sound into seven containers; one digest, whatever holds it."""
    source = tmp_path / "source.wav"
    soundfile.write(source, values(bits), RATE_HZ, subtype=f"PCM_{bits}")
    other = tmp_path / name
    subprocess.run(["ffmpeg", "-v", "error", "-i", source, "-metadata", "title=Slack", *options, other], check=True)
    assert sound_facts(other).bits == bits
    assert digest(other) == digest(source)


@needs("flac")
def test_flac_behind_an_id3_tag_is_flac(tmp_path: Path) -> None:
    """Some taggers put an ID3v2 tag in front of FLAC; readers skip it."""
    path = tmp_path / "a.flac"
    soundfile.write(path, values(16), RATE_HZ, subtype="PCM_16")
    plain = digest(path)
    path.write_bytes(b"ID3\x04\0\0" + bytes([0, 0, 1, 0]) + bytes(128) + path.read_bytes())
    assert sound_facts(path).container == "flac"
    assert digest(path) == plain


def test_a_signalling_nan_is_read_without_a_warning(tmp_path: Path) -> None:
    """IEEE 754: converting one to double raises "invalid"; the sample is still no number, for the meters to report."""
    path = tmp_path / "a.wav"
    soundfile.write(path, np.zeros((100, 2), np.float32), 44_100, subtype="FLOAT")
    content = bytearray(path.read_bytes())
    content[-8:-4] = (0x7FA00000).to_bytes(4, "little")
    path.write_bytes(content)
    with open_sound(path) as sound:
        read = np.concatenate(list(sound.blocks()))
    assert np.isnan(read).tolist() == [[False, False]] * 99 + [[True, False]]
