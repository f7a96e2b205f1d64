"""One contract over all figures of all meters: a value one can print, or a reason. Never an invented number.

Every rate from 8 to 384 kHz, one to 24 channels (not each number), and the sounds that tempt a meter to make something
up.
"""

from __future__ import annotations

import json
import math
from functools import cache
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

import delivery.meters as meters_package
from delivery.meters import figures
from delivery.model.figure import Measurement, Reading
from tests.meters.memory import measured
from tests.signals import noise, sine

Array = NDArray[np.float64]

RATES_HZ = (
    *(8_000, 11_025, 16_000, 22_050, 32_000, 37_800, 44_100, 47_952),
    *(48_000, 50_000, 88_200, 96_000, 176_400, 192_000, 352_800, 384_000),
)
CHANNELS = (1, 2, 3, 4, 5, 6, 7, 8, 9, 12, 16, 24)
FORMS = [*((rate_hz, 2) for rate_hz in RATES_HZ), *((48_000, channels) for channels in CHANNELS)]
LEVELS = ("dBTP", "dBFS", "LUFS", "LU", "dB")
"""Units of what silence has none of."""
NOT_NUMBERS = "the file has samples that are not numbers"
BEARING = {
    figure.name
    for member in meters_package._members()
    if getattr(member, "bears_nonfinite", False)
    for figure in member.gives
}
"""Figures whose meters go on after a sample that is no number."""


def tone(rate_hz: int, channels: int) -> Array:
    return sine(rate_hz / 40, rate_hz, 1.1, level_dbfs=-6) * np.linspace(0.5, 1.0, channels)


def one_bad_sample(rate_hz: int, channels: int) -> Array:
    sound = noise(rate_hz, 0.6, channels=channels)
    sound[len(sound) // 2, channels // 2] = np.inf
    return sound


def one_click(rate_hz: int, channels: int) -> Array:
    sound = np.zeros((rate_hz, channels))
    sound[rate_hz // 3, 0] = 0.7
    return sound


SOUNDS: dict[str, Any] = {
    "nothing": lambda _rate_hz, channels: np.zeros((0, channels)),
    "one sample": lambda _rate_hz, channels: np.full((1, channels), 0.5),
    "silence": lambda rate_hz, channels: np.zeros((rate_hz, channels)),
    "a tone": tone,
    "noise": lambda rate_hz, channels: noise(rate_hz, 3.1 if channels < 4 else 0.9, channels=channels, seed=channels),
    "shorter than a gate block": lambda rate_hz, channels: noise(rate_hz, 0.39, channels=channels),
    "float beyond full scale": lambda rate_hz, channels: noise(rate_hz, 1.1, channels=channels, level_dbfs=6),
    "one bad sample": one_bad_sample,
    "one click": one_click,
    "a constant": lambda rate_hz, channels: np.full((rate_hz, channels), -0.25),
    "only the last channel": lambda rate_hz, channels: tone(rate_hz, 1) * np.eye(channels)[-1],
    "denormal": lambda rate_hz, channels: np.full((rate_hz, channels), 5e-324),
}


@cache
def found(name: str, rate_hz: int, channels: int) -> Measurement:
    return measured(SOUNDS[name](rate_hz, channels), rate_hz, bits=None)


def printable(value: Any) -> bool:
    """Plain types all the way down, and finite; arrays' own numbers cannot be stored in the cache or the documents."""
    if isinstance(value, tuple):
        return all(printable(item) for item in value)
    return type(value) in (bool, int, str) or (type(value) is float and math.isfinite(value))


@pytest.mark.thorough(96)
@pytest.mark.parametrize(("rate_hz", "channels"), FORMS)
@pytest.mark.parametrize("name", SOUNDS)
def test_a_value_or_a_reason(name: str, rate_hz: int, channels: int) -> None:
    """Every figure answers, whatever the sound, the rate, the number of channels."""
    reported = found(name, rate_hz, channels)
    assert set(reported) == set(figures())
    assert {
        figure: reading for figure, reading in reported.items() if reading.exists and not printable(reading.value)
    } == {}
    assert [figure for figure, reading in reported.items() if reading.exists == bool(reading.why_missing)] == []
    json.dumps({figure: reading.value for figure, reading in reported.items()}, allow_nan=False)


@pytest.mark.parametrize(
    "rate_hz", [1, 2, 3, 5, 7, 11, 50, 100, 500, 999, 1000, 3999, 12_345, 44_056, 655_350, 1_048_575]
)
@pytest.mark.parametrize("seconds", [0.0, 1.0, 4.0])
def test_every_legal_rate_has_an_answer(rate_hz: int, seconds: float) -> None:
    """RFC 9639, 8.2: a FLAC may state any rate from 1 to 1 048 575 Hz. Meters that need more say from which rate on."""
    sound = noise(rate_hz, seconds if rate_hz < 100_000 else seconds / 10, channels=2)
    reported = measured(sound, rate_hz)
    assert set(reported) == set(figures())
    assert [name for name, reading in reported.items() if reading.exists and not printable(reading.value)] == []
    if rate_hz < 1000:
        assert reported["hum_hz"].why_missing == "only from 1000 Hz on"


@pytest.mark.parametrize(("rate_hz", "channels"), FORMS)
@pytest.mark.parametrize("name", ["nothing", "silence"])
def test_silence_has_no_level(name: str, rate_hz: int, channels: int) -> None:
    """No loudness, no peak, no ratio of anything to anything: it is reported to be silent or empty."""
    reported = found(name, rate_hz, channels)
    levels = [figure.name for figure in figures().values() if figure.unit in LEVELS and figure.digits is not None]
    assert len(levels) > 12
    assert {figure: reported[figure] for figure in levels if reported[figure].exists} == {}


@pytest.mark.parametrize(("rate_hz", "channels"), FORMS)
def test_shorter_than_a_gate_block_has_no_loudness(rate_hz: int, channels: int) -> None:
    """BS.1770-5: gating blocks are 400 ms; a block that is not complete does not count. Peaks it has.

    More than two channels without a stated layout have no loudness at any length, and that is the reason given.
    """
    reported = found("shorter than a gate block", rate_hz, channels)
    reason = "too short: under " if channels <= 2 else "the file does not state which loudspeaker"
    for figure in ("integrated_lufs", "momentary_max_lufs", "short_term_max_lufs", "loudness_range_lu", "plr_db"):
        assert reported[figure].why_missing.startswith(reason), figure
    assert reported["true_peak_dbtp"].exists


@pytest.mark.parametrize(("rate_hz", "channels"), FORMS)
def test_beyond_full_scale_is_read_as_it_is(rate_hz: int, channels: int) -> None:
    """Float files hold more than full scale: counted, and never cut off."""
    sound = SOUNDS["float beyond full scale"](rate_hz, channels)
    reported = found("float beyond full scale", rate_hz, channels)
    assert reported["float_overs"] == Reading(int((np.abs(sound) > 1).sum()))
    assert reported["sample_peak_dbfs"].value == pytest.approx(20 * np.log10(np.abs(sound).max()))
    assert reported["true_peak_dbtp"].value >= reported["sample_peak_dbfs"].value > 6
    assert reported["overs_count"].value > 0


@pytest.mark.parametrize(("rate_hz", "channels"), FORMS)
def test_one_bad_sample_is_counted_and_other_figures_have_a_reason(rate_hz: int, channels: int) -> None:
    """What a sample that is no number would spoil is not measured at all; what it cannot spoil still is."""
    reported = found("one bad sample", rate_hz, channels)
    assert reported["nonfinite_samples"] == Reading(1)
    assert {"container", "rate_hz", "audio_hash", "nonfinite_samples"} <= BEARING
    spoiled = [figure for figure in reported if figure not in BEARING]
    assert {figure: reported[figure] for figure in spoiled if reported[figure] != Reading.missing(NOT_NUMBERS)} == {}


@pytest.mark.parametrize("channels", CHANNELS)
def test_pairs_are_only_compared_where_there_is_one_pair(channels: int) -> None:
    """Which of three or more channels belong together a file does not say, and it is not guessed."""
    reported = found("noise", 48_000, channels)
    for figure in ("correlation", "balance_db", "mono_loss_db", "identical_channels"):
        assert reported[figure].exists == (channels == 2), figure
    assert reported["dual_mono_integrated_lufs"].exists == (channels == 1)


@pytest.mark.parametrize("channels", CHANNELS)
def test_a_dead_channel_is_named_whichever_it_is(channels: int) -> None:
    """All but the last are silent; with one channel there is none beside it."""
    assert found("only the last channel", 48_000, channels)["dead_channels"] == Reading(tuple(range(1, channels)))
