"""Padding, overs of float files, offsets, and the picture of the waveform."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from delivery.audio.facts import SoundFacts
from delivery.meters.integrity import PaddedBits
from delivery.meters.waveform import Waveform
from tests.meters.memory import measured, readings
from tests.signals import noise


@pytest.mark.parametrize("used", [8, 12, 16, 20, 23, 24])
@pytest.mark.parametrize("stated", [24, 32])
def test_padded_bits(used: int, stated: int) -> None:
    """By construction: all samples are multiples of 2**(1 - used)."""
    sound = np.rint(noise(48_000, 1) * 2 ** (used - 1)) / 2 ** (used - 1)
    assert measured(sound, 48_000, coding="pcm", bits=stated)["effective_bits"].value == used


def test_one_sample_uses_them_all() -> None:
    sound = np.rint(noise(48_000, 1) * 2**15) / 2**15
    sound[40_000, 1] += 2.0**-23
    assert measured(sound, 48_000, coding="pcm", bits=24)["effective_bits"].value == 24


@pytest.mark.parametrize(
    ("coding", "bits", "why"),
    [("float", 32, "float samples, not all of them integers"), ("mp3", None, "mp3 samples, not all of them integers")],
)
def test_no_padding_where_there_are_no_integers(coding: str, bits: int | None, why: str) -> None:
    assert measured(noise(48_000, 1), 48_000, coding=coding, bits=bits)["effective_bits"].why_missing == why


@pytest.mark.parametrize("used", [8, 16, 20, 24])
@pytest.mark.parametrize("block", [1000, 48_000])
def test_floats_that_are_integers_have_a_bit_depth(used: int, block: int) -> None:
    """By construction; the extremes -1 and 1 less one step are integers, and one sample between two steps ends it."""
    steps = 2 ** (used - 1)
    sound = np.clip(np.rint(noise(48_000, 1) * steps), -steps, steps - 1) / steps
    sound[5] = -1.0, (steps - 1) / steps
    assert depth(sound, block) == used
    sound[40_000, 1] += 2.0**-40
    assert depth(sound, block) is None


@pytest.mark.parametrize("sample", [1.0, -1.0 - 2.0**-23, 1.5, np.nan, np.inf])
def test_floats_beyond_full_scale_fit_no_integer(sample: float) -> None:
    sound = np.rint(noise(48_000, 0.1) * 2**15) / 2**15
    sound[1_000, 0] = sample
    assert depth(sound, 4_800) is None


def depth(sound: np.ndarray, block: int) -> int | None:
    """The meter's figures for 32-bit floats that come in blocks of so many frames."""
    meter = PaddedBits(SoundFacts(Path(), "wav", "RIFF", "float", 48_000, sound.shape[1], len(sound), 32, 0))
    for at in range(0, len(sound), block):
        meter.update(sound[at : at + block])
    (reading,) = meter.result()
    return None if reading.value is None else int(reading.value)


def test_silence_uses_no_bits() -> None:
    assert (
        measured(np.zeros((100, 2)), 48_000, coding="pcm", bits=24)["effective_bits"].why_missing
        == "the file is silent"
    )


def test_float_overs_are_counted() -> None:
    sound = np.array([[1.0, -1.0], [1.0000001, 0.0], [-1.5, 2.0]])
    assert measured(sound, 48_000)["float_overs"].value == 3


@pytest.mark.parametrize("frames", [1, 5, 16, 12_800, 12_801, 100_000, 1_000_003])
def test_waveform_is_the_outline(frames: int) -> None:
    """Slices of equal length, at most 800, that hold exactly the extremes of numpy's own."""
    sound = noise(48_000, frames / 48_000, seed=frames)[:frames]
    found = readings(Waveform, sound, 48_000)
    low, high = found["waveform_low"], found["waveform_high"]
    width = 16
    while -(-frames // width) > 800:
        width *= 2
    starts = np.arange(0, frames, width)
    assert low == tuple(np.minimum.reduceat(sound.min(axis=1), starts))
    assert high == tuple(np.maximum.reduceat(sound.max(axis=1), starts))
