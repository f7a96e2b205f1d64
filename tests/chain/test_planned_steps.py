"""Each step as it is planned and printed: its settings, its sentence and the reason for it."""

from __future__ import annotations

from typing import Any

import pytest

from delivery.chain.plan import COPIED, STAYS, plan
from delivery.chain.target import MasterFacts, cheapest_rate_hz, target_of, with_bit_depth
from delivery.chain.trial import trial_chain
from delivery.model.chain import Chain, Step, StepKind, Target
from delivery.model.trial import CodecForm
from tests.chain.test_plan import CONTAINERS, master, spec


def only(requires: dict[str, Any], source: Any = None, **conversions: str) -> Step:
    (step,) = plan(spec(requires, **conversions), source or master(), CONTAINERS).steps
    return step


@pytest.mark.parametrize(
    ("changed", "because"),
    [
        ({"container": "mp3", "coding": "mp3", "bits": None, "channels": 1}, "a lossy master is never converted"),
        ({"container": "dsf", "coding": "dsd", "bits": 1, "rate_hz": 2_822_400}, STAYS["dsd"]),
    ],
)
def test_a_master_that_is_not_converted_is_its_own_target(changed: dict[str, Any], because: str) -> None:
    chain = plan(spec({"container": ["wav"], "bits": [16]}, depth="lower"), master(**changed), CONTAINERS)
    form = {"channels": 2, "rate_hz": 96_000, **changed}
    assert chain == Chain((Step(StepKind.COPY, "samples copied bit for bit", because),), Target(**form))


def test_an_unchanged_file_is_copied_because_it_meets_the_spec() -> None:
    step = only({"container": ["wav"]})
    assert step == Step(StepKind.COPY, "samples copied bit for bit", "the master already is what the spec requires")


@pytest.mark.parametrize(
    ("rates_hz", "sentence", "because"),
    [
        ([88_200, 44_100], "rate 96 -> 88.2 kHz", "the spec requires 88.2, 44.1 kHz, the master has 96 kHz"),
        (
            [192_000],
            "rate 96 -> 192 kHz",
            "the spec requires 192 kHz, the master has 96 kHz; raised because the spec requires it; "
            "this adds no detail",
        ),
    ],
)
def test_a_rate_is_converted_with_both_rates_named(rates_hz: list[int], sentence: str, because: str) -> None:
    chain = plan(spec({"rate_hz": rates_hz, "bits": [24]}, rate="any"), master(), CONTAINERS)
    assert chain.steps[0] == Step(StepKind.RATE, sentence, because, {"from_hz": 96_000, "to_hz": chain.target.rate_hz})
    assert "the master is" not in chain.steps[1].because, "its bit depth is not what the rounding is for"


def test_one_channel_copied_to_both_comes_first() -> None:
    requires = {"channels": [2, 6], "rate_hz": [48_000]}
    chain = plan(spec(requires, rate="lower"), master(**{COPIED: True}), CONTAINERS)
    assert [step.kind for step in chain.steps] == [StepKind.CHANNELS, StepKind.RATE, StepKind.REQUANTISE]
    assert chain.steps[0].sentence == "one channel copied to both, without gain"
    because = chain.steps[0].because
    assert because.startswith("channels: the spec requires 2, 6,")
    assert because.endswith("mono_as: both_channels")


TARGET = {"integrated_lufs": {"at_least": -15, "at_most": -13, "target": -14}}
CEILING = {"true_peak_max_dbtp": -1.0}


@pytest.mark.parametrize(
    ("requires", "conversions", "gain_db", "because"),
    [
        (TARGET, {"gain": "to_target"}, -4.0, "integrated_lufs: the spec requires gain to its target"),
        (
            TARGET,
            {"gain": "to_target", "gain_scope": "album"},
            -4.0,
            "integrated_lufs: the spec requires gain to its target; "
            "the same on every track, so the balance between songs is kept",
        ),
        (
            CEILING,
            {"gain": "down_to_ceiling"},
            -0.505,
            "true_peak_max_dbtp: the spec permits gain down to the ceiling",
        ),
    ],
)
def test_gain_is_printed_with_its_sign_and_why(
    requires: dict[str, Any], conversions: dict[str, str], gain_db: float, because: str
) -> None:
    step = plan(spec(requires, **conversions), master(), CONTAINERS).steps[0]
    assert step == Step(StepKind.GAIN, f"gain {gain_db:+.2f} dB", because, {"gain_db": gain_db})


def test_a_gain_handed_in_takes_the_place_of_the_songs_own() -> None:
    """To the thousandth of a dB; 0 is no step, and a spec that permits no gain gets none."""
    given = {"gain_db": 1.23456, "gain_because": "the album"}
    chain = plan(spec(TARGET, gain="to_target"), master(), CONTAINERS, **given)  # type: ignore[arg-type]
    assert chain.steps[0] == Step(StepKind.GAIN, "gain +1.24 dB", "the album", {"gain_db": 1.235})
    assert [step.kind for step in plan(spec(TARGET, gain="to_target"), master(), CONTAINERS, gain_db=0.0).steps] == [
        StepKind.COPY
    ]
    assert [step.kind for step in plan(spec(TARGET), master(), CONTAINERS, gain_db=1.0).steps] == [StepKind.COPY]


@pytest.mark.parametrize(
    ("conversions", "sentence"),
    [
        ({}, "TPDF dither to 16 bit, digital silence at the ends kept at zero"),
        ({"silence": "dithered"}, "TPDF dither to 16 bit"),
        ({"dither": "none", "silence": "dithered"}, "round to 16 bit without dither"),
        ({"dither": "tpdf-shaped"}, "tpdf-shaped dither to 16 bit, digital silence at the ends kept at zero"),
    ],
)
def test_dither_is_named_by_what_it_does(conversions: dict[str, str], sentence: str) -> None:
    step = only({"bits": [16]}, depth="lower", **conversions)
    settings = {"bits": 16, "dither": conversions.get("dither", "tpdf"), "from_bits": 24}
    zero = {} if conversions.get("silence") == "dithered" else {"silence": "zero"}
    assert step == Step(
        StepKind.REQUANTISE, sentence, "the spec requires 16 bit, the master is 24-bit", settings | zero
    )


def test_integers_that_fit_are_not_rounded_though_the_bits_in_use_are_unknown() -> None:
    """Digital silence has none in use."""
    assert only({"bits": [24]}, master(effective_bits=None), depth="lower").kind is StepKind.COPY


def test_a_float_master_is_called_by_its_coding() -> None:
    step = only({"bits": [24], "coding": ["pcm"]}, master(coding="float", bits=32, effective_bits=None), depth="lower")
    assert step.because == "the spec requires 24 bit, the master is 32-bit float"


@pytest.mark.parametrize(
    ("vbr_quality", "bitrate_kbps", "sentence", "settings"),
    [
        (None, 320, "encode MP3 at 320 kbit/s", {"coding": "mp3", "bitrate_kbps": 320}),
        (2, None, "encode MP3 at a variable bit rate, quality 2", {"coding": "mp3", "vbr_quality": 2}),
        (0, None, "encode MP3 at a variable bit rate, quality 0", {"coding": "mp3", "vbr_quality": 0}),
    ],
)
def test_an_encoder_is_named_with_its_rate_or_quality(
    vbr_quality: int | None, bitrate_kbps: int | None, sentence: str, settings: dict[str, Any]
) -> None:
    from dataclasses import replace

    lossy = replace(spec({"container": ["mp3"]}), vbr_quality=vbr_quality, bitrate_kbps=bitrate_kbps)
    chain = plan(lossy, master(rate_hz=44_100), CONTAINERS)
    assert chain.steps == (Step(StepKind.ENCODE, sentence, "the spec requires MP3", settings),)
    assert chain.target == Target("mp3", "mp3", 44_100, 2, None, bitrate_kbps, vbr_quality)


@pytest.mark.parametrize(
    ("requires", "changed", "sentence", "extensible"),
    [
        ({"container": ["flac"]}, {}, "identical samples, wav -> flac", False),
        ({"bits": [24]}, {"bits": 16, "effective_bits": 16}, "identical samples, 16-bit pcm -> 24-bit pcm", False),
        ({"extensible_header": True}, {}, "identical samples, extensible header", True),
        ({"extensible_header": False}, {"extensible": True}, "identical samples, plain header", False),
        (
            {"container": ["wav"], "extensible_header": True, "bits": [24]},
            {"container": "flac", "bits": 16, "effective_bits": 16},
            "identical samples, flac -> wav, 16-bit pcm -> 24-bit pcm, extensible header",
            True,
        ),
    ],
)
def test_the_same_samples_in_another_form_name_what_differs(
    requires: dict[str, Any], changed: dict[str, Any], sentence: str, extensible: bool
) -> None:
    step = only(requires, master(**changed))
    assert (step.kind, step.sentence, step.settings) == (StepKind.REWRAP, sentence, {"extensible": extensible})


def test_the_extensible_header_takes_no_step_away() -> None:
    requires = {"extensible_header": True, "rate_hz": [44_100], "bits": [16]}
    chain = plan(spec(requires, rate="lower", depth="lower"), master(), CONTAINERS)
    assert [step.kind for step in chain.steps] == [StepKind.RATE, StepKind.REQUANTISE]
    assert [step.settings.get("extensible") for step in chain.steps] == [None, True]


def facts(**changed: Any) -> MasterFacts:
    return MasterFacts.of(master(**changed))


FLOAT = {"coding": "float", "bits": 32, "effective_bits": None}


@pytest.mark.parametrize(
    ("requires", "depth", "changed", "steps_before", "bits"),
    [
        # integers that stay as they are
        ({}, "never", {}, False, 24),
        ({"bits": [16]}, "never", {}, False, 24),
        ({"bits": [16, 24]}, "lower", {}, False, 24),
        # fewer: the largest that is permitted; more: the smallest that holds the bits in use
        ({"bits": [8, 16]}, "lower", {}, False, 16),
        ({"bits": [24, 32]}, "never", {"bits": 16, "effective_bits": 16}, False, 24),
        ({"bits": [16, 20]}, "never", {"effective_bits": 16}, False, 16),
        ({"bits": [16, 20]}, "never", {"effective_bits": 17}, False, 20),
        ({"bits": [32]}, "lower", {"effective_bits": None}, False, 24),
        # changed samples: the largest accepted, unless it is less than the master has and that is not permitted
        ({"bits": [16, 24]}, "never", {}, True, 24),
        ({"bits": [16, 24]}, "never", {"bits": 16, "effective_bits": 16}, True, 24),
        ({"bits": [16]}, "never", {}, True, 24),
        ({"bits": [16]}, "lower", {}, True, 16),
        ({}, "never", {"bits": 16, "effective_bits": 16}, True, 16),
        # floats made integers: 24 bits where the spec names none
        ({"coding": ["pcm"]}, "lower", FLOAT, False, 24),
        ({"coding": ["pcm"]}, "lower", FLOAT, True, 24),
        ({"coding": ["pcm"], "bits": [16]}, "lower", FLOAT, False, 16),
        ({"coding": ["pcm"], "bits": [32]}, "lower", {**FLOAT, "bits": 32}, False, 32),
        ({"coding": ["pcm"], "bits": [16, 24]}, "never", {**FLOAT, "effective_bits": 16}, False, 16),
        # floats that stay floats
        ({"coding": ["float"]}, "never", FLOAT, False, 32),
        ({"coding": ["float"]}, "never", {**FLOAT, "bits": 64}, False, 64),
        ({"coding": ["float"]}, "never", {**FLOAT, "bits": 64}, True, 64),
        ({"coding": ["float"]}, "never", {"bits": 32, "effective_bits": 25}, True, 32),
        ({"coding": ["float"]}, "never", {"bits": 32, "effective_bits": 25}, False, 64),
        ({"coding": ["float"]}, "never", {"bits": 32, "effective_bits": None}, False, 64),
    ],
)
def test_bit_depth_of_the_target(
    requires: dict[str, Any], depth: str, changed: dict[str, Any], steps_before: bool, bits: int
) -> None:
    """IEEE 754: 32-bit floats hold integers of 24 bits exactly."""
    wanted, have = spec(requires, depth=depth), facts(**changed)
    target = target_of(wanted, have, CONTAINERS)
    assert with_bit_depth(wanted, have, target, changed=steps_before).bits == bits


@pytest.mark.parametrize(
    ("requires", "conversions", "changed", "form"),
    [
        ({}, {}, {}, ("wav", "pcm")),
        ({"container": ["flac", "wav"]}, {}, {}, ("wav", "pcm")),
        ({"container": ["flac", "mp3"]}, {}, {}, ("flac", "pcm")),
        ({"container": ["flac"]}, {"container": "never"}, {}, ("wav", "pcm")),
        ({"container": ["wav"], "coding": ["float", "pcm"]}, {}, {}, ("wav", "pcm")),
        ({"container": ["wav"], "coding": ["float"]}, {}, {}, ("wav", "float")),
        ({"container": ["wav"], "coding": ["mp3"]}, {}, {}, ("wav", "pcm")),
        ({"container": ["mp3"]}, {}, {}, ("mp3", "mp3")),
        ({"container": ["other"]}, {}, {}, ("other", "pcm")),
        # floats become integers only where that reduces nothing, or may
        ({"container": ["flac"]}, {}, FLOAT, ("flac", "float")),
        ({"container": ["flac"]}, {"depth": "lower"}, FLOAT, ("flac", "pcm")),
        ({"container": ["flac"]}, {}, {**FLOAT, "effective_bits": 24}, ("flac", "pcm")),
        ({"container": ["flac"]}, {}, {**FLOAT, "effective_bits": 25}, ("flac", "float")),
        ({"container": ["flac"], "bits": [16, 20]}, {}, {**FLOAT, "effective_bits": 20}, ("flac", "pcm")),
        ({"container": ["flac"], "bits": [16]}, {}, {**FLOAT, "effective_bits": 17}, ("flac", "float")),
        (
            {"container": ["flac"], "rate_hz": [48_000]},
            {"rate": "lower"},
            {**FLOAT, "effective_bits": 16},
            ("flac", "float"),
        ),
    ],
)
def test_container_and_coding_of_the_target(
    requires: dict[str, Any], conversions: dict[str, str], changed: dict[str, Any], form: tuple[str, str]
) -> None:
    target = target_of(spec(requires, **conversions), facts(**changed), CONTAINERS)
    assert (target.container, target.coding) == form


@pytest.mark.parametrize(
    ("have_hz", "accepted", "may_rise", "becomes"),
    [
        (48_000, (44_100, 48_000), True, 48_000),
        (96_000, (88_200, 48_000, 32_000), True, 48_000),
        (96_000, (88_200, 44_100), True, 88_200),
        (44_100, (48_000, 96_000), True, 48_000),
        (44_100, (48_000, 88_200, 176_400), True, 88_200),
        (44_100, (48_000,), False, 44_100),
        (44_100, (), True, 44_100),
    ],
)
def test_the_cheapest_rate_divides_or_multiplies_without_rest(
    have_hz: int, accepted: tuple[int, ...], may_rise: bool, becomes: int
) -> None:
    assert cheapest_rate_hz(have_hz, accepted, may_rise=may_rise) == becomes


def test_facts_that_a_file_does_not_state_have_their_defaults() -> None:
    stated = facts(riff_form=None, size_bytes=None, extensible=None)
    assert (stated.riff_form, stated.size_bytes, stated.extensible, stated.states_layout) == ("", 0, False, False)
    assert facts(channels=3, speakers=("L", "R", "C")).states_layout
    assert not facts(channels=2, speakers=("L", "R")).states_layout
    assert (facts().lossless, facts(coding="float").lossless, facts(coding="mp3").lossless) == (True, True, False)


@pytest.mark.parametrize(
    ("rate_hz", "gain_db", "steps"),
    [
        (44_100, 0.0, []),
        (96_000, 0.0, [Step(StepKind.RATE, "rate to 48000 Hz", "", {"from_hz": 96_000, "to_hz": 48_000})]),
        (44_100, -1.5, [Step(StepKind.GAIN, "gain -1.50 dB", "", {"gain_db": -1.5})]),
        (
            32_000,
            0.5,
            [
                Step(StepKind.RATE, "rate to 44100 Hz", "", {"from_hz": 32_000, "to_hz": 44_100}),
                Step(StepKind.GAIN, "gain +0.50 dB", "", {"gain_db": 0.5}),
            ],
        ),
    ],
)
def test_a_trial_takes_the_steps_that_the_coding_needs(rate_hz: int, gain_db: float, steps: list[Step]) -> None:
    chain = trial_chain(master(rate_hz=rate_hz), CodecForm("mp3", 320), (44_100, 48_000), gain_db)
    *before, encode = chain.steps
    assert [(one.kind, one.sentence, one.settings) for one in before] == [
        (one.kind, one.sentence, one.settings) for one in steps
    ]
    assert (encode.kind, encode.sentence, encode.settings) == (StepKind.ENCODE, "encode mp3:320", {"coding": "mp3"})
    to_hz = steps[0].settings["to_hz"] if steps and steps[0].kind is StepKind.RATE else rate_hz
    assert chain.target == Target("mp3", "mp3", to_hz, 2, None, 320, None)
