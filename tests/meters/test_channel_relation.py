"""Mono, nearly mono, stereo, and stereo with one side inverted, from figures that other meters give."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.meters.channel_relation import ChannelRelation, octave_correlation
from delivery.model.figure import Reading

OCTAVES_HZ = (31.5, 63.0, 125.0, 250.0, 500.0)


def relation(correlation: float, seconds: tuple[float, ...], bass: float, *, identical: bool = False) -> list[object]:
    loss_db = -10 * np.log10((1 + bass) / 2)
    values = (correlation, seconds, identical, OCTAVES_HZ, (0.0, loss_db, loss_db, 3.0, 3.0))
    facts = {name: Reading(value) for name, value in zip(ChannelRelation.needs, values, strict=True)}
    return [reading.value for reading in ChannelRelation.derive(facts)][1:]


@pytest.mark.parametrize("correlation", [-1.0, -0.3, 0.0, 0.8])
def test_correlation_from_the_loss_in_mono(correlation: float) -> None:
    """Closed form: two channels of power 1 sum to 2 + 2 r, of which r = 1 would give 4."""
    loss_db = -10 * np.log10(max(2 + 2 * correlation, 1e-30) / 4)
    assert octave_correlation(loss_db) == pytest.approx(correlation, abs=1e-9)


@pytest.mark.parametrize("gain_db", [0.0, 0.2, -3.0])
def test_mono_with_dither_or_another_level_is_nearly_mono(gain_db: float) -> None:
    """Triangular dither of 16 bits beside a tone at -20 dBFS is 76 dB softer: correlation 1 - 3e-8."""
    left = 0.1 * np.sin(np.arange(48_000) / 10)
    rng = np.random.default_rng(1)
    right = left * 10 ** (gain_db / 20) + rng.triangular(-1, 0, 1, len(left)) / 32_768
    correlation = float(np.corrcoef(left, right)[0, 1])
    assert relation(correlation, (correlation,) * 9, 1.0) == [True, False]


def test_identical_channels_are_mono_and_not_nearly_so() -> None:
    assert relation(1.0, (1.0,) * 9, 1.0, identical=True) == [False, False]


def test_stereo_is_neither() -> None:
    """The narrowest piece of music tried has 0.96 over the file; wide ones have -0.3."""
    assert relation(0.96, (0.96,) * 9, 0.9) == [False, False]
    assert relation(-0.34, (-0.3,) * 9, -0.03) == [False, False]


def test_opposed_sides_are_inverted() -> None:
    assert relation(-0.5, (-0.5,) * 9, 0.0) == [False, True]
    assert relation(-0.1, (-0.1,) * 9, -0.6) == [False, True]


def test_a_loud_effect_out_of_phase_is_no_inverted_side() -> None:
    """Correlation over the file follows its loudest seconds; most others agree."""
    assert relation(-0.5, (-0.9, -0.9, 0.5, 0.5, 0.5, 0.5), 0.2) == [False, False]
