"""From values to words, one by one: times, sizes, numbers of tracks, codes and lengths as they are printed."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from delivery.model.carrier import Carrier, Pressing, Programme
from delivery.model.figure import Figure, Measurement, Reading
from delivery.model.finding import Answer, Result
from delivery.model.release import Release
from delivery.model.track import Credit, Track
from delivery.report.view import words
from delivery.report.view.album import PartLength
from delivery.report.view.elements import Amount
from delivery.report.view.lengths import _length, length_line, minutes
from delivery.report.view.numbers import amount, signed
from delivery.report.view.places import exact_clock, is_place, sample_at, samples_of, where


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0.0, "0:00.000"), (62.3454, "1:02.345"), (3599.9996, "1:00:00.000"), (-0.0004, "0:00.000"),
        (-1.5, "-0:01.500"), (86_399.0, "23:59:59.000"), (0.0016, "0:00.002"),
    ],
)  # fmt: skip
def test_a_place_to_the_millisecond(seconds: float, text: str) -> None:
    assert exact_clock(seconds) == text


def test_a_place_in_samples_where_the_rate_is_known() -> None:
    assert where(1.5, 44_100) == "0:01.500, sample 66150"
    assert where(1.5, None) == "0:01.500"
    assert sample_at(0.00001, 44_100) == 0
    assert sample_at(0.5, 44_101) == 22_050


@pytest.mark.parametrize(
    ("figure", "columns", "value", "samples"),
    [
        ("clip_runs_at_s", (), (0.5, 2.0), [24_000, 96_000]),
        ("true_peak_at_s", (), 0.25, 12_000),
        ("overs", ("at_s", "channel"), ((0.5, 1), (1.0, 2)), [24_000, 48_000]),
        ("overs", ("channel", "at_s"), [(1, 0.5)], [24_000]),
        ("overs", ("channel", "dbtp"), ((1, 0.5),), None),
        ("duration_s", (), 10.0, None),
        ("clip_runs_at_s", (), None, None),
    ],
)
def test_samples_of_a_figure_with_times(figure: str, columns: tuple[str, ...], value: Any, samples: Any) -> None:
    stated = Figure(figure, "s", 3, "for tests", "no source", columns=columns)
    rated = Measurement({figure: Reading(value), "rate_hz": Reading(48_000)})
    assert samples_of(stated, rated) == samples
    assert samples_of(stated, Measurement({figure: Reading(value)})) is None
    assert is_place(stated) is figure.endswith("_at_s")


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (None, "not stated"), (1380, "23:00"), (1350.5, "22:30.5"), (59.9996, "1:00"), (4800.25, "80:00.25"),
        (0.0004, "0:00"), (9.001, "0:09.001"), (3.0625, "0:03.062"),
    ],
)  # fmt: skip
def test_minutes_and_seconds_as_short_as_they_are(seconds: float | None, text: str) -> None:
    assert minutes(seconds) == text


def side(seconds: float, label: str = "A", kind: str = "vinyl") -> Programme:
    rate_hz, frame = (44_100, 588) if kind == "cd" else (48_000, 1)
    pressing = Pressing(12, 33) if kind == "vinyl" else Pressing()
    return Programme("lp", label, Carrier(kind, frame), pressing, rate_hz, (), round(seconds * rate_hz), 0)


@pytest.mark.parametrize(
    ("seconds", "good_s", "most_s", "says"),
    [
        (100.0, None, None, "no limit stated"),
        (100.0, None, 100.0, "within the limit"),
        (100.5, None, 100.0, "too long"),
        (100.0, 100.0, 110.0, "good"),
        (100.5, 100.0, 110.0, "longer than good"),
        (110.0, 100.0, 110.0, "longer than good"),
        (110.5, 100.0, 110.0, "too long"),
        (110.5, 120.0, None, "good"),
    ],
)
def test_a_length_beside_its_limits(seconds: float, good_s: float | None, most_s: float | None, says: str) -> None:
    """Limits are inclusive."""
    found = _length(side(seconds), good_s, most_s, 200.0)
    assert found.text == says
    assert (found.good, found.at_most) == (minutes(good_s), minutes(most_s))
    stated = good_s is not None or most_s is not None
    assert found.share == (seconds / 200.0 if stated else None)
    assert (found.good_share, found.most_share) == (
        good_s / 200.0 if good_s else None,
        most_s / 200.0 if most_s else None,
    )
    assert (found.name, found.spec, found.tracks) == ("Side A", "lp, 12-inch 33⅓ rpm", "0 tracks")


def test_a_length_in_one_sentence() -> None:
    row = {"name": "Side A", "spec": "lp", "tracks": "4 tracks", "length": "18:20.0", "text": "good"}
    drawn = {"share": None, "good_share": None, "most_share": None}
    both = PartLength(**row, good="18:30", at_most="23:00", **drawn)  # type: ignore[arg-type]
    assert length_line(both) == "Side A (lp): 18:20.0 (good up to 18:30, at most 23:00: good), 4 tracks."
    none = PartLength(**row, good="not stated", at_most="not stated", **drawn)  # type: ignore[arg-type]
    assert length_line(none) == "Side A (lp): 18:20.0, 4 tracks."
    assert _length(side(60.0, "1", "cd"), None, None, 60.0).length == "01:00:00"


@pytest.mark.parametrize(
    ("size_bytes", "text"),
    [
        (0, "0 bytes"), (999, "999 bytes"), (1000, "1.00 kB"), (612_400, "612 kB"), (999_499, "999 kB"),
        (999_500, "1.00 MB"), (3_420_000_000, "3.42 GB"), (12_345_000_000_000, "12.3 TB"),
        (2 * 10**15, "2.00 PB"), (999_500 * 10**12, "1000 PB"), (12_345 * 10**15, "12345 PB"),
    ],
)  # fmt: skip
def test_a_size_in_three_figures(size_bytes: int, text: str) -> None:
    assert words.size(size_bytes) == text


@pytest.mark.parametrize(
    ("numbers", "text"),
    [
        (["1", "3", "4", "5", "6", "9"], "1, 3 to 6, 9"),
        (["1", "2"], "1, 2"),
        (["1", "2", "3"], "1 to 3"),
        ([], ""),
        (["release", "1", "2", "3"], "release, 1 to 3"),
        (["1.1", "1.2", "1.3"], "1.1, 1.2, 1.3"),
        (["3", "2", "1"], "3, 2, 1"),
    ],
)
def test_consecutive_numbers_are_merged(numbers: list[str], text: str) -> None:
    assert words.runs(numbers) == text


@pytest.mark.parametrize(
    ("at_s", "text"),
    [
        ((), "release.yaml:7"),
        ((1.04, 61.25), "release.yaml:7, 0:01.0, 1:01.2"),
        ((1.0,) * 6, "release.yaml:7" + ", 0:01.0" * 4 + ", and 2 more"),
    ],
)
def test_a_line_then_four_times_then_how_many_more(at_s: tuple[float, ...], text: str) -> None:
    assert words.places("release.yaml:7", at_s) == text
    assert words.places("", at_s) == text.removeprefix("release.yaml:7").removeprefix(", ")


@pytest.mark.parametrize(
    ("code", "text"),
    [
        ("ZZOSL2600001", "ZZ-OSL-26-00001"),
        ("ZZOSL260001", "ZZOSL260001"),
        ("", "not supplied"),
        (" ZZOSL2600001\n", "ZZ-OSL-26-00001"),
    ],
)
def test_an_isrc_with_its_hyphens(code: str, text: str) -> None:
    assert words.isrc(code) == text


def release(*tracks: Track) -> Release:
    return Release(path=Path("/release.yaml"), title="Album", artist="Merrow", tracks=tracks)


def test_numbers_of_tracks_and_their_artists() -> None:
    one, two = Track(1, Path("/1.wav"), "One"), Track(2, Path("/2.wav"), "Two", number=1, disc=2)
    assert words.numbers(release(one, two)) == {None: "release", 1: "1.1", 2: "2.1"}
    assert words.number(release(one), one) == "1"
    assert words.credited(one, release(one)) == "Merrow"
    guests = Track(1, Path("/1.wav"), "One", artists=(Credit("Odile Tarn"), Credit("F", "featured")))
    assert words.credited(guests, release(guests)).startswith("Odile Tarn")


@pytest.mark.parametrize(
    ("title", "version", "text"),
    [
        ("Low Water", "", "Low Water"),
        ("Low Water", "Live", "Low Water (Live)"),
        ("", "Live", "not supplied (Live)"),
        ("", " ", "not supplied"),
    ],
)
def test_a_title_with_its_version(title: str, version: str, text: str) -> None:
    assert words.titled(title, version) == text


@pytest.mark.parametrize(
    ("text", "printed"),
    [
        ("-1.0 dBTP", "\u22121.0\u00a0dBTP"), ("44.1 kHz -> 48 kHz", "44.1\u00a0kHz \u2192 48\u00a0kHz"),
        ("ZZ-OSL-26-00001", "ZZ-OSL-26-00001"), ("3 songs", "3 songs"), ("a -3", "a \u22123"), ("12 %", "12 %"),
    ],
)  # fmt: skip
def test_signs_and_units_of_figures(text: str, printed: str) -> None:
    assert words.typographic(text) == printed


def test_lists_counts_days_and_shapes() -> None:
    assert [words.listed(items) for items in ([], ["a"], ["a", "b"], ["a", "b", "c"])] == [
        "",
        "a",
        "a and b",
        "a, b and c",
    ]
    assert [words.counted(n, "copy", "copies") for n in (0, 1, 2)] == ["0 copies", "1 copy", "2 copies"]
    assert words.counted(2, "file") == "2 files"
    assert (words.day(date(2026, 5, 2)), words.day(None)) == ("2026-05-02", "not stated")
    assert (words.short_hash("0123456789"), words.kilohertz(44_100), words.kilohertz(705_600)) == (
        "01234567", "44.1 kHz", "705.6 kHz",
    )  # fmt: skip
    assert list(words.unique(["b", "a", "b"])) == ["b", "a"]
    shapes = {one: words.verdict(one).shape for one in (*Result, *Answer)}
    assert shapes == {
        Result.READY: "full", Result.REMARKS: "half", Result.NOT_READY: "cross", Result.UNUSABLE: "bar",
        Answer.MET: "full", Answer.ACCEPTED: "full", Answer.WAIVED: "half", Answer.NOT_MET: "cross",
        Answer.NOT_MEASURED: "ring",
    }  # fmt: skip
    assert (words.verdict(Result.READY, "why").word, words.verdict(Result.READY, "why").detail) == ("ready", "why")


@pytest.mark.parametrize(
    ("unit", "digits", "value", "printed"),
    [
        ("dBTP", 2, -1.005, Amount("-1.00", "dBTP")),
        ("dBTP", 2, 0.3, Amount("+0.30", "dBTP")),
        ("LUFS", 1, -14.04, Amount("-14.0", "LUFS")),
        ("LU", 1, 7.0, Amount("7.0", "LU")),
        ("Hz", 0, 440, Amount("440", "Hz")),
        ("", None, True, Amount("yes")),
        ("", None, False, Amount("no")),
        ("", None, "wav", Amount("wav", "")),
        ("dB", 2, float("inf"), Amount("inf", "dB")),
        ("dB", 2, None, Amount("not measured", exists=False)),
    ],
)
def test_a_reading_as_it_is_printed(unit: str, digits: int | None, value: Any, printed: Amount) -> None:
    assert amount(Figure("f", unit, digits, "for tests", "no source"), Reading(value)) == printed
    assert amount(Figure("f", unit, digits, "for tests", "no source"), None) == Amount("not measured", exists=False)
    assert (signed("-1"), signed("0.00")) == ("-1", "+0.00")
