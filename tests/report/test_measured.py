"""Figures of single files: on the terminal, as JSON, as a table for spreadsheets. All three agree."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import pytest

from delivery.meters import figures_by_subject
from delivery.model.figure import Figure, Measurement, Reading, Subject
from delivery.model.finding import Weight
from delivery.model.part import Source
from delivery.model.programme_totals import ProgrammeTotals
from delivery.model.release import Track
from delivery.model.second_opinion import SecondOpinion
from delivery.model.trial import CodecForm, Trial
from delivery.report.data import measured as data_measured
from delivery.report.data import measured_csv
from delivery.report.text.measured import BLOCKS, LETTERS, in_columns, measure_table, spark, together_table
from delivery.report.view.figure_names import NAMES, figure_name
from delivery.report.view.measured import LISTED, grouped
from delivery.report.view.places import exact_clock, where
from tests.contracts.test_meters import eventful
from tests.meters.memory import measured as measure_sound

HALF_A_SAMPLE_S = 0.501 / 44_100
NONE = Reading.missing("the file is silent")


def measurement(**values: Any) -> Measurement:
    readings = {"rate_hz": 44_100, "channels": 2, "duration_s": 100.0, **values}
    return Measurement({n: v if isinstance(v, Reading) else Reading(v) for n, v in readings.items()})


def source(found: Measurement | None, name: str = "take.wav", position: int = 1, problem: str = "") -> Source:
    return Source(Track(position=position, number=position, file=Path(name), title="x"), found, problem=problem)


def printed(found: Measurement, width: int = 80, signs: str = BLOCKS) -> str:
    return "\n".join(measure_table(Path("some/take.wav"), found, figures_by_subject(), width, signs))


def sheet(document: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(document.decode("utf-8-sig"), newline="")))


def test_every_figure_is_printed_once_under_its_subject() -> None:
    """Nothing that was measured is left out: it has a row, or its reason, or is beside another figure."""
    found = measure_sound(eventful(44_100, 5), 44_100)
    groups = grouped(found, figures_by_subject())
    assert [group.subject for group in groups] == [s for s in Subject if s in {group.subject for group in groups}]
    text = "\n".join([row.label for group in groups for row in group.rows] + [n for g in groups for n in g.notes])
    axes = {name for figure in figures_by_subject().values() for name in (figure.along, figure.error)}
    named = {name: figure_name(name) for name in found if name not in axes}
    assert [name for name, label in named.items() if label not in text and name not in text] == []
    rows = [row.name for group in groups for row in group.rows]
    assert len(rows) == len(set(rows)) > 40


@pytest.mark.parametrize("channels", [1, 2, 6])
def test_nothing_is_wider_than_the_terminal(channels: int) -> None:
    """Eighty columns; on a narrower terminal lines wrap and nothing is cut."""
    found = measure_sound(eventful(44_100, 5, channels), 44_100)
    text = printed(found)
    assert max(map(len, text.splitlines())) <= 80
    assert "Third octaves" in text
    assert "".join(found.value("audio_hash")) in "".join(text.split()), "a folded value is whole"


def test_a_console_without_unicode_gets_other_signs() -> None:
    """Curves are drawn with block signs only where the console can show them."""
    found = measurement(short_term_curve_lufs=tuple(-20.0 - k % 9 for k in range(90)), curve_step_s=1.0)
    assert "▁" in printed(found)
    plain = printed(found, signs=LETTERS)
    assert "?" not in plain
    assert "@" in plain
    assert "90 values, 1 s apart: -28.0 to -20.0 LUFS, half of them above -24.0" in " ".join(plain.split())


def test_missing_figures_are_grouped_by_reason() -> None:
    text = printed(measurement(correlation=NONE, balance_db=NONE, true_peak_dbtp=-1.0349))
    assert "take.wav" in text
    assert "-1.03 dBTP" in text
    assert "not measured: Correlation and Channel balance (the file is silent)" in text


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(0, "0:00.000"), (62.3456, "1:02.346"), (3599.9996, "1:00:00.000"), (-0.0004, "0:00.000")],
)
def test_times_are_minutes_seconds_and_milliseconds(seconds: float, text: str) -> None:
    assert exact_clock(seconds) == text


def test_places_are_times_and_samples() -> None:
    """The sample is counted from 0 at the file's own rate, and is exact where the time was a whole sample."""
    assert where(2_749_414 / 44_100, 44_100) == "1:02.345, sample 2749414"
    text = printed(measurement(true_peak_at_s=2.5, overs=((1.0, 2, 0.25),)))
    assert "0:02.500, sample 110250" in text
    assert "0:01.000, sample 44100 channel 2 +0.25 dBTP" in text


def test_ten_places_are_listed_and_the_rest_counted() -> None:
    times = tuple(float(k) for k in range(1, 26))
    lines = printed(measurement(clip_runs_at_s=times)).splitlines()
    assert sum(", sample " in line for line in lines) == LISTED == 10
    assert any("and 15 more" in line for line in lines)
    assert "more" not in printed(measurement(clip_runs_at_s=times[:10]))


def test_the_same_places_are_printed_once() -> None:
    """The highest places of a file that goes over are its overs."""
    places = ((1.0, 1, 0.5), (2.0, 2, 0.25))
    text = printed(measurement(overs=places, highest_places=places, overs_count=2))
    assert text.count("sample 44100 channel 1") == 1
    assert "the same as Overs above 0 dBTP, each" in text


def test_ranked_places_are_reported_by_rank() -> None:
    """Where the strongest are first, their times are not printed again in another order."""
    columns = ("at_s", "channel", "strength")
    listed = {
        "click": Figure("click", "", 0, "How many.", "x", Subject.LISTEN),
        "click_at_s": Figure("click_at_s", "", None, "Times.", "x", Subject.LISTEN),
        "click_ranked": Figure("click_ranked", "", None, "Ranks.", "x", Subject.LISTEN, columns),
    }
    ranks = ((2.0, 1, 9.5), (1.0, 0, 3.5))
    readings = {"click": Reading(2), "click_at_s": Reading((1.0, 2.0)), "click_ranked": Reading(ranks)}
    (group,) = grouped(Measurement(readings), listed)
    count, times, ranked = (row.lines for row in group.rows)
    assert count == ("2",)
    assert times == ("the same as Click ranked",)
    assert ranked == ("0:02.000 channel 1 strength 9.50", "0:01.000 several channels strength 3.50")


def test_a_text_that_came_with_the_file_cannot_break_lines() -> None:
    """Control signs and the like in a reading are made harmless before they are printed."""
    assert "a b" in printed(measurement(coding="a\n\tb"))
    assert "\x1b" not in printed(measurement(coding="a\x1b[31mb", lossy_coder="\x07x"))


def test_mono_shows_how_it_was_counted() -> None:
    """As it is, and beside it as two loudspeakers would play it: 3.01 LU more (BS.1770-5: twice the power)."""
    text = printed(measure_sound(eventful(44_100, 5, 1), 44_100))
    assert "one channel, counted as it is" in text
    found = measure_sound(eventful(44_100, 5, 1), 44_100)
    assert found.value("dual_mono_integrated_lufs") - found.value("integrated_lufs") == pytest.approx(3.0103, abs=1e-4)
    assert "counted as it is" not in printed(measure_sound(eventful(44_100, 5, 2), 44_100))


@pytest.mark.parametrize(
    ("channels", "weights", "says_how"),
    [(6, (1.0, 1.0, 1.0, 0.0, 1.41, 1.41), True), (6, None, False), (2, (1, 1), False)],
)
def test_more_than_two_channels_show_that_they_are_weighted(
    channels: int, weights: tuple[float, ...] | None, says_how: bool
) -> None:
    """By ITU-R BS.1770-5, Annex 3; two channels have the weight 1 and need no note."""
    readings = {"channels": Reading(channels), "channel_weights": Reading(weights), "integrated_lufs": Reading(-14.0)}
    (loudness,) = (
        one for one in grouped(Measurement(readings), figures_by_subject()) if one.subject is Subject.LOUDNESS
    )
    note = "channels are weighted by their loudspeakers, see Channel weights"
    assert (note in loudness.notes) is says_how


def test_loudness_range_of_a_short_file_carries_a_caution() -> None:
    """EBU: loudness range is not for programmes under a minute."""
    assert "loudness range is of little use" in printed(measurement(loudness_range_lu=4.0, duration_s=59.0))
    assert "is of little use" not in printed(measurement(loudness_range_lu=4.0, duration_s=61.0))


def test_every_figure_has_a_different_name_for_people() -> None:
    """Ids are for specs and scripts; a heading such as 'integrated_lufs' is none."""
    names = [figure_name(name) for name in figures_by_subject()]
    assert len(set(names)) == len(names)
    assert not [name for name in names if "_" in name or not name[0].isupper()]
    assert set(NAMES) <= set(figures_by_subject())
    assert figure_name("integrated_lufs") == "Loudness"
    assert figure_name("click_places_outstanding_at_s") == "Clicks, outstanding at"
    assert figure_name("made_by_a_new_meter") == "Made by a new meter"


def test_an_unknown_figure_is_still_printed() -> None:
    """A reading from elsewhere (an older cache) without a figure of that name: never lost."""
    assert "From elsewhere" in printed(measurement(from_elsewhere=3))


def test_sparks_show_peaks_and_can_be_silent() -> None:
    assert spark([0, 0, 0, 7], 4, "abcdefgh") == "aaah"
    assert spark([-120.0, -10.0, -120.0, -120.0], 2, "abcdefgh") == "ha"
    assert spark([-20.0] * 9, 3, "ab") == "aaa"


def test_cells_are_set_in_columns() -> None:
    assert in_columns(["a: 1", "bb: 22", "c: 3"], 16) == ["a: 1    bb: 22", "c: 3"]
    assert in_columns(["longer than that"], 4) == ["longer than that"]


TAKEN = ProgrammeTotals(3, 2, 3725.5, -14.04, "", -0.31, "two.wav")


def test_several_files_are_reported_as_one_programme() -> None:
    text = "\n".join(together_table(TAKEN, figures_by_subject()))
    assert "All 2 files as one programme" in text
    assert "1:02:05.500" in text
    assert "-14.0 LUFS" in text
    assert "-0.31 dBTP, in two.wav" in text
    assert "not the average" in text
    assert "without 1 file that could not be used" in text
    silent = "\n".join(together_table(ProgrammeTotals(2, 2, 4.0, None, "silent"), figures_by_subject()))
    assert "not measured: Loudness (silent)" in silent


def test_json_is_complete_and_has_samples_beside_seconds() -> None:
    """Every reading, curves too; every time a second time in samples; every figure explained."""
    found = measure_sound(eventful(44_100, 5), 44_100)
    document = json.loads(data_measured.render([source(found)], figures_by_subject(), TAKEN))
    (file,) = document["files"]
    assert set(file["measurement"]) == set(found) == set(document["figures"])
    assert len(file["measurement"]["gating_powers"]) == len(found.value("gating_powers"))
    assert set(file["why_missing"]) == {name for name in found if not found[name].exists}
    for name, at in file["at_samples"].items():
        seconds = file["measurement"][name]
        rows = seconds if isinstance(seconds, list) else [seconds]
        times = [row[0] if isinstance(row, list) else row for row in rows]
        assert [k / 44_100 for k in (at if isinstance(at, list) else [at])] == pytest.approx(times, abs=HALF_A_SAMPLE_S)
    assert {name for name in found if name.endswith("_at_s") and found[name].exists} < set(file["at_samples"])
    assert "overs" in file["at_samples"]
    assert document["together"]["integrated_lufs"] == TAKEN.integrated_lufs
    assert document["figures"]["overs"]["columns"] == ["at_s", "channel", "dbtp"]


def test_csv_has_a_row_for_each_figure_of_each_file() -> None:
    """Values as JSON has them; curves for pictures are left to it."""
    found = measure_sound(eventful(44_100, 5), 44_100)
    rows = sheet(measured_csv.render([source(found), source(found, "b.wav", 2)], figures_by_subject()))
    known = figures_by_subject()
    expected = {name for name in found if known[name].subject is not Subject.MATERIAL}
    for file in ("take.wav", "b.wav"):
        of_file = {row["figure"]: row for row in rows if row["file"] == file}
        assert set(of_file) == expected
        for name, row in of_file.items():
            assert row["subject"] == known[name].subject
            assert bool(row["value"] or found[name].value == "") != bool(row["why_missing"]), name
        assert float(of_file["integrated_lufs"]["value"]) == pytest.approx(found.value("integrated_lufs"), abs=1e-9)
        assert int(of_file["true_peak_at_s"]["at_sample"]) == round(found.value("true_peak_at_s") * 44_100)
        assert json.loads(of_file["third_octave_db"]["value"]) == pytest.approx(found.value("third_octave_db"))
        assert of_file["identical_channels"]["value"] == "no"


def test_csv_calculates_nothing() -> None:
    """A file's name, or a reason, that a spreadsheet would take for a formula; numbers below 0 stay numbers."""
    found = measurement(integrated_lufs=-14.25, coding="=cmd()", dc_offset_percent=-0.00000001)
    broken = source(None, "@b.wav", 2, "-1+1 is no sound")
    rows = sheet(measured_csv.render([source(found, "=1+1.wav"), broken], figures_by_subject()))
    cells = [value for row in rows for value in row.values()]
    assert "-14.25" in cells
    assert "-0.00000001" in cells
    for cell in cells:
        assert not cell.startswith(("=", "@", "+", "-")) or float(cell) <= 0
    assert "'=1+1.wav" in cells
    assert "'-1+1 is no sound" in cells


def test_csv_refers_to_json_where_a_row_is_too_long() -> None:
    """Spreadsheet programs hold 32,767 letters in a cell, and cut off silently."""
    found = measurement(short_term_curve_lufs=tuple(-20.123456789 - k / 7 for k in range(4000)))
    (row,) = (r for r in sheet(measured_csv.render([source(found)], figures_by_subject())) if "curve" in r["figure"])
    assert row["value"] == ""
    assert "4000 values" in row["why_missing"]


def test_requested_extras_are_in_the_table() -> None:
    found = measurement(integrated_lufs=-14.0)
    opinions = {1: SecondOpinion("another", -14.02, -0.02)}
    trials = {1: [Trial(CodecForm("mp3", 320), not_tested="no encoder")]}
    rows = sheet(measured_csv.render([source(found)], figures_by_subject(), TAKEN, trials, opinions))
    entries_by = {(row["file"], row["subject"], row["figure"]): row for row in rows}
    assert entries_by["take.wav", "second opinion, another", "integrated_lufs"]["value"] == "-14.02"
    assert entries_by["take.wav", "after mp3:320", "true_peak_dbtp"]["why_missing"] == "no encoder"
    assert entries_by[measured_csv.ALL, "loudness", "integrated_lufs"]["value"] == "-14.04"


def test_figures_without_columns_are_still_printed() -> None:
    """A row of rows whose figure has no column names: the bare values."""
    bare = {"odd": Figure("odd", "", None, "Odd.", "x", Subject.LISTEN)}
    (group,) = (g for g in grouped(measurement(odd=((1, 2.5), (3, 4.5))), bare) if g.subject is Subject.LISTEN)
    assert group.rows[0].lines == ("1 2.50", "3 4.50")


def test_processing_history_is_marked_as_fact_or_sign() -> None:
    """Only what counts samples is a fact; all else of that kind is a sign, and without a sign it is not measured."""
    weights = {figure.name: figure.weight for figure in figures_by_subject().values()}
    lines_about = {figure.name for figure in figures_by_subject().values() if figure.subject is Subject.HISTORY}
    assert {name for name, weight in weights.items() if weight} == {*lines_about, "dithered_clip_run_count"}
    assert weights["dithered_clip_run_count"] is Weight.WEAK_SIGN
    assert {name for name in lines_about if weights[name] is Weight.FACT} == {
        "nonfinite_samples",
        "float_overs",
        "effective_bits",
    }
    text = " ".join(printed(measure_sound(eventful(44_100, 5), 44_100)).split())
    assert "weak sign: Pre-emphasis suspected, Early band edge and Passages without dither" in text
    assert "a sign is no proof" in text
    assert "cannot tell: Converted up from (cannot be decided below 48 kHz)" in text
