"""The planner: fewest steps, right order, nothing the spec does not permit."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from delivery.chain.gain import gain_wanted_db, headroom_db
from delivery.chain.plan import plan
from delivery.chain.prediction import predict
from delivery.formats.container import Container
from delivery.model.chain import StepKind
from delivery.model.figure import Measurement, Reading
from delivery.model.spec import Conversions, Requirement, Spec

CONTAINERS = {
    "wav": Container("wav", "WAV", ".wav", ("pcm", "float"), (16, 24, 32), 768_000, 64, ("id3", "riff")),
    "flac": Container("flac", "FLAC", ".flac", ("pcm",), (16, 24), 655_350, 8, ("vorbis",), sealed=True),
    "mp3": Container("mp3", "MP3", ".mp3", ("mp3",), (), 48_000, 2, ("id3",)),
}
ORDER = [StepKind.COPY, StepKind.REWRAP, StepKind.RATE, StepKind.GAIN, StepKind.REQUANTISE, StepKind.ENCODE]


def spec(requires: dict[str, Any], **conversions: str) -> Spec:
    requirements = tuple(
        Requirement(key, limit, True, "test", date(2026, 1, 1), "test", "test.yaml:1")
        for key, limit in requires.items()
    )
    return Spec("test", "Test", "", date(2026, 1, 1), requirements, Conversions(**conversions), bitrate_kbps=320)


def master(**changed: Any) -> Measurement:
    facts = {
        "container": "wav",
        "coding": "pcm",
        "rate_hz": 96_000,
        "channels": 2,
        "bits": 24,
        "effective_bits": 24,
        "extensible": False,
        "frames": 960_000,
        "integrated_lufs": -10.0,
        "true_peak_dbtp": -0.5,
        "sample_peak_dbfs": -0.6,
        "upsampled_from_hz": 0,
    } | changed
    return Measurement({name: Reading(value) for name, value in facts.items()})


def touches(requires: dict[str, Any], measurement: Measurement, **conversions: str) -> list[StepKind]:
    return [step.kind for step in plan(spec(requires, **conversions), measurement, CONTAINERS).steps]


def test_a_master_that_meets_the_spec_is_copied() -> None:
    assert touches({"container": ["wav"], "rate_hz": [96_000], "bits": [24]}, master()) == [StepKind.COPY]


def test_another_container_takes_the_same_samples() -> None:
    chain = plan(spec({"container": ["flac"]}), master(), CONTAINERS)
    assert [step.kind for step in chain.steps] == [StepKind.REWRAP]
    assert chain.identical
    assert chain.target.container == "flac"


def test_a_16_bit_master_fits_24_bits_exactly() -> None:
    assert touches({"bits": [24]}, master(bits=16, effective_bits=16)) == [StepKind.REWRAP]


def test_padded_samples_return_to_16_bit_without_a_second_dither() -> None:
    """24-bit samples whose low 8 bits are empty hold 16-bit samples: rounding them changes nothing."""
    assert touches({"bits": [16]}, master(effective_bits=16), depth="lower") == [StepKind.REWRAP]


def test_floats_that_are_integers_are_stored_as_integers_without_dither() -> None:
    """The samples fit exactly, so nothing is reduced: 'depth: never' forbids nothing."""
    held = master(coding="float", bits=32, effective_bits=16)
    for depth in ("never", "lower"):
        chain = plan(spec({"coding": ["pcm"], "bits": [16]}, depth=depth), held, CONTAINERS)
        assert [step.kind for step in chain.steps] == [StepKind.REWRAP]
        assert (chain.target.coding, chain.target.bits) == ("pcm", 16)
        assert "32-bit float -> 16-bit pcm" in chain.steps[0].sentence
    finer = master(coding="float", bits=32, effective_bits=None)
    assert touches({"coding": ["pcm"], "bits": [24]}, finer, depth="lower") == [StepKind.REQUANTISE]
    assert touches({"coding": ["pcm"], "bits": [16]}, master(coding="float", effective_bits=24), depth="lower") == [
        StepKind.REQUANTISE
    ]


@pytest.mark.parametrize(("used", "bits"), [(16, 32), (24, 32), (25, 64), (32, 64)])
def test_integers_are_stored_as_floats_that_hold_them_exactly(used: int, bits: int) -> None:
    """IEEE 754: 32-bit floats have 24 bits of significand."""
    chain = plan(spec({"coding": ["float"]}), master(bits=32, effective_bits=used), CONTAINERS)
    assert [step.kind for step in chain.steps] == [StepKind.REWRAP]
    assert (chain.target.coding, chain.target.bits) == ("float", bits)


def test_fewer_bits_are_dithered_once_and_last() -> None:
    assert touches({"rate_hz": [44_100], "bits": [16]}, master(), rate="lower", depth="lower") == [
        StepKind.RATE,
        StepKind.REQUANTISE,
    ]


@pytest.mark.parametrize(
    ("have_hz", "accepted", "becomes"),
    [
        (96_000, [44_100, 48_000], 48_000),  # a whole divisor costs least
        (88_200, [44_100, 48_000], 44_100),
        (192_000, [44_100, 48_000, 96_000], 96_000),
        (96_000, [44_100], 44_100),
        (44_100, [48_000], 44_100),  # raising is not permitted by 'lower'
        (48_000, [44_100, 48_000], 48_000),
    ],
)
def test_rate_that_costs_least(have_hz: int, accepted: list[int], becomes: int) -> None:
    chain = plan(spec({"rate_hz": accepted}, rate="lower"), master(rate_hz=have_hz), CONTAINERS)
    assert chain.target.rate_hz == becomes


def test_a_raised_rate_is_reported() -> None:
    chain = plan(spec({"rate_hz": [48_000]}, rate="any"), master(rate_hz=44_100), CONTAINERS)
    assert chain.target.rate_hz == 48_000
    assert "raised" in chain.steps[0].because


def test_floats_need_no_rounding_where_floats_are_taken() -> None:
    source = master(coding="float", bits=32, effective_bits=None)
    assert touches({"rate_hz": [48_000], "coding": ["float"]}, source, rate="lower") == [StepKind.RATE]


@pytest.mark.parametrize(
    ("speakers", "requires", "extensible"),
    [
        (("L", "R", "C", "Ls"), {}, True),
        (("L", "R", "C", "Ls"), {"extensible_header": False}, False),
        ((), {}, False),
        (("L", "R"), {}, False),
    ],
)
@pytest.mark.parametrize("rate_hz", [96_000, 48_000])
def test_a_known_layout_is_not_lost_in_wav(
    speakers: tuple[str, ...], requires: dict[str, Any], extensible: bool, rate_hz: int
) -> None:
    """Only the extensible header states the loudspeakers of more than two channels; a spec that forbids it decides."""
    surround = master(container="flac", channels=len(speakers) or 4, speakers=speakers)
    made = plan(spec({"container": ["wav"], "rate_hz": [rate_hz], **requires}, container="any"), surround, CONTAINERS)
    assert made.steps[-1].settings.get("extensible", False) is extensible


def test_the_extensible_header_is_written_whatever_else_is_done() -> None:
    requires = {"extensible_header": True, "rate_hz": [44_100], "bits": [16], "container": ["wav"]}
    chain = plan(spec(requires, rate="lower", depth="lower"), master(), CONTAINERS)
    assert chain.steps[-1].settings["extensible"] is True
    assert predict(master(), chain).value("extensible") is True
    assert touches({"extensible_header": True, "container": ["wav"]}, master()) == [StepKind.REWRAP]


def test_nothing_is_planned_that_is_not_permitted() -> None:
    chain = plan(
        spec({"rate_hz": [44_100], "bits": [16], "container": ["flac"]}, container="never"), master(), CONTAINERS
    )
    assert [step.kind for step in chain.steps] == [StepKind.COPY]
    assert (chain.target.rate_hz, chain.target.bits, chain.target.container) == (96_000, 24, "wav")


def test_a_lossy_master_is_never_dressed_up_as_lossless() -> None:
    lossy = master(container="mp3", coding="mp3", bits=None, effective_bits=None)
    assert touches({"container": ["wav"], "coding": ["pcm"]}, lossy, rate="any", depth="lower") == [StepKind.COPY]


def test_gain_to_target_counts_mono_as_the_spec_does() -> None:
    """-26.01 LUFS in one channel are -23.00 from two loudspeakers (10 lg 2 = 3.01)."""
    one = spec({"integrated_lufs": {"at_least": -23.5, "at_most": -22.5, "target": -23}}, gain="to_target")
    two, mono = replace(one, dual_mono=True), master(channels=1, integrated_lufs=-26.01)
    assert gain_wanted_db(one, mono) == pytest.approx(3.01)
    assert gain_wanted_db(two, mono) == 0.0
    assert gain_wanted_db(two, master(channels=1, integrated_lufs=-30.0)) == pytest.approx(3.99, abs=0.001)
    assert gain_wanted_db(two, master(channels=2, integrated_lufs=-26.01)) == pytest.approx(3.01)


def test_gain_to_target_stays_away_inside_the_window() -> None:
    """Fewest touches: -23.4 LUFS lies inside -24 .. -22, so nothing is done to reach the centre."""
    requires = {"integrated_lufs": {"at_least": -24, "at_most": -22, "target": -23}}
    assert gain_wanted_db(spec(requires, gain="to_target"), master(integrated_lufs=-23.4)) == 0.0
    assert gain_wanted_db(spec(requires, gain="to_target"), master(integrated_lufs=-10.0)) == pytest.approx(-13.0)


def test_gain_down_to_the_ceiling_only() -> None:
    ceiling = spec({"true_peak_max_dbtp": -1.0}, gain="down_to_ceiling")
    assert gain_wanted_db(ceiling, master(true_peak_dbtp=-2.0)) == 0.0
    assert gain_wanted_db(ceiling, master(true_peak_dbtp=0.3)) == pytest.approx(-1.3, abs=0.01)
    assert headroom_db(ceiling, master(true_peak_dbtp=0.3)) < -1.3


def test_predicted_levels_move_with_the_gain() -> None:
    broadcast = spec({"integrated_lufs": {"at_least": -23.5, "at_most": -22.5, "target": -23}}, gain="to_target")
    chain = plan(broadcast, master(), CONTAINERS)
    after = predict(master(), chain)
    assert after.value("integrated_lufs") == pytest.approx(-23.0)
    assert after.value("true_peak_dbtp") == pytest.approx(-13.5)


def test_a_rate_that_was_raised_before_is_harmless_below_it() -> None:
    chain = plan(spec({"rate_hz": [44_100]}, rate="lower"), master(upsampled_from_hz=44_100), CONTAINERS)
    assert predict(master(upsampled_from_hz=44_100), chain).value("upsampled_from_hz") == 0


@given(
    have=st.fixed_dictionaries(
        {
            "rate_hz": st.sampled_from([44_100, 48_000, 88_200, 96_000, 192_000]),
            "bits": st.sampled_from([16, 24, 32]),
            "coding": st.sampled_from(["pcm", "float"]),
            "true_peak_dbtp": st.floats(-20, 3),
        }
    ),
    rates=st.lists(st.sampled_from([44_100, 48_000, 96_000]), min_size=1, unique=True),
    bits=st.lists(st.sampled_from([16, 24]), min_size=1, unique=True),
    container=st.sampled_from(["wav", "flac", "mp3"]),
    rate=st.sampled_from(["never", "lower", "any"]),
    depth=st.sampled_from(["never", "lower"]),
    gain=st.sampled_from(["never", "down_to_ceiling", "to_target"]),
)
def test_every_chain_is_in_order_and_within_its_permissions(
    have: dict[str, Any], rates: list[int], bits: list[int], container: str, rate: str, depth: str, gain: str
) -> None:
    """For any requirements: each step at most once, in order, PCM requantised after a change, nothing forbidden."""
    requires: dict[str, Any] = {"rate_hz": rates, "container": [container], "true_peak_max_dbtp": -1.0}
    if container != "mp3":
        requires |= {"bits": bits, "coding": ["pcm"]}
    source = master(**have, effective_bits=have["bits"] if have["coding"] == "pcm" else None)
    chain = plan(spec(requires, rate=rate, depth=depth, gain=gain), source, CONTAINERS)
    kinds = [step.kind for step in chain.steps]
    assert kinds
    assert kinds == sorted(set(kinds), key=ORDER.index)
    assert kinds in ([StepKind.COPY], [StepKind.REWRAP]) or not {StepKind.COPY, StepKind.REWRAP} & set(kinds)
    if chain.target.coding == "pcm" and {StepKind.RATE, StepKind.GAIN} & set(kinds):
        assert kinds[-1] is StepKind.REQUANTISE
    if rate == "never":
        assert StepKind.RATE not in kinds
    if rate == "lower":
        assert chain.target.rate_hz <= have["rate_hz"]
    if gain == "never":
        assert StepKind.GAIN not in kinds
    if depth == "never" and have["coding"] == "pcm" and chain.target.coding == "pcm":
        assert chain.target.bits is not None
        assert chain.target.bits >= have["bits"]


def test_a_small_rf64_file_is_written_again_as_plain_wav_where_the_spec_requires_it() -> None:
    """EBU Tech 3306: RF64 is for what 32-bit sizes cannot count; a small file in that form only loses readers."""
    requires = {"container": ["wav"], "riff_form": ["RIFF"]}
    small = master(riff_form="RF64", size_bytes=5_760_100)
    chain = plan(spec(requires), small, CONTAINERS)
    assert [step.sentence for step in chain.steps] == ["identical samples, RF64 -> RIFF"]
    assert predict(small, chain).value("riff_form") == "RIFF"
    assert touches(requires, master(riff_form="RIFF", size_bytes=5_760_100)) == [StepKind.COPY]
    assert touches(requires, master(riff_form="RF64", size_bytes=2**32)) == [StepKind.COPY]
    assert touches(requires, small, container="never") == [StepKind.COPY]
    assert touches({"container": ["wav"]}, small) == [StepKind.COPY]
    assert touches({**requires, "riff_form": ["RIFF", "RF64"]}, small) == [StepKind.COPY]
