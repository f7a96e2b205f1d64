"""Every container keeps what it declares: a new one is tested here without further work."""

from __future__ import annotations

import importlib
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

import delivery.formats
from delivery.audio.blocks import open_sound
from delivery.audio.codecs import CODECS
from delivery.chain.render import render
from delivery.formats.container import Container
from delivery.formats.registry import containers, extension
from delivery.model.chain import Chain, Step, StepKind, Target

MEMBERS = list(containers().values())
WORDS = [(container, bits) for container in MEMBERS if "pcm" in container.codings for bits in container.bits]
LOSSY = [(container, coding) for container in MEMBERS for coding in container.codings if coding not in ("pcm", "float")]
DIALECTS = {"id3", "riff", "vorbis", "mp4"}


def carried(
    folder: Path, samples_16: NDArray[np.int32], rate_hz: int, target: Target, kind: StepKind = StepKind.REWRAP
) -> tuple[Path, NDArray[np.float64]]:
    """These samples of at most 24 bits (or 32), put into *target* by a chain of one step; the file and its samples."""
    source, path = folder / "source.wav", folder / "target"
    soundfile.write(source, samples_16, rate_hz, "PCM_32")
    render(source, Chain((Step(kind, "", ""),), target), path, "seed")
    with open_sound(path) as sound:
        facts = sound.facts
        assert (facts.container, facts.coding) == (target.container, target.coding)
        assert facts.channels == target.channels
        assert facts.frames == len(samples_16)
        assert facts.bits == target.bits
        return path, np.concatenate(list(sound.blocks()))


def some_integers(frames: int, channels: int, bits: int) -> NDArray[np.int32]:
    samples_16 = np.random.default_rng(bits).integers(-(2 ** (bits - 1)), 2 ** (bits - 1), (frames, channels))
    return (samples_16 << (32 - bits)).astype(np.int32)


def test_each_container_is_in_the_file_of_its_name() -> None:
    assert {"wav", "aiff", "flac", "mp3", "m4a", "opus"} <= set(containers())
    for container in MEMBERS:
        assert importlib.import_module(f"{delivery.formats.__name__}.{container.id}").CONTAINER is container


@pytest.mark.parametrize("container", MEMBERS, ids=lambda one: one.id)
def test_the_declaration_is_whole(container: Container) -> None:
    assert container.title
    assert container.codings
    assert container.extension == extension(container.id)
    assert container.extension.startswith(".")
    assert container.extension == container.extension.lower()
    assert set(container.tag_formats) <= DIALECTS
    assert container.tag_formats or "not stored" in container.note, "label copy that is lost must be stated"
    assert list(container.bits) == sorted(set(container.bits))
    assert bool(container.bits) == ("pcm" in container.codings)


def test_endings_are_not_shared() -> None:
    assert len({container.extension for container in MEMBERS}) == len(MEMBERS)


@pytest.mark.parametrize(("container", "bits"), WORDS, ids=lambda one: getattr(one, "id", one))
@pytest.mark.parametrize(("frames", "channels"), [(1, 1), (1_001, 1), (1_000, 2)])
def test_integers_of_every_declared_bit_depth_are_read_back(
    tmp_path: Path, container: Container, bits: int, frames: int, channels: int
) -> None:
    samples_16 = some_integers(frames, channels, bits)
    _, found = carried(tmp_path, samples_16, 44_100, Target(container.id, "pcm", 44_100, channels, bits))
    assert np.array_equal(found * 2.0**31, samples_16)


@pytest.mark.parametrize("container", [one for one in MEMBERS if "float" in one.codings], ids=lambda one: one.id)
def test_floats_are_read_back(tmp_path: Path, container: Container) -> None:
    samples_16 = some_integers(1_000, 2, 24)
    _, found = carried(tmp_path, samples_16, 44_100, Target(container.id, "float", 44_100, 2, 32))
    assert np.array_equal(found * 2.0**31, samples_16)


@pytest.mark.parametrize("container", [one for one in MEMBERS if "pcm" in one.codings], ids=lambda one: one.id)
def test_the_highest_rate_and_the_most_channels_it_declares(tmp_path: Path, container: Container) -> None:
    bits = container.bits[0]
    for rate_hz, channels in ((container.max_rate_hz, 1), (48_000, container.max_channels)):
        samples_16 = some_integers(100, channels, bits)
        path, found = carried(tmp_path, samples_16, rate_hz, Target(container.id, "pcm", rate_hz, channels, bits))
        assert np.array_equal(found * 2.0**31, samples_16)
        with open_sound(path) as sound:
            assert sound.facts.rate_hz == rate_hz
        path.unlink()


@pytest.mark.thorough(2)
@pytest.mark.parametrize(("container", "coding"), LOSSY, ids=lambda one: getattr(one, "id", one))
def test_a_lossy_coding_at_every_rate_it_takes(tmp_path: Path, container: Container, coding: str) -> None:
    """Lowest, middle and highest bit rate of each; the length is read back each time, in mono and at most channels."""
    codec = CODECS[coding]
    assert max(codec.rates_hz) <= container.max_rate_hz
    assert codec.kbps is not None
    for rate_hz in codec.rates_hz:
        for channels in {1, container.max_channels}:
            taken = codec.kbps(rate_hz, channels)
            for bitrate_kbps in (taken[0], taken[len(taken) // 2], taken[-1]):
                target = Target(container.id, coding, rate_hz, channels, None, bitrate_kbps)
                samples_16 = some_integers(5_001, channels, 24) // 16
                path, found = carried(tmp_path, samples_16, rate_hz, target, StepKind.ENCODE)
                assert found.shape == samples_16.shape
                path.unlink()


@pytest.mark.parametrize("container", MEMBERS, ids=lambda one: one.id)
def test_sealed_means_a_damaged_sample_is_noticed(tmp_path: Path, container: Container) -> None:
    """One bit of the sound turned over: a sealed container's reader refuses, of the others nothing is claimed."""
    if not container.sealed:
        return
    from delivery.errors import Unreadable

    samples_16 = some_integers(20_000, 2, 16)
    path, _ = carried(tmp_path, samples_16, 44_100, Target(container.id, "pcm", 44_100, 2, 16))
    raw = bytearray(path.read_bytes())
    raw[len(raw) // 2] ^= 1
    path.write_bytes(raw)
    with pytest.raises(Unreadable), open_sound(path) as sound:
        for _ in sound.blocks():
            pass


@pytest.mark.parametrize("container", MEMBERS, ids=lambda one: one.id)
def test_same_in_same_out(tmp_path: Path, container: Container) -> None:
    """Two renders of the same samples are equal byte for byte: no clock, no serial number by chance."""
    for coding in container.codings:
        codec = CODECS.get(coding)
        kbps = codec.kbps(48_000, 2)[-1] if codec and codec.kbps else None
        bits = {"pcm": container.bits[-1] if container.bits else None, "float": 32}.get(coding)
        target = Target(container.id, coding, 48_000, 2, bits, kbps)
        kind = StepKind.ENCODE if codec else StepKind.REWRAP
        samples_16 = some_integers(5_000, 2, min(bits or 24, 24)) // 16
        if coding == "pcm" and bits:
            samples_16 = samples_16 >> (32 - bits) << (32 - bits)
        made = []
        for turn in ("a", "b"):
            (tmp_path / coding / turn).mkdir(parents=True)
            path, _ = carried(tmp_path / coding / turn, samples_16, 48_000, target, kind)
            made.append(path.read_bytes())
        assert made[0] == made[1]
