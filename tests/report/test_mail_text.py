"""The text for a mail: short lines, the same words as the sheet, nothing but the facts."""

from __future__ import annotations

import re
import unicodedata

import pytest

from delivery.model.finding import Answer, Finding
from delivery.report.text import mail as mail_text
from delivery.report.view.make import view_of
from delivery.report.view.texts import words_of
from tests import samples

CASES = {
    "whole": samples.delivery(12),
    "troubled": samples.logged(samples.troubled()),
    "bare": samples.bare(),
    "hostile": samples.of_titles((*samples.HOSTILE, "word " * 60)),
    "scripts": samples.of_titles(tuple(samples.SCRIPTS.values())),
}


def text(delivery: samples.Delivery) -> str:
    return mail_text.render(view_of(delivery, samples.FIGURES)).decode("utf-8")


@pytest.mark.parametrize("name", sorted(CASES))
def test_lines_are_unchanged_by_a_mail_program(name: str) -> None:
    """RFC 5322, 2.1.1: at most 78 characters, bar a longer word; no controls (RFC 6532 allows UTF-8)."""
    output = text(CASES[name])
    assert output.endswith("\n")
    assert "\r" not in output
    for line in output.splitlines():
        assert len(line) <= 72 or len(line.split()) <= 3, line
        assert not {unicodedata.category(character) for character in line} & {"Cc", "Cs", "Zl", "Zp"}


def test_mail_has_result_recipients_and_sender() -> None:
    output = text(CASES["whole"])
    for words in ("Result: ready (3 of 3 specs ready)", "12 files in data/cd-rate-16", "reference, not for release"):
        assert words in " ".join(output.split())
    assert output.rstrip().endswith("nell@lanternroom.invalid")
    assert "Not delivered" not in output
    assert "To note" not in output


def test_refusals_come_before_remarks() -> None:
    output = " ".join(text(CASES["troubled"]).split())
    assert output.index("Not delivered, because") < output.index("true_peak_max_dbtp") < output.index("To note")
    assert "a master 1.32 dB lower, or a waiver" in output
    assert output.index("To note") < output.index("tail_s: waived")
    assert "the rest before the coda is part of the song" in output
    assert "still open - Track 1, 1:56:40.500, after the end: Chair creaks" in output
    assert "nothing is remarked" not in output
    assert "at most 10.00 s. Ada Merrow, artist: the sea goes on; the silence is meant" in output
    assert "[Store master, 24-bit]" in output


def test_one_cause_is_one_line() -> None:
    """A missing cover leaves eight rules about covers unanswered: the client reads of it once."""
    whole = samples.delivery(2, samples.SPECS[:1])
    spec, weight = samples.SPECS[0].id, samples.over_ceiling("", 1).weight
    unanswered = tuple(
        Finding(rule, spec, None, Answer.NOT_MEASURED, False, weight, why="no cover is named", subject="artwork")
        for rule in ("artwork_min_px", "artwork_square", "artwork_mode")
    )
    output = text(samples.replace(whole, findings=unanswered))
    assert output.count("no cover is named") == 1
    assert "- The release: no cover is named [artwork_min_px and 2 more]" in output


def test_many_findings_are_counted_not_listed() -> None:
    whole = samples.delivery(20, samples.SPECS[:1])
    parts = tuple(
        samples.replace(part, findings=(samples.over_ceiling(part.spec, part.track),), shipped=None)
        for part in whole.parts
    )
    output = text(samples.replace(whole, parts=parts))
    assert "- and 12 more, on the sheet" in output
    assert output.count("true_peak_max_dbtp") == 8


@pytest.mark.parametrize("name", sorted(CASES))
def test_every_number_is_one_of_the_view(name: str) -> None:
    view = view_of(CASES[name], samples.FIGURES)
    output = {word.strip("[](),;:.") for word in text(CASES[name]).split() if any(sign.isdigit() for sign in word)}
    known = " ".join(words_of(view))
    assert {word for word in output if word not in known} <= {str(count) for count in range(100)}


def test_a_long_word_stays_in_one_piece() -> None:
    """A path or a code that is broken cannot be copied."""
    assert "A" * 180 in text(CASES["hostile"])


def test_two_renders_are_the_same_bytes() -> None:
    assert text(samples.troubled()) == text(samples.troubled())


def test_no_line_begins_like_a_header_or_a_quote() -> None:
    """Pasted whole, nothing of it is taken for a mail header or for a quotation."""
    for line in text(CASES["hostile"]).splitlines():
        assert not re.match(r"(From |>|(Subject|To|Cc|Bcc):)", line)
