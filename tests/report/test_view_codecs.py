"""Trials of codecs in words: every number rounded here and nowhere else, and what was not tried never looks tried."""

from __future__ import annotations

import io

from rich.console import Console

from delivery.model.trial import CodecForm, Decoded, Trial
from delivery.report.text import trials
from delivery.report.view.codecs import LOWERED, TRIED, codec_table

OVERS = ((0.5, 1, 0.1049), (12.44, 2, 0.9351), (61.02, 1, 0.3172))
LOUD = Trial(CodecForm("mp3", 320), Decoded(0.9351, 3, OVERS), 1.9351, 44_100, -0.97, -0.0312)
FINE = Trial(CodecForm("opus", 128), Decoded(-1.2049, 0, ()), -0.2049, 48_000)
AAC = Trial(CodecForm("aac", 256), Decoded(0.2, 1, OVERS[:1]), 0.1, 44_100, None, None, -6.0206)
UNTRIED = Trial(CodecForm("mp3", vbr_quality=0), not_tested="no encoder for MP3 on this machine")


def test_an_over_is_reported_with_its_worst_places_and_its_trim() -> None:
    row = codec_table([LOUD]).rows[0]
    assert (row.form, row.true_peak, row.change, row.overs) == ("MP3 320 kbit/s", "+0.94", "+1.94", "3")
    assert (row.worst, row.trim) == ("0:12.4 +0.94, 1:01.0 +0.32", "-0.97")


def test_without_an_over_no_trim_is_printed() -> None:
    table = codec_table([FINE])
    assert (table.rows[0].overs, table.rows[0].worst, table.rows[0].trim) == ("0", "–", "none needed")
    assert TRIED not in table.notes


def test_a_trial_not_made_has_no_figures_and_a_reason() -> None:
    table = codec_table([UNTRIED])
    assert table.rows[0].true_peak == "not tested"
    assert {table.rows[0].change, table.rows[0].overs, table.rows[0].worst, table.rows[0].trim} == {"–"}
    assert table.notes == ("MP3 VBR V0 not tested: no encoder for MP3 on this machine.",)


def test_a_trim_that_was_not_found_is_not_made_up() -> None:
    assert codec_table([AAC]).rows[0].trim == "none found"


def test_a_lowered_copy_is_reported_once() -> None:
    notes = codec_table([AAC, AAC]).notes
    assert notes.count(LOWERED.format(by="6.02")) == 1


def test_the_table_fits_80_columns() -> None:
    console = Console(width=80, record=True, file=io.StringIO())
    console.print(*trials.codec_table([LOUD, FINE, AAC, UNTRIED]), sep="\n")
    lines = console.export_text().splitlines()
    assert max(map(len, lines)) <= 80
    assert any("MP3 320 kbit/s" in line and "-0.97" in line for line in lines)
