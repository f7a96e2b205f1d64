"""Which loudspeaker each channel is for, in the WAV files that are written: the master's statement, never a guess."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import numpy as np
import pytest

from delivery.audio import pcm
from delivery.audio.blocks import sound_facts
from delivery.audio.pcm import PcmForm, write_pcm
from delivery.audio.speakers import mask_for, of_mask
from delivery.chain.render import render
from delivery.model.chain import Chain, Step, StepKind, Target
from tests.judges import needs

EXTENSIBLE = {"extensible": True}


def named_by_ffprobe(path: Path) -> str:
    """FFmpeg's name of the layout; empty where the file states none."""
    text = subprocess.run(
        ["ffprobe", "-v", "error", "-show_streams", "-of", "json", str(path)], check=True, capture_output=True
    )
    return str(json.loads(text.stdout)["streams"][0].get("channel_layout", ""))


def master(folder: Path, channels: int, channel_mask: int) -> Path:
    path = folder / "master.wav"
    values = np.random.default_rng(channels).integers(-(2**31), 2**31, (500, channels)).astype(np.int32)
    write_pcm(path, PcmForm("wav", "pcm", 48_000, channels, 32, True, channel_mask), 500, [values])
    return path


def delivered(source: Path, channels: int, coding: str = "pcm") -> Path:
    target, path = Target("wav", coding, 48_000, channels, 32), source.with_name("delivered.wav")
    render(source, Chain((Step(StepKind.REWRAP, "again", "a test orders it", EXTENSIBLE),), target), path, "seed")
    return path


@needs("ffprobe")
@pytest.mark.parametrize(
    ("channels", "mask", "layout"),
    [
        (4, 0x33, "quad"),
        (4, 0x107, "4.0"),
        (4, 0x603, "quad(side)"),
        (5, 0x607, "5.0(side)"),
        (6, 0x3F, "5.1"),
        (6, 0x60F, "5.1(side)"),
        (6, 0x707, "6.0"),
        (8, 0x63F, "7.1"),
        (8, 0xFF, "7.1(wide)"),
    ],
)
@pytest.mark.parametrize("coding", ["pcm", "float"])
def test_the_masters_mask_is_carried(tmp_path: Path, channels: int, mask: int, layout: str, coding: str) -> None:
    """FFmpeg names the layout of the delivered file as it names the master's."""
    source = (master if coding == "pcm" else master_of_halves)(tmp_path, channels, mask)
    made = delivered(source, channels, coding)
    assert sound_facts(made).channel_mask == mask
    assert named_by_ffprobe(made) == layout


def master_of_halves(folder: Path, channels: int, channel_mask: int) -> Path:
    """Samples that floats hold exactly."""
    path = folder / "halves.wav"
    form = PcmForm("wav", "float", 48_000, channels, 32, True, channel_mask)
    write_pcm(path, form, 500, [np.full((500, channels), 0.5)])
    return path


@needs("ffprobe")
@pytest.mark.parametrize("channels", [3, 4, 6, 8])
def test_an_unknown_layout_stays_unknown(tmp_path: Path, channels: int) -> None:
    """The library that writes the file would state one of its own choice for 4, 6 and 8 channels."""
    made = delivered(master(tmp_path, channels, 0), channels)
    assert sound_facts(made).speakers == ()
    assert named_by_ffprobe(made) in ("", "unknown", f"{channels} channels")


@needs("ffprobe")
def test_a_long_file_states_it_as_well(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """RF64, forced by a small limit of sizes; its ds64 chunk comes before the format."""
    monkeypatch.setattr(pcm, "SIZE_FIELD_MAX", pcm.ROOM_FOR_TAGS_BYTES)
    path = master(tmp_path, 6, 0x60F)
    assert sound_facts(path).riff_form == "RF64"
    assert named_by_ffprobe(path) == "5.1(side)"


@needs("ffmpeg", "ffprobe")
@pytest.mark.parametrize(("suffix", "layout"), [("flac", "5.1"), ("caf", "5.1"), ("flac", "7.1"), ("flac", "6.1")])
def test_layouts_of_other_containers_become_a_mask(tmp_path: Path, suffix: str, layout: str) -> None:
    """FLAC by its fixed order, CAF by its chunk; the judge reads both files."""
    source = tmp_path / f"master.{suffix}"
    sound = ["-f", "lavfi", "-i", f"anoisesrc=r=48000:d=0.1,aformat=channel_layouts={layout}"]
    subprocess.run(
        ["ffmpeg", "-v", "error", *sound, "-sample_fmt", "s16" if suffix == "caf" else "s32", source], check=True
    )
    channels = sound_facts(source).channels
    side_or_back = named_by_ffprobe(source).replace("(side)", "")  # one pair at 110 degrees by either name
    assert named_by_ffprobe(delivered(source, channels)) == side_or_back == layout


@pytest.mark.parametrize("mask", [0x7, 0x33, 0x37, 0x3F, 0x70F, 0x63F, 0x107, 0x2D63F])
def test_a_mask_for_positions(mask: int) -> None:
    channels = mask.bit_count()
    assert mask_for(of_mask(mask, channels)) == mask


def test_an_order_that_no_mask_has() -> None:
    """Vorbis puts the centre second; a mask lists left, right, centre."""
    assert mask_for(("L", "C", "R")) == mask_for(("Lw", "Rw", "C")) == mask_for(()) == 0
