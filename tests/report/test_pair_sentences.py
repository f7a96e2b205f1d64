"""Two files beside each other in sentences: the answer first, then what differs and which way."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from delivery import figures
from delivery.model.pair import Pair, Polarity, Residual
from delivery.model.sections import Section, SectionSource
from delivery.model.version import Piece, Version, VersionKind
from delivery.report.view.pair import CAUTION, TURN_DOWN, PairView, pair_view, third_octave
from delivery.report.view.sections import source_note
from tests.report.test_pair_html import TONE_HZ, levels, pair

PAIR = replace(pair(), tone_hz=(), tone_db=(), residual=None)


def seen(found: Pair) -> PairView:
    return pair_view(found, "Mix.wav", "Master.wav", figures())


def relation(**more: Any) -> str:
    (sentence,) = seen(replace(PAIR, **more)).sentences
    return sentence.removeprefix("The same recording: Master.wav ").removesuffix(".")


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({}, "is 6.00 dB louder"),
        ({"gain_db": -0.05}, "is 0.05 dB quieter"),
        ({"gain_db": 0.049}, "is as loud"),
        ({"gain_db": 0.0, "offset_s": 0.1}, "is as loud and begins 0.100 s later"),
        ({"gain_db": 0.0, "offset_s": -0.0999}, "is as loud and begins 99.900 ms earlier"),
        ({"gain_db": 0.0, "offset_s": 4e-7}, "is as loud"),
        ({"gain_db": 0.0, "offset_s": 5e-7}, "is as loud and begins 0.001 ms later"),
        ({"drift_ppm": 10.04}, "is 6.00 dB louder and runs 10.0 ppm slower"),
        ({"drift_ppm": -3.0, "polarity": Polarity.INVERTED},
         "is 6.00 dB louder, runs 3.0 ppm faster and has inverted polarity"),
        ({"polarity": Polarity.ONE_CHANNEL}, "is 6.00 dB louder and has one channel inverted"),
    ],
)  # fmt: skip
def test_one_recording(more: dict[str, Any], said: str) -> None:
    assert relation(**more) == said


def test_the_same_samples() -> None:
    view = seen(replace(PAIR, identical=True, sections=()))
    assert view.sentences == ("Identical samples: the two files sound the same, bit for bit.",)
    assert (view.notes, view.short_notes) == ((), ())


@pytest.mark.parametrize(("known", "answer"), [(False, "Not the same recording"), (None, "Undecided")])
def test_another_recording_or_an_undecided_one(known: bool | None, answer: str) -> None:
    found = replace(PAIR, same_recording=known, why="too short", gain_db=None)
    assert seen(found).sentences == (
        f"{answer}: too short.", "The figures below are side by side without being aligned.",
    )  # fmt: skip
    assert seen(found).notes[-1] == CAUTION


def test_a_version_of_the_first_file() -> None:
    version = Version(48_000, 100, 100, (Piece(0, 0, 100),), residual_db=-120.0)
    found = replace(PAIR, version=version, version_kind=VersionKind.INSTRUMENTAL)
    told = "Master.wav, instrumental: same length, same head, nothing differs."
    assert seen(found).sentences == (told,)
    assert seen(replace(found, drift_ppm=0.9)).sentences == (told,)
    assert seen(replace(found, drift_ppm=-1.0)).sentences[1].endswith("runs 1.0 ppm faster.")
    assert seen(replace(found, polarity=Polarity.INVERTED)).sentences[1].endswith("has inverted polarity.")
    assert seen(replace(found, polarity=None)).sentences == (told,)
    assert seen(replace(found, version=replace(version, pieces=()))).sentences[0].startswith("The same recording")
    assert seen(found).contrast == ""


def tone(*differences: tuple[float, float]) -> str:
    """The sentence about tone, with differences at these frequencies and none elsewhere."""
    by_hz = dict(differences)
    levels_db = tuple(next((db for hz, db in by_hz.items() if abs(each / hz - 1) < 0.05), 0.0) for each in TONE_HZ)
    return seen(replace(PAIR, tone_hz=TONE_HZ, tone_db=levels_db)).sentences[1]


def test_the_three_third_octaves_that_differ_most() -> None:
    assert tone((1000, 2.0), (100, -1.5)) == (
        "At equal loudness Master.wav has -1.5 dB at 100 Hz and +2.0 dB at 1 kHz."
    )
    many = tone((100, 1.0), (200, -2.0), (1000, 3.0), (4000, 4.0), (8000, 0.4))
    assert many == "At equal loudness Master.wav has -2.0 dB at 200 Hz, +3.0 dB at 1 kHz and +4.0 dB at 4 kHz."
    assert tone((1000, 0.5)) == "At equal loudness Master.wav has +0.5 dB at 1 kHz."


def test_what_is_left_when_one_is_subtracted_from_the_other() -> None:
    residual = Residual(-18.04, (-20.0, -15.0, -30.0), (1000.0,), (-17.0,))
    assert seen(replace(PAIR, residual=residual)).sentences[1] == (
        "Subtracted at one level, -18.0 dB is left, most at 0:01.0."
    )
    nothing = replace(residual, whole_db=-90.0)
    assert seen(replace(PAIR, residual=nothing)).sentences[1] == (
        "Nothing is left when one is subtracted from the other at one level."
    )


def test_figures_beside_each_other() -> None:
    found = replace(
        PAIR,
        figures={
            "integrated_lufs": (-20.04, -14.0),
            "true_peak_dbtp": (-1.0, None),
            "duration_s": (60.0, 59.9996),
            "correlation": (0.5, 0.5),
        },
    )
    assert seen(found).figures == (
        ("Loudness, LUFS", "-20.0", "-14.0", "+6.0"),
        ("True peak, dBTP", "-1.00", "not measured", ""),
        ("Length", "1:00.0", "1:00.0", "0.000 s"),
        ("Correlation left/right", "0.50", "0.50", "0.00"),
    )
    assert [name for name, *_ in seen(found).short_figures] == ["Loudness, LUFS", "True peak, dBTP"]
    lengths = {"duration_s": (60.0, 60.0)}
    assert seen(replace(PAIR, figures=lengths)).figures[0][3] == "0"
    shorter = {"duration_s": (180.0, 60.5)}
    assert seen(replace(PAIR, figures=shorter)).figures[0][3] == "-1:59.5"
    unknown = {"duration_s": (None, 60.5)}
    assert seen(replace(PAIR, figures=unknown)).figures[0] == ("Length", "not measured", "1:00.5", "")


def test_third_octaves_in_a_table_with_what_a_subtraction_leaves() -> None:
    found = replace(
        PAIR, tone_hz=(100.0, 1000.0), tone_db=(0.04, -1.25), residual=Residual(-18.0, (), (1000.0,), (-17.04,))
    )
    assert seen(found).tone == (("100 Hz", "0.0", ""), ("1 kHz", "-1.2", "-17.0"))
    assert seen(replace(found, residual=None)).tone[1] == ("1 kHz", "-1.2", "")


@pytest.mark.parametrize(
    ("hz", "name"), [(31.6, "31.5 Hz"), (794.3, "800 Hz"), (1000.0, "1 kHz"), (12_589.0, "12.5 kHz"), (10.0, "10 Hz")]
)
def test_nominal_frequencies(hz: float, name: str) -> None:
    """ISO 266: exact 10 ** (n / 10) Hz, named by the preferred numbers."""
    assert third_octave(hz) == name


def section(at: int, one_lufs: float, other_lufs: float) -> Any:
    return (
        Section(f"part {at}", 10.0 * at, 10.0 * at + 10),
        levels(one_lufs, 12.0),
        levels(other_lufs, 11.0, None, None),
    )


def test_sections_in_a_table() -> None:
    view = seen(replace(PAIR, sections=(section(0, -20.0, -14.0), section(1, -16.0, -13.0))))
    assert view.sections == (
        ("part 0", "0:00.0", "-20.0", "-14.0", "", "", "-1.0", "-", "-"),
        ("part 1", "0:10.0", "-16.0", "-13.0", "+4.0", "+1.0", "-1.0", "-", "-"),
    )
    assert view.short_sections == view.sections
    assert view.hits == (("part 0", "0.0", "0.0", "-"), ("part 1", "0.0", "0.0", "-"))
    assert view.notes == (source_note(SectionSource.FOUND), f"{CAUTION} {TURN_DOWN}")
    assert view.short_notes[1] == f"{CAUTION} More: --all."


def test_a_screen_has_the_five_sections_with_the_largest_steps_in_order_of_time() -> None:
    louder = (-20.0, -19.5, -15.0, -14.8, -10.0, -6.0, -2.0, 2.0)
    found = replace(PAIR, sections=tuple(section(at, lufs, -14.0) for at, lufs in enumerate(louder)))
    assert [row[0] for row in seen(found).short_sections] == [f"part {at}" for at in (2, 4, 5, 6, 7)]
    by_other = replace(PAIR, sections=tuple(section(at, -14.0, lufs) for at, lufs in enumerate(louder)))
    assert [row[0] for row in seen(by_other).short_sections] == [f"part {at}" for at in (2, 4, 5, 6, 7)]


@pytest.mark.parametrize(
    ("one", "other", "said"),
    [
        ((-20.0, -16.0), (-14.0, -13.0), "is 4.0 LU above part 0 in Mix.wav, 1.0 in Master.wav."),
        ((-16.0, -20.0), (-13.0, -14.0), "is 4.0 LU below part 0 in Mix.wav, 1.0 in Master.wav."),
        ((-20.0, -16.0), (-13.0, -14.0), "is 4.0 LU above part 0 in Mix.wav, 1.0 below it in Master.wav."),
        ((-16.0, -20.0), (-14.0, -13.0), "is 4.0 LU below part 0 in Mix.wav, 1.0 above it in Master.wav."),
        ((-16.0, -16.0), (-14.0, -12.5), "is 0.0 LU above part 0 in Mix.wav, 1.5 in Master.wav."),
    ],
)
def test_the_largest_contrast(one: tuple[float, float], other: tuple[float, float], said: str) -> None:
    sections = tuple(section(at, one[at], other[at]) for at in (0, 1))
    assert seen(replace(PAIR, sections=sections)).contrast == f"The largest step: part 1, from 0:10.0, {said}"


def test_small_steps_are_no_contrast() -> None:
    sections = (section(0, -16.0, -14.0), section(1, -14.51, -12.51))
    assert seen(replace(PAIR, sections=sections)).contrast == ""
    assert seen(replace(PAIR, sections=())).contrast == ""
    assert seen(replace(PAIR, sections=())).notes == (f"{CAUTION} {TURN_DOWN}",)
