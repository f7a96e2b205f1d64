"""Why a planned file cannot be made: each obstacle with its figure, its limit and a remedy that fits the chain."""

from __future__ import annotations

from dataclasses import replace
from math import log10
from typing import Any

import pytest

from delivery.formats.capability import full_scale
from delivery.model.chain import Chain, Step, StepKind, Target
from delivery.model.figure import Measurement, Reading
from delivery.model.finding import Answer, Finding, Weight
from delivery.rules.feasible import ALWAYS, obstacles, unlike_side

WAV_16 = Target("wav", "pcm", 44_100, 2, 16)
AAC = Target("m4a", "aac", 44_100, 2, None, 256)
ROUNDED = Step(StepKind.REQUANTISE, "", "", {"bits": 16, "dither": "tpdf", "from_bits": 24})
CONVERTED = Step(StepKind.RATE, "", "", {"from_hz": 96_000, "to_hz": 44_100})
LOUDER = Step(StepKind.GAIN, "", "", {"gain_db": 2.5})
QUIETER = Step(StepKind.GAIN, "", "", {"gain_db": -2.5})
CHANGED = Chain((ROUNDED,), WAV_16)


def measured(**figures: Any) -> Measurement:
    return Measurement({name: Reading(value) for name, value in figures.items()})


def rows(expected: Measurement, chain: Chain, missing: str = "") -> list[tuple[str, str, str, str]]:
    """Check, found, wanted and remedy of each obstacle."""
    return [(one.rule, one.found, one.wanted, one.remedy) for one in obstacles("s", 3, expected, chain, missing)]


def only(expected: Measurement, chain: Chain) -> Finding:
    (found,) = obstacles("store", 3, expected, chain)
    return found


def test_an_obstacle_is_a_must_that_is_not_met_with_its_time_and_source() -> None:
    """No waiver switches it off; the source is that of the check."""
    found = only(measured(sample_peak_dbfs=0.5, sample_peak_at_s=61.25), CHANGED)
    assert found == Finding(
        "full_scale",
        "store",
        3,
        Answer.NOT_MET,
        must=True,
        weight=Weight.FACT,
        found="a sample peak of +0.50 dBFS",
        wanted="at most 0 dBFS",
        remedy="a master 0.50 dB lower, or convert: gain in the spec",
        at_s=(61.25,),
        source=ALWAYS["full_scale"][1],
        excess_db=0.5,
    )


def test_a_peak_whose_time_is_unknown_has_none() -> None:
    assert only(measured(sample_peak_dbfs=0.5), CHANGED).at_s == ()


@pytest.mark.parametrize(
    ("steps", "after"),
    [
        ((ROUNDED,), ""),
        ((CONVERTED, ROUNDED), " after conversion to 44.1 kHz"),
        ((LOUDER, ROUNDED), " after +2.50 dB of gain"),
        ((QUIETER, ROUNDED), " after -2.50 dB of gain"),
        ((CONVERTED, LOUDER, ROUNDED), " after conversion to 44.1 kHz and +2.50 dB of gain"),
    ],
)
def test_the_steps_before_a_peak_are_named(steps: tuple[Step, ...], after: str) -> None:
    assert only(measured(sample_peak_dbfs=0.5), Chain(steps, WAV_16)).found == f"a sample peak of +0.50 dBFS{after}"


@pytest.mark.parametrize(
    ("steps", "remedy"),
    [
        ((LOUDER, ROUNDED), "a loudness target 0.51 dB lower, or a master with peaks 0.51 dB lower"),
        ((QUIETER, ROUNDED), "a master 0.51 dB lower, or convert: gain in the spec"),
        ((ROUNDED,), "a master 0.51 dB lower, or convert: gain in the spec"),
    ],
)
def test_a_gain_upwards_is_what_is_lowered_first(steps: tuple[Step, ...], remedy: str) -> None:
    assert only(measured(sample_peak_dbfs=0.506), Chain(steps, WAV_16)).remedy == remedy


def test_half_a_step_beyond_full_scale_is_the_last_that_fits() -> None:
    """16 bits: 1 + 1/65536. The ceiling itself can be written, what is above it cannot."""
    edge_dbfs = 20 * log10(full_scale(16).magnitude)
    assert obstacles("s", 1, measured(sample_peak_dbfs=edge_dbfs), CHANGED) == ()
    found = only(measured(sample_peak_dbfs=edge_dbfs + 1e-6), CHANGED)
    assert (found.rule, found.wanted) == ("full_scale", "at most 0 dBFS")


def test_the_aac_encoder_has_a_lower_ceiling() -> None:
    """It attenuates above 0.95 of full scale (-0.45 dBFS), measured on the encoder in use."""
    chain = Chain((Step(StepKind.ENCODE, "", "", {"coding": "aac"}),), AAC)
    assert obstacles("s", 1, measured(sample_peak_dbfs=-0.46), chain) == ()
    found = only(measured(sample_peak_dbfs=-0.2), chain)
    assert (found.rule, found.source) == ("encoder_headroom", ALWAYS["encoder_headroom"][1])
    assert found.found == "a sample peak of -0.20 dBFS"
    assert found.wanted == "at most -0.45 dBFS, above which the AAC encoder in use attenuates by itself"
    assert found.remedy.startswith("a master 0.25 dB lower,")


def test_peaks_stop_neither_floats_nor_copies_nor_the_same_samples() -> None:
    """A float file holds any peak; samples that stay as they are have been written once already."""
    hot = measured(sample_peak_dbfs=3.0)
    assert obstacles("s", 1, hot, Chain((ROUNDED,), Target("wav", "float", 44_100, 2, 32))) == ()
    assert obstacles("s", 1, hot, Chain((Step(StepKind.REWRAP, "", ""),), WAV_16)) == ()
    assert obstacles("s", 1, measured(), CHANGED) == ()


def test_a_copied_file_has_no_obstacle_at_all() -> None:
    copied = Chain((Step(StepKind.COPY, "", ""),), replace(WAV_16, container="no such"))
    assert obstacles("s", 1, measured(nonfinite_samples=4), copied, "no encoder") == ()


def test_samples_that_are_not_numbers_come_first() -> None:
    """Obstacles are in the order of their checks, then of what was found."""
    found = rows(measured(nonfinite_samples=1200, sample_peak_dbfs=0.5), CHANGED, "no encoder for mp3")
    assert found == [
        ("convertible_samples", "1,200 samples not a number", "numbers only", "a new export of the master"),
        (
            "full_scale",
            "a sample peak of +0.50 dBFS",
            "at most 0 dBFS",
            "a master 0.50 dB lower, or convert: gain in the spec",
        ),
        ("writable_form", "no encoder for mp3", "an encoder", "install it, or leave this spec out"),
    ]


@pytest.mark.parametrize(
    ("target", "found", "wanted", "remedy"),
    [
        (
            replace(WAV_16, bits=12),
            "12-bit samples in WAV",
            "8, 16, 24, 32 bit",
            "a spec with another bit depth or container, or a master at a bit depth it can hold",
        ),
        (
            replace(WAV_16, coding="opus"),
            "opus in WAV",
            "pcm or float",
            "a spec whose coding and container fit together",
        ),
        (
            Target("flac", "pcm", 705_600, 2, 24),
            "705600 Hz in FLAC",
            "at most 655350 Hz",
            "a spec that permits conversion to one of these rates (convert: rate)",
        ),
        (
            Target("flac", "pcm", 44_100, 9, 24),
            "9 channels in FLAC",
            "at most 8",
            "a mono or stereo master, or a spec with another container or coding",
        ),
    ],
)
def test_a_form_that_cannot_be_written_names_the_key_to_change(
    target: Target, found: str, wanted: str, remedy: str
) -> None:
    assert rows(measured(), Chain((), target)) == [("writable_form", found, wanted, remedy)]


def test_dither_is_tried_at_the_rate_of_the_file() -> None:
    """Noise-shaped dither is designed for few rates; without rounding there is no dither to refuse."""
    shaped = replace(ROUNDED, settings={**ROUNDED.settings, "dither": "tpdf-shaped"})
    target = replace(WAV_16, rate_hz=192_000)
    ((check, _, _, remedy),) = rows(measured(), Chain((shaped,), target))
    assert (check, remedy) == ("writable_form", "a spec with dither: tpdf, which is available at every rate")
    assert rows(measured(), Chain((), target)) == []
    assert rows(measured(), Chain((ROUNDED,), target)) == []


def test_a_wav_of_more_than_four_gigabytes_does_not_fit() -> None:
    """A count of 32 bits in its header; RF64 (EBU Tech 3306) has 64."""
    ((check, found, _, remedy),) = rows(measured(frames=2**30 + 1), Chain((), Target("aiff", "pcm", 44_100, 2, 16)))
    assert (check, remedy) == ("writable_form", "a spec with another container")
    assert found == "4294967300 bytes of sound in AIFF"


def test_a_song_of_another_form_than_its_side() -> None:
    """A disc or side is one file: the rate is named before the channels, and the song's own form is what was found."""
    own = Target("wav", "pcm", 48_000, 1, 24)
    (rate,) = unlike_side("cd", 4, own, WAV_16)
    assert (rate.spec, rate.track, rate.rule) == ("cd", 4, "writable_form")
    assert (rate.found, rate.wanted) == ("48 kHz", "44.1 kHz, as the first song of the disc or side")
    assert rate.remedy == "all masters at one rate, or a spec that permits conversion to one (convert: rate)"
    (channels,) = unlike_side("cd", 4, replace(own, rate_hz=44_100), WAV_16)
    assert (channels.found, channels.wanted) == ("1 channel", "2 channels, as the first song of the disc or side")
    assert channels.remedy == "masters with the same number of channels (mono_as: both_channels makes two of one)"
    assert unlike_side("cd", 4, WAV_16, WAV_16) == ()
