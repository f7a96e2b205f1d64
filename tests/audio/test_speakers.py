"""Which loudspeaker each channel is for, read from files that other programs wrote."""

from __future__ import annotations

import shutil
import struct
import subprocess
from pathlib import Path

import numpy as np
import pytest
import soundfile

from delivery.audio.blocks import sound_facts
from delivery.audio.speakers import of_chan, of_ffmpeg, of_mask
from delivery.meters import measure
from delivery.model.speakers import loudness_weights
from tests.signals import noise

LAYOUTS = {
    "quad": (4, "L R Ls Rs"),
    "5.0": (5, "L R C Ls Rs"),
    "5.0(side)": (5, "L R C Ls Rs"),
    "5.1": (6, "L R C LFE Ls Rs"),
    "5.1(side)": (6, "L R C LFE Ls Rs"),
    "6.1": (7, "L R C LFE Cs Ls Rs"),
    "7.1": (8, "L R C LFE Lb Rb Lss Rss"),
    "5.1.4": (10, "L R C LFE Ls Rs Ltf Rtf Ltb Rtb"),
    "7.1.4": (12, "L R C LFE Lb Rb Lss Rss Ltf Rtf Ltb Rtb"),
}
"""Named as FFmpeg names them; channels and the order that WAVE and FLAC give them.

A surround pair called "back" (FFmpeg's 5.1) or "side" is the same pair: there is no other to tell it from.
"""
EXPLICIT = {
    "5.1.4": "FL+FR+FC+LFE+BL+BR+TFL+TFR+TBL+TBR",
    "7.1.4": "FL+FR+FC+LFE+BL+BR+SL+SR+TFL+TFR+TBL+TBR",
}
needs_ffmpeg = pytest.mark.skipif(not shutil.which("ffmpeg"), reason="ffmpeg is not installed")


def written(folder: Path, layout: str, name: str, *options: str) -> tuple[Path, np.ndarray]:
    """A file by ffmpeg in which the LFE is 20 dB above everything else."""
    channels, speakers = LAYOUTS[layout]
    sound = noise(48_000, 1.0, channels=channels, level_dbfs=-40, seed=channels)
    if "LFE" in speakers:
        sound[:, speakers.split().index("LFE")] *= 10
    raw, path = folder / "raw", folder / name
    raw.write_bytes(np.rint(np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes())
    form = ["-f", "s16le", "-ar", "48000", "-ch_layout", EXPLICIT.get(layout, layout)]
    command = ["ffmpeg", "-v", "error", *form, "-i", str(raw), *options, str(path)]
    subprocess.run(command, check=True)
    return path, np.frombuffer(raw.read_bytes(), "<i2").reshape(-1, channels) / 32768


@pytest.mark.thorough(8)
@needs_ffmpeg
@pytest.mark.parametrize("suffix", ["wav", "w64", "flac", "caf"])
@pytest.mark.parametrize("layout", LAYOUTS)
def test_layouts_of_files_of_other_programs(tmp_path: Path, layout: str, suffix: str) -> None:
    """FFmpeg writes the mask into WAV and W64, chan into CAF; FLAC has at most 8 channels and an order of its own."""
    channels, speakers = LAYOUTS[layout]
    if suffix == "flac" and channels > 8:
        pytest.skip("FLAC holds at most 8 channels")
    path, _ = written(tmp_path, layout, f"x.{suffix}")
    if (layout, suffix) == ("7.1", "caf"):  # it writes the tag MPEG_7_1_C, whose sides come before the backs
        speakers = "L R C LFE Lss Rss Lb Rb"
    assert " ".join(sound_facts(path).speakers) == speakers


@needs_ffmpeg
@pytest.mark.parametrize(
    ("layout", "name", "options"),
    [("5.1", "x.m4a", ("-c:a", "alac")), ("5.1", "y.m4a", ("-c:a", "aac", "-b:a", "512k")), ("5.1", "x.opus", ())],
)
def test_decoded_channels_are_named_in_file_order(
    tmp_path: Path, layout: str, name: str, options: tuple[str, ...]
) -> None:
    """ALAC, AAC and Opus store another order; whatever the decoder gives, the loud channel is the one called LFE."""
    path, sound = written(tmp_path, layout, name, *options)
    found = measure(path)
    speakers, levels = found.value("speakers"), found.value("rms_dbfs")
    assert sorted(speakers) == sorted(LAYOUTS[layout][1].split())
    low = sound[:, 3] if name.endswith("alac") else None
    assert low is None or levels[speakers.index("LFE")] == max(levels)
    if "alac" in options:
        assert speakers[int(np.argmax(levels))] == "LFE"


def test_vorbis_has_the_channel_order_of_its_specification(tmp_path: Path) -> None:
    """Vorbis I, 4.3.9: of six channels the LFE is the last, and libsndfile hands them on in that order."""
    if not shutil.which("ffmpeg"):
        pytest.skip("ffmpeg is not installed")
    path, _ = written(tmp_path, "5.1", "x.ogg", "-c:a", "libvorbis")
    found = measure(path)
    levels = found.value("rms_dbfs")
    assert found.value("speakers")[int(np.argmax(levels))] == "LFE"


@needs_ffmpeg
@pytest.mark.parametrize("layout", LAYOUTS)
def test_the_lfe_moves_nothing(tmp_path: Path, layout: str) -> None:
    """Loudness equals that of the same file with a silent LFE (BS.1770-5, Annex 1)."""
    path, sound = written(tmp_path, layout, "x.wav")
    speakers = LAYOUTS[layout][1].split()
    weights = np.array(loudness_weights(speakers))
    mono = tmp_path / "mono.wav"
    powers = np.mean(sound**2, axis=0)
    one = sound[:, 0] * np.sqrt(np.sum(weights * powers) / powers[0])
    soundfile.write(mono, one, 48_000, subtype="DOUBLE")
    assert measure(path).value("integrated_lufs") == pytest.approx(measure(mono).value("integrated_lufs"), abs=0.1)


def test_a_plain_header_has_no_loudspeaker_positions(tmp_path: Path) -> None:
    """Six channels in a plain WAV: no mask, so no loudness, and the reason is in the reading."""
    path = tmp_path / "x.wav"
    soundfile.write(path, noise(48_000, 1.0, channels=6), 48_000, subtype="PCM_24", format="WAV")
    found = measure(path)
    assert "does not state which loudspeaker" in found["integrated_lufs"].why_missing
    assert "does not state which loudspeaker" in found["speakers"].why_missing
    assert found["true_peak_dbtp"].exists


@pytest.mark.parametrize(
    ("mask", "channels", "speakers"),
    [
        (0x0, 6, ""),
        (0x3, 6, ""),
        (0x60F, 6, "L R C LFE Ls Rs"),
        (0x63F, 6, "L R C LFE Ls Rs"),
        (0x8000003F, 7, ""),
        (0x107, 4, "L R C Cs"),
        (0x0, 2, "L R"),
        (0x0, 1, "M"),
        (0x4, 1, "C"),
        (0x8, 1, "LFE"),
    ],
)
def test_masks(mask: int, channels: int, speakers: str) -> None:
    """Bits beyond the channels are ignored, channels without a bit have no position (the mask's own document)."""
    assert " ".join(of_mask(mask, channels)) == speakers


@pytest.mark.parametrize(
    ("labels", "speakers"),
    [
        ((1, 2, 3, 4, 5, 6), "L R C LFE Ls Rs"),
        ((1, 2, 3, 4, 33, 34), "L R C LFE Ls Rs"),
        ((1, 2, 3, 4, 5, 6, 33, 34), "L R C LFE Ls Rs Lb Rb"),
        ((3, 1, 2, 10, 11, 5, 6), "C L R Lss Rss Lb Rb"),
        ((1, 2, 99), ""),
    ],
)
def test_caf_descriptions(labels: tuple[int, ...], speakers: str) -> None:
    """A chan chunk that names every channel by its label."""
    rows = b"".join(struct.pack(">II3f", label, 0, 0, 0, 0) for label in labels)
    assert " ".join(of_chan(struct.pack(">III", 0, 0, len(labels)) + rows, len(labels))) == speakers


def test_caf_tags_and_bitmaps() -> None:
    assert of_chan(struct.pack(">III", 124 << 16 | 6, 0, 0), 6) == ("C", "L", "R", "Ls", "Rs", "LFE")
    assert of_chan(struct.pack(">III", 1 << 16, 0x3F, 0), 6) == ("L", "R", "C", "LFE", "Ls", "Rs")
    assert of_chan(struct.pack(">III", 124 << 16 | 6, 0, 0), 5) == ()
    assert of_chan(b"", 6) == ()


def test_unknown_names_are_no_layout() -> None:
    assert of_ffmpeg(["FL", "FR", "NONE"]) == ()
    assert of_ffmpeg(["FL", "FR"]) == ("L", "R")


@needs_ffmpeg
@pytest.mark.parametrize("suffix", ["wav", "flac", "caf"])
def test_a_surround_pair_counts_alike_by_either_name(tmp_path: Path, suffix: str) -> None:
    """ITU-R BS.1770-5, Table 4: the surround pair of 5.1 counts 1.41, whether a program calls it back or side."""
    found = []
    for layout in ("5.1", "5.1(side)"):
        path, _ = written(tmp_path, layout, f"{layout}.{suffix}")
        found.append(measure(path).value("integrated_lufs"))
        assert loudness_weights(sound_facts(path).speakers) == (1, 1, 1, 0, 1.41, 1.41)
    assert found[0] == found[1]
