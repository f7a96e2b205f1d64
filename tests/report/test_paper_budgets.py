"""Short papers: pages, sizes and processor time of a made release, and what page one holds."""

from __future__ import annotations

import base64
import re
import subprocess
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader

from delivery.model.finding import Answer
from delivery.model.part import Delivery
from delivery.model.release import Writer
from delivery.report.font_files import EAST_ASIA, package_folder
from delivery.report.html import sheet as sheet_html
from delivery.report.pdf.sheet import render
from delivery.report.view.make import view_of
from delivery.report.view.model import View
from tests import samples
from tests.judges import needs
from tests.report.test_short_output import long_album, many_musts

FIVE = tuple(samples.spec(f"spec-{n}", f"Spec {n}") for n in range(1, 6))
FRONT = 4
"""Pages before the tracks' own."""


def view(delivery: Delivery, form: str = "whole") -> View:
    return replace(view_of(delivery, samples.FIGURES), form=form)


def pages(pdf: bytes, folder: Path) -> list[str]:
    (folder / "sheet.pdf").write_bytes(pdf)
    done = subprocess.run(["pdftotext", "-layout", "sheet.pdf", "-"], cwd=folder, check=True, capture_output=True)
    return done.stdout.decode("utf-8").removesuffix("\f").split("\f")


def count(pdf: bytes) -> int:
    return len(PdfReader(BytesIO(pdf)).pages)


LONG = replace(long_album(), built=True)


@pytest.mark.thorough(2)
@pytest.mark.parametrize("page", ["A4", "Letter"])
@pytest.mark.parametrize(
    ("delivery", "tracks"),
    [(samples.delivery(12, FIVE), 12), (samples.logged(samples.troubled(12)), 12), (LONG, 14)],
    ids=["ready", "troubled", "remarks"],
)
def test_an_album_has_four_pages_and_one_for_each_track_at_most(delivery: Delivery, tracks: int, page: str) -> None:
    assert count(render(view(delivery), page)) <= FRONT + tracks


def test_far_more_musts_than_page_one_can_list_add_no_pages() -> None:
    """126 causes: page one has a line for each of nine rules; the tracks' pages have each cause in full."""
    assert count(render(view(many_musts(built=True)))) <= FRONT + 14
    assert count(render(view(many_musts(built=True), "summary"))) == 2


def test_the_summary_of_an_album_is_two_pages() -> None:
    assert count(render(view(samples.delivery(12, FIVE), "summary"))) == 2
    assert count(render(view(LONG, "summary"))) == 2


@pytest.mark.parametrize("page", ["A4", "Letter"])
def test_one_song_for_three_recipients_is_two_pages(page: str) -> None:
    assert count(render(view(samples.delivery(1)), page)) == 2


@needs("pdftotext")
def test_page_one_holds_what_is_needed_and_the_approval(tmp_path: Path) -> None:
    """Seven musts with their remedies, the question to the client, the total size, and the lines to sign."""
    front = pages(render(view(LONG)), tmp_path)[0]
    assert front.count("rate_hz") == 7
    assert "not supplied: genre, label, p_line, c_line, upc, release_date, language" in " ".join(front.split())
    for output in ("To settle (7)", "Questions for the client (1)", "70 files, 70.0 MB", "Approved by", "Signature"):
        assert output in front


@needs("pdftotext")
def test_items_that_do_not_fit_on_page_one_are_on_the_next(tmp_path: Path) -> None:
    whole = samples.delivery(2, FIVE[:1])
    found = tuple(
        samples.finding(f"made_rule_{at:02}", "spec-1", None, Answer.NOT_MET, found="so", remedy=f"remedy {at:02}")
        for at in range(60)
    )
    reported = pages(render(view(replace(whole, findings=found))), tmp_path)
    assert "Approved by" in reported[0]
    more = re.search(r"and (\d+) more on the next pages", reported[0])
    assert more
    on_one = re.findall(r"remedy \d\d", reported[0])
    assert len(on_one) + int(more[1]) == 60
    assert sorted({*on_one, *re.findall(r"remedy \d\d", reported[1] + reported[2])}) == [
        f"remedy {at:02}" for at in range(60)
    ]


@needs("pdftotext")
def test_writers_with_shares_are_never_cut(tmp_path: Path) -> None:
    whole = samples.delivery(1)
    writers = tuple(
        Writer(f"Writer of the name number {at}", ("composer",), 2.5, ipi=f"{at:011}", society="SALT")
        for at in range(40)
    )
    tracks = tuple(replace(track, writers=writers) for track in whole.release.tracks)
    sources = tuple(replace(source, track=tracks[0]) for source in whole.sources)
    shown = replace(whole, release=replace(whole.release, tracks=tracks), sources=sources)
    text = " ".join("".join(pages(render(view(shown)), tmp_path)).split())
    assert all(f"name number {at} (composer) 2.5 %" in text for at in range(40))


def test_empty_columns_are_left_out() -> None:
    whole = samples.delivery(3)
    tracks = tuple(replace(track, gap_before_s=None) for track in whole.release.tracks)
    sources = tuple(replace(source, track=track) for source, track in zip(whole.sources, tracks, strict=True))
    shown = view(replace(whole, release=replace(whole.release, tracks=tracks), sources=sources))
    assert shown.order_table.columns == ("No.", "Title", "ISRC", "Length, min:s")
    assert "Gap" not in shown.together[0].columns
    assert sum(shown.together[0].shares) == pytest.approx(1.0)
    assert "Gap before" not in sheet_html.render(shown).decode()
    assert view(whole).order_table.columns[-1] == "Gap before"


def test_files_with_equal_figures_share_a_column() -> None:
    """A bit-identical file has its master's figures; the converted ones have their own."""
    figures = view(samples.delivery(1)).tracks[0].figures
    assert figures
    assert figures.columns == ("as received; Store master, 24-bit", "CD-rate files", "Listening copy")


@pytest.mark.skipif(package_folder(EAST_ASIA) is None, reason="the package with the East Asian fonts is not installed")
def test_glyphs_that_a_machine_may_lack_travel_in_the_page() -> None:
    """A Japanese title brings its own characters and no others; a title in Latin brings no font."""
    from fontTools.ttLib import TTFont

    title = "\u6e2f\u306e\u7b97\u8853"
    plain = sheet_html.render(view(samples.of_titles(("Tidal",), samples.SPECS[:1]))).decode()
    page = sheet_html.render(view(samples.of_titles((title,), samples.SPECS[:1]))).decode()
    assert "@font-face" not in plain
    assert "font-src" not in plain
    assert "font-src data:;" in page
    assert page == sheet_html.render(view(samples.of_titles((title,), samples.SPECS[:1]))).decode()
    fonts = [base64.b64decode(data) for data in re.findall(r"data:font/ttf;base64,([A-Za-z0-9+/=]+)", page)]
    has = {character for font in fonts for character in TTFont(BytesIO(font)).getBestCmap()}
    assert set(map(ord, title)) <= has
    assert len(has) < 20
    assert len(page) - len(plain) < 20_000
