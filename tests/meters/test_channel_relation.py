"""Mono, nearly mono, stereo, and stereo with one side inverted, from figures that other meters give."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.meters import measure_blocks
from delivery.meters.channel_relation import ChannelRelation, agreement
from delivery.model.figure import Reading
from tests.meters.memory import facts as sound_facts
from tests.signals import noise

RATES_HZ = (44_100, 48_000, 88_200, 96_000, 192_000)
HZ = (31.5, 63.0, 125.0, 250.0, 500.0, 1000.0, 2000.0, 4000.0, 8000.0)


def octaves(*correlations: tuple[float, float], level_dbfs: float = -30.0) -> tuple[tuple[float, ...], ...]:
    """Of each stretch the correlation in the octaves to 125 Hz, and that above, as rows of octaves_over_time.

    Closed form: two channels of power 1/2 have mid and side of (1 + r) / 2 and (1 - r) / 2.
    """
    return tuple(
        (1.5 * number, hz, *(level_dbfs + 10 * np.log10(max((1 + sign * r) / 2, 1e-12)) for sign in (1, -1)))
        for number, (bass, rest) in enumerate(correlations)
        for hz, r in zip(HZ, (bass,) * 3 + (rest,) * 6, strict=True)
    )


def relation(correlation: float, *stretches: tuple[float, float], identical: bool = False) -> list[object]:
    values = (correlation, identical, octaves(*stretches))
    facts = {name: Reading(value) for name, value in zip(ChannelRelation.needs, values, strict=True)}
    return [reading.value for reading in ChannelRelation.derive(facts)][1:]


@pytest.mark.parametrize("correlation", [-1.0, -0.3, 0.0, 0.8])
def test_mean_correlation_of_octaves(correlation: float) -> None:
    rows = octaves((correlation, 0.2), (0.1, correlation))
    assert agreement(rows, HZ[:3]) == pytest.approx([correlation, 0.1])
    assert agreement(rows, HZ[3:]) == pytest.approx([0.2, correlation])
    assert agreement(octaves((1.0, 1.0), level_dbfs=-70.0), HZ) == []


@pytest.mark.parametrize("gain_db", [0.0, 0.2, -3.0])
def test_mono_with_dither_or_another_level_is_nearly_mono(gain_db: float) -> None:
    """Triangular dither of 16 bits beside a tone at -20 dBFS is 76 dB softer: correlation 1 - 3e-8."""
    left = 0.1 * np.sin(np.arange(48_000) / 10)
    rng = np.random.default_rng(1)
    right = left * 10 ** (gain_db / 20) + rng.triangular(-1, 0, 1, len(left)) / 32_768
    correlation = float(np.corrcoef(left, right)[0, 1])
    assert relation(correlation, (1.0, 1.0)) == [True, False]


def test_identical_channels_are_mono_and_not_nearly_so() -> None:
    assert relation(1.0, (1.0, 1.0), identical=True) == [False, False]


def test_stereo_is_neither() -> None:
    """The narrowest piece of music tried has 0.96 over the file; a wide one -0.1 in the bass and -0.3 above."""
    assert relation(0.96, (0.9, 0.9)) == [False, False]
    assert relation(-0.34, (-0.1, -0.3)) == [False, False]


def test_opposed_bass_is_an_inverted_side_whatever_is_above() -> None:
    assert relation(-0.1, (-0.3, 0.1)) == [False, True]
    assert relation(-0.1, (-0.9, 0.1), (-0.8, 0.1), (0.2, 0.1)) == [False, True]


def test_without_bass_the_voices_decide() -> None:
    assert relation(-0.5, (0.0, -0.5)) == [False, True]
    assert relation(-0.5, (0.0, -0.3)) == [False, False]
    assert relation(-0.5, (0.4, -0.5)) == [False, False], "the bass agrees"


def test_a_loud_effect_out_of_phase_is_no_inverted_side() -> None:
    """Every stretch counts alike, however loud, and most of them must oppose each other."""
    assert relation(-0.5, (-0.9, -0.9), (-0.9, -0.9), *((0.01, 0.5),) * 4) == [False, False]


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_bass_in_the_middle_under_unrelated_treble_shows_polarity(rate_hz: int) -> None:
    """Constructed: one noise below 200 Hz in both channels, 6 dB softer noises of their own everywhere."""
    own, shared = noise(rate_hz, 6), np.fft.rfft(noise(rate_hz, 6, channels=1, seed=2)[:, 0])
    shared[np.fft.rfftfreq(len(own), 1 / rate_hz) > 200] = 0
    bass = np.fft.irfft(shared, len(own))
    sound = 0.05 * own / own.std() + (0.05 * bass / bass.std())[:, None]
    for sign in (1.0, -1.0):
        found = measure_blocks(sound_facts(sound, rate_hz), [sound * [1.0, sign]], only=["one_side_inverted"])
        assert found.value("one_side_inverted") is (sign < 0)
