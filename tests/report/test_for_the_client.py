"""What a client reads: no places of the release file, no sentence that ends in the middle, fields by their names."""

from __future__ import annotations

import re
import subprocess
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from delivery.model.approval import Approval
from delivery.model.changes import About, Changes, Value
from delivery.model.finding import Answer, Finding, Weight
from delivery.model.part import Delivery
from delivery.report.html import sheet as html_sheet
from delivery.report.pdf import sheet as pdf_sheet
from delivery.report.text import mail as mail_text
from delivery.report.text.full import check_table
from delivery.report.view.groups import groups_of
from delivery.report.view.make import view_of
from tests import samples

LONG = (
    "the composer's name is given in capitals only, as no person writes it, and so is the name of the orchestra "
    "that plays in the last movement"
)


def with_findings(*findings: Finding) -> Delivery:
    whole = samples.delivery(2, samples.SPECS[:1])
    named = replace(whole.release, path=Path("album/release.yaml"), lines={"/tracks/1/title": 65})
    return replace(whole, release=named, findings=findings)


def finding(rule: str, found: str, *, subject: str = "label_copy", must: bool = False, **more: str) -> Finding:
    return Finding(
        rule, samples.STORE.id, None, Answer.NOT_MET, must, Weight.FACT, found=found, subject=subject, **more
    )


def html(delivery: Delivery) -> str:
    return html_sheet.render(view_of(delivery, samples.FIGURES)).decode()


def mail(delivery: Delivery) -> str:
    return " ".join(mail_text.render(view_of(delivery, samples.FIGURES)).decode().split())


def printed(delivery: Delivery, folder: Path, *pages: str) -> str:
    (folder / "sheet.pdf").write_bytes(pdf_sheet.render(view_of(delivery, samples.FIGURES)))
    run = subprocess.run(["pdftotext", "-layout", *pages, folder / "sheet.pdf", "-"], capture_output=True, check=True)
    return " ".join(run.stdout.decode().split())


@pytest.mark.parametrize("place", ["release.yaml:65", "release.yaml"])
@pytest.mark.parametrize("must", [True, False])
def test_lines_of_the_release_file_are_for_the_engineer(place: str, must: bool, tmp_path: Path) -> None:
    whole = with_findings(finding("title_style", "two blanks in a title", must=must, place=place))
    for text in (mail(whole), html(whole), printed(whole, tmp_path)):
        assert "two blanks in a title" in text
        assert "release.yaml" not in text
    (notice,) = view_of(whole, samples.FIGURES).notices
    assert notice.line_and_place == place


def test_the_full_output_on_the_terminal_names_the_line(capsys: pytest.CaptureFixture[str]) -> None:
    from rich.console import Console

    whole = with_findings(finding("title_style", "two blanks in a title", must=True, place="release.yaml:65"))
    console = Console(width=100)
    for each in check_table(view_of(whole, samples.FIGURES)):
        console.print(each)
    assert "release.yaml:65" in capsys.readouterr().out


def test_a_side_or_a_tag_is_named_to_the_client_too() -> None:
    whole = with_findings(finding("side_length", "24:10", subject="carrier", must=True, place="OSL-014 A"))
    assert "(OSL-014 A)" in mail(whole)


def test_a_remark_is_whole_in_the_mail_and_on_the_sheets(tmp_path: Path) -> None:
    whole = with_findings(finding("odd", LONG, subject="level"))
    for text in (mail(whole), printed(whole, tmp_path), re.sub(r"<[^>]+>", "", html(whole)).replace("&#39;", "'")):
        assert LONG in text.replace("’", "'")
        assert "…" not in text
    (item,) = groups_of(view_of(whole, samples.FIGURES).notices, brief=True).remarks
    assert item.text.endswith("…")


def test_fields_have_their_headings_in_the_mail() -> None:
    """Of the sheet that the client fills in, not the keys of the release file."""
    missing = (
        finding("release_fields", "not supplied", wanted=key) for key in ("p_line", "upc", "release_date", "artwork")
    )
    assert "not supplied: (P) line, UPC / EAN, Release date, artwork [release_fields]" in mail(with_findings(*missing))


def test_a_change_on_page_one_is_whole_or_on_the_next_page(tmp_path: Path) -> None:
    """Two of these are six lines each: the second does not fit and is counted."""
    text = "one word after another word of a note that was changed since the last revision was sent to the client " * 7
    notes = (Value(About.NOTES, "notes", None, f"{text}end{at}") for at in (1, 2))
    changed = Changes("revision 1", "revision 2", values=tuple(notes))
    whole = replace(samples.delivery(2), changes=changed)
    first = printed(whole, tmp_path, "-l", "1")
    assert "…" not in first
    assert "end1" in first
    assert "and 1 more on the next page" in first


def test_a_mail_asks_for_an_answer_where_the_sheet_has_the_form() -> None:
    """What is approved, or goes to a recipient who approves nothing, has no form to point to."""
    whole = replace(samples.delivery(2), built=True)
    view = view_of(whole, samples.FIGURES)
    assert view.answer
    assert "To answer, reply in plain words" in mail(whole)
    assert "delivery-sheet.html" in mail(whole)
    hashes = tuple(source.audio_hash for source in whole.sources)
    given = Approval("I. Merrow", date(2026, 5, 12), hashes, ())
    approved = replace(whole, release=replace(whole.release, approval=given))
    assert "listen to the files" in mail(approved)
    assert "To answer" not in mail(approved)
    assert "delivery-sheet.html" not in mail(approved)
