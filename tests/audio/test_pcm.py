"""What goes into WAV, AIFF and FLAC comes out again, read back by libsndfile's reader."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st

from delivery.audio import pcm
from delivery.audio.pcm import PcmForm, sound_format, write_pcm
from delivery.errors import Unusable
from delivery.formats import containers

LENGTHS = {"wav": (8, 16, 24, 32), "aiff": (16, 24, 32), "flac": (8, 16, 24)}
FORMS = [(container, bits) for container, lengths in LENGTHS.items() for bits in lengths]


def some_integers(frames: int, channels: int, bits: int, seed: int = 1) -> np.ndarray:
    """Every value a sample can have, both limits among them, left-justified."""
    low, high = -(2 ** (bits - 1)), 2 ** (bits - 1)
    values = np.random.default_rng(seed).integers(low, high, (frames, channels))
    values.flat[: min(2, values.size)] = [low, high - 1][: min(2, values.size)]
    return (values << (32 - bits)).astype(np.int32)


def in_blocks(values: np.ndarray, frames: int) -> list[np.ndarray]:
    return [values[start : start + frames] for start in range(0, len(values), frames)]


@settings(max_examples=60)
@given(
    form=st.sampled_from(FORMS),
    rate_hz=st.sampled_from([8_000, 44_100, 48_000, 88_200, 96_000, 176_400, 192_000, 384_000]),
    channels=st.integers(1, 8),
    frames=st.integers(1, 5_000),
    block=st.integers(1, 4_096),
)
def test_integers_are_read_back_unchanged(
    form: tuple[str, int], rate_hz: int, channels: int, frames: int, block: int
) -> None:
    container, bits = form
    values = some_integers(frames, channels, bits)
    with TemporaryDirectory() as folder:
        path = Path(folder) / "x"
        write_pcm(path, PcmForm(container, "pcm", rate_hz, channels, bits), frames, in_blocks(values, block))
        found, found_hz = soundfile.read(path, dtype="int32", always_2d=True)
    assert found_hz == rate_hz
    assert np.array_equal(found, values)


@pytest.mark.parametrize(("bits", "dtype"), [(32, np.float32), (64, np.float64)])
def test_floats_are_read_back_beyond_full_scale_too(tmp_path: Path, bits: int, dtype: type) -> None:
    x = (3 * np.random.default_rng(1).standard_normal((1001, 2))).astype(dtype).astype(np.float64)
    write_pcm(tmp_path / "x.wav", PcmForm("wav", "float", 48_000, 2, bits), 1001, [x])
    assert np.array_equal(soundfile.read(tmp_path / "x.wav", dtype="float64")[0], x)


def test_float_files_carry_no_clock_time(tmp_path: Path) -> None:
    """libsndfile dates the PEAK chunk of a float file; ours has zero (offset 12: chunk list; version, then time)."""
    write_pcm(tmp_path / "x.wav", PcmForm("wav", "float", 48_000, 2, 32), 8, [np.full((8, 2), 0.5)])
    raw = (tmp_path / "x.wav").read_bytes()
    peak = raw.index(b"PEAK")
    assert raw[peak + 8 : peak + 12] == (1).to_bytes(4, "little")
    assert raw[peak + 12 : peak + 16] == bytes(4)
    assert np.frombuffer(raw[peak + 16 : peak + 20], "<f4")[0] == 0.5


@pytest.mark.parametrize("container", ["wav", "aiff", "flac"])
def test_written_twice_the_bytes_are_the_same(tmp_path: Path, container: str) -> None:
    values = some_integers(10_000, 2, 24)
    for name, block in (("a", 10_000), ("b", 999)):
        write_pcm(tmp_path / name, PcmForm(container, "pcm", 48_000, 2, 24), 10_000, in_blocks(values, block))
    assert (tmp_path / "a").read_bytes() == (tmp_path / "b").read_bytes()


@pytest.mark.parametrize(("extensible", "tag"), [(False, 0x0001), (True, 0xFFFE)])
def test_header_is_plain_unless_extensible_is_required(tmp_path: Path, extensible: bool, tag: int) -> None:
    """Format tags of the WAVE format: 1 is PCM, 0xFFFE the extensible form. 24 bits in both, where writers differ."""
    values = some_integers(10, 2, 24)
    write_pcm(tmp_path / "x.wav", PcmForm("wav", "pcm", 48_000, 2, 24, extensible), 10, [values])
    raw = (tmp_path / "x.wav").read_bytes()
    assert int.from_bytes(raw[20:22], "little") == tag
    assert int.from_bytes(raw[34:36], "little") == 24


STEREO_24 = PcmForm("wav", "pcm", 96_000, 2, 24)


@pytest.mark.parametrize(
    ("minutes", "wanted"),
    [(4, "WAV"), (122, "WAV"), (123, "RF64"), (124, "RF64"), (125, "RF64")],
)
def test_rf64_only_where_32_bit_sizes_would_not_do(minutes: int, wanted: str) -> None:
    """2**32 bytes are 124 min of 24/96 stereo; 64 MiB less, for tags and a picture, are 122 min."""
    assert sound_format(STEREO_24, minutes * 60 * 96_000) == wanted


def test_rf64_holds_the_same_samples(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the limit lowered, since 4 GiB are much for a test. EBU Tech 3306: RF64 first, then ds64 before fmt."""
    monkeypatch.setattr(pcm, "SIZE_FIELD_MAX", pcm.ROOM_FOR_TAGS_BYTES + 599)
    values = some_integers(100, 2, 24)
    write_pcm(tmp_path / "x.wav", STEREO_24, 100, [values])
    raw = (tmp_path / "x.wav").read_bytes()
    assert raw[:4] == b"RF64"
    assert raw[12:16] == b"ds64"
    assert int.from_bytes(raw[28:36], "little") == 600  # size of the sound in bytes
    assert np.array_equal(soundfile.read(tmp_path / "x.wav", dtype="int32")[0], values)


def test_an_aiff_too_long_for_its_sizes_is_refused() -> None:
    with pytest.raises(Unusable, match="Use WAV or FLAC"):
        sound_format(
            PcmForm("aiff", "pcm", 96_000, 2, 24, most_sound_bytes=containers()["aiff"].most_sound_bytes),
            124 * 60 * 96_000,
        )


@pytest.mark.parametrize(
    ("form", "wanted"),
    [
        (PcmForm("flac", "pcm", 48_000, 2, 32), "found 32-bit pcm for flac, wanted 8-bit pcm, 16-bit pcm, 24-bit pcm"),
        (PcmForm("flac", "float", 48_000, 2, 32), "found 32-bit float for flac"),
        (PcmForm("aiff", "pcm", 48_000, 2, 20), "found 20-bit pcm for aiff"),
        (PcmForm("mp3", "pcm", 48_000, 2, 16), "wanted a container that is written as it is"),
    ],
)
def test_what_a_container_cannot_hold_is_refused_before_a_file_appears(
    tmp_path: Path, form: PcmForm, wanted: str
) -> None:
    with pytest.raises(Unusable, match=wanted):
        write_pcm(tmp_path / "x", form, 1, [np.zeros((1, 2), np.int32)])
    assert not (tmp_path / "x").exists()


def test_floats_are_never_rounded_by_the_writer(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="pcm is written from int32, not from float64"):
        write_pcm(tmp_path / "x.wav", STEREO_24, 1, [np.zeros((1, 2))])


@pytest.mark.parametrize("frames", [9, 11])
def test_announced_and_written_frames_must_agree(tmp_path: Path, frames: int) -> None:
    with pytest.raises(ValueError, match=f"{frames} frames were announced and 10 came"):
        write_pcm(tmp_path / "x.wav", STEREO_24, frames, [some_integers(10, 2, 24)])


FULL_DISK = """
import resource, signal, sys
import numpy as np
from pathlib import Path
from delivery.audio.codecs import CodedForm
from delivery.audio.encode import encode
from delivery.audio.pcm import PcmForm, write_pcm
from delivery.errors import Unfinished
from delivery.formats import containers

signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))
container = sys.argv[2]
noise = np.random.default_rng(1).integers(-2**31, 2**31, (300_000, 2)) & ~0xFF
blocks = (noise[at:at + 65_536].astype(np.int32) for at in range(0, 300_000, 65_536))
try:
    if container in ("wav", "aiff", "flac"):
        write_pcm(Path(sys.argv[1]), PcmForm(container, "pcm", 48_000, 2, 24), 300_000, blocks)
    else:
        blocks = (block / 2.0**33 for block in blocks)
        encode(Path(sys.argv[1]), CodedForm(container, 48_000, 2, 256), blocks)
except Unfinished as error:
    print("unfinished:", error)
"""


@pytest.mark.thorough(2)
@pytest.mark.skipif(sys.platform == "win32", reason="needs POSIX file size limits")
@pytest.mark.parametrize("container", ["wav", "aiff", "flac", "mp3", "aac", "opus"])
def test_a_disk_that_fills_up_is_one_clear_message(tmp_path: Path, container: str) -> None:
    """By the operating system's own limit on a file's size, in a process of its own."""
    ran = subprocess.run(
        [sys.executable, "-c", FULL_DISK, str(tmp_path / "x"), container], capture_output=True, text=True, check=False
    )
    assert ran.stdout.startswith("unfinished: x: found"), ran.stdout + ran.stderr
    assert "Traceback" not in ran.stderr


def test_writing_does_not_wait_for_the_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tags are written into the file next; the package is flushed to the disk as a whole."""
    monkeypatch.setattr(soundfile.SoundFile, "flush", lambda _: pytest.fail("flushed before it was finished"))
    samples = np.arange(-4, 4, dtype=np.int32).reshape(-1, 2) << 16
    write_pcm(tmp_path / "a.aiff", PcmForm("aiff", "pcm", 44_100, 2, 16), 4, [samples])
    monkeypatch.undo()
    assert np.array_equal(soundfile.read(tmp_path / "a.aiff", dtype="int32")[0], samples)


@pytest.mark.parametrize("extensible", [False, True])
@pytest.mark.parametrize("bits", [16, 24, 32])
@pytest.mark.parametrize("channels", [1, 2, 3])
def test_wav_files_are_those_of_libsndfile(tmp_path: Path, channels: int, bits: int, extensible: bool) -> None:
    """Judge: libsndfile, which wrote them before; bytes of sound odd and even, blocks of any length."""
    kind = "WAVEX" if extensible else "WAV"
    for frames, block in ((0, 1), (1, 1), (1001, 7), (1002, 1002)):
        values = some_integers(frames, channels, bits)
        soundfile.write(tmp_path / "judge.wav", values, 48_000, f"PCM_{bits}", format=kind)
        form = PcmForm("wav", "pcm", 48_000, channels, bits, extensible)
        write_pcm(tmp_path / "ours.wav", form, frames, in_blocks(values, block))
        assert (tmp_path / "ours.wav").read_bytes() == (tmp_path / "judge.wav").read_bytes()
