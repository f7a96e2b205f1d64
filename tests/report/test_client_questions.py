"""Questions that only the client can answer: each once, in words, with the sheet in which it is answered."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from delivery.model.fields import FIELDS
from delivery.model.finding import Answer
from delivery.report.view import words
from delivery.report.view.finding_rows import Notice
from delivery.report.view.questions import Question, in_words, mail, questions_of
from tests.report.test_label_copy import view

SEEN = view()


def notice(position: int | None, rule: str = "track_fields", **more: Any) -> Notice:
    """Something of the label copy that is not met; by default a field that was not supplied."""
    values = {"found": words.NOT_SUPPLIED, "wanted": "isrc", "remedy": "ask for it", "subject": "label_copy"} | more
    verdict = words.verdict(values.pop("answer", Answer.NOT_MET))
    return Notice(str(position or "release"), position, rule, verdict, "must", ("A disc",), **values)


def asked(*notices: Notice) -> list[tuple[str, str, str]]:
    found = questions_of(replace(SEEN, notices=notices)).questions
    return [(one.about, one.text, one.column) for one in found]


def test_a_field_that_was_not_supplied_is_asked_for_by_its_heading_and_meaning() -> None:
    meaning = FIELDS["isrc"].meaning
    assert asked(notice(1)) == [("Track 1, Low Water", f"ISRC is missing: {meaning}.", "isrc")]
    assert asked(notice(None, wanted="upc")) == [
        ("The release", f"UPC / EAN is missing: {FIELDS['upc'].meaning}.", "upc")
    ]


def test_what_no_sheet_can_answer_is_asked_without_a_column() -> None:
    assert asked(notice(None, "artwork_supplied", wanted="artwork", subject="artwork")) == [
        ("The release", "The cover is missing.", "")
    ]
    assert asked(notice(None, wanted="something else")) == [("The release", "something else is missing.", "")]


def test_what_was_found_is_asked_without_the_engineers_remedy() -> None:
    doubtful = notice(2, "shares_total", found="90 %", wanted="100 %", subject="rights")
    assert asked(doubtful) == [("Track 2, 潮の計算", "90 %; needed: 100 %. Please check.", "share")]
    bare = notice(2, "title_style", found="ALL CAPITALS", wanted="", subject="title_style")
    assert asked(bare) == [("Track 2, 潮の計算", "ALL CAPITALS. Please check.", "title")]


def test_only_what_is_not_met_and_the_clients_is_asked() -> None:
    """A level is the engineer's; a waived requirement is settled; a wordless song's language is the client's."""
    assert asked(notice(1, "true_peak_max_dbtp", found="-0.2", subject="peaks")) == []
    assert asked(notice(1, answer=Answer.WAIVED), notice(1, answer=Answer.NOT_MEASURED)) == []
    assert len(asked(notice(1, "sides_stated", found="no side", subject="carrier"))) == 1


def test_every_question_once_the_columns_in_order_of_the_sheet() -> None:
    """In the order in which releases and tracks came up; within one, as the columns stand, those without one last."""
    cover = notice(None, "artwork_supplied", wanted="artwork", subject="artwork")
    shares = [notice(2, "shares_total", found=found, wanted="") for found in ("b", "a")]
    found = asked(
        cover, notice(None, wanted="upc"), notice(2), notice(1), notice(1), notice(1, wanted="title"), *shares
    )
    assert [(about, column) for about, _, column in found] == [
        ("The release", "upc"), ("The release", ""), ("Track 2, 潮の計算", "isrc"), ("Track 2, 潮の計算", "share"),
        ("Track 2, 潮の計算", "share"), ("Track 1, Low Water", "title"), ("Track 1, Low Water", "isrc"),
    ]  # fmt: skip
    assert [text for _, text, column in found if column == "share"] == ["a. Please check.", "b. Please check."]


def test_the_sheet_has_the_columns_in_question_and_those_that_name_a_track() -> None:
    sheet = questions_of(replace(SEEN, notices=(notice(1),))).sheet
    assert [title for title, _ in sheet.release] == ["Release title"]
    assert sheet.columns == ("Track no.", "Title", "Version", "ISRC", "File")
    assert sheet.rows[0] == ("1", "Low Water", "Radio Edit", "ZZ-OSL-26-00001", "01 Low Water.wav")
    of_release = questions_of(replace(SEEN, notices=(notice(None, wanted="upc"),))).sheet
    assert [title for title, _ in of_release.release] == ["Release title", "UPC / EAN"]
    assert "ISRC" not in of_release.columns


@pytest.mark.parametrize(("rule", "wanted"), [("legal_names", "a legal name"), ("shares_total", "100 %")])
def test_a_question_about_persons_has_the_columns_of_every_writer(rule: str, wanted: str) -> None:
    sheet = questions_of(replace(SEEN, notices=(notice(1, rule, found="x", wanted=wanted),))).sheet
    assert [title for title in sheet.columns if title[-1].isdigit()] == [
        f"{title} {at}" for at in (1, 2) for title in ("Writer", "Shares %", "IPI", "Society", "Publisher")
    ]
    without = questions_of(replace(SEEN, notices=(notice(1),))).sheet
    assert not [title for title in without.columns if title[-1].isdigit()]


def test_a_mail_with_numbered_questions() -> None:
    cover = notice(None, "artwork_supplied", wanted="artwork", subject="artwork")
    seen = replace(SEEN, notices=(cover, notice(1, wanted="title", found="LOW", rule="title_style"), notice(1)))
    lines = mail(seen, questions_of(seen), "questions.xlsx").split("\n")
    assert lines[:4] == ["Harbour Arithmetic (Deluxe): 3 questions before delivery", "", "The release",
                         "  1. The cover is missing."]  # fmt: skip
    assert lines[4:6] == ["", "Track 1, Low Water"]
    assert lines[6] == "  2. LOW; needed: title. Please check."
    assert lines[7].startswith("  3. ISRC is missing")
    assert lines[8:] == [
        "", "Please answer in questions.xlsx (one cell for each), or by the numbers above.",
        "Codes, credits, shares and rights are yours to get right; we check their form.", "",
    ]  # fmt: skip


def test_fields_are_named_by_their_headings_in_an_item() -> None:
    missing = [
        notice(1),
        notice(2),
        notice(2, wanted="title_language"),
        notice(None, wanted="upc"),
        notice(1, wanted="x y"),
    ]
    assert in_words("whatever", missing) == "not supplied: ISRC, Language of title, UPC / EAN, x y"
    assert in_words("the text itself", [notice(1, found="something")]) == "the text itself"


def test_a_question_is_one_whatever_number_of_specs_raised_it() -> None:
    assert len(asked(notice(1), replace(notice(1), specs=("A store",)))) == 1
    assert Question("a", "b") == Question("a", "b", "")
