"""The HTML sheet: the same bytes every time, nothing but itself, titles that are only text."""

from __future__ import annotations

import base64
import hashlib
import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest
from PIL import Image

from delivery.model.release import Artwork
from delivery.report.html import sheet as sheet_html
from delivery.report.html.plots import plots
from delivery.report.view.make import view_of
from delivery.report.view.texts import words_of
from delivery.report.view.words import plain
from tests import samples

VOID = {"meta", "br", "img", "link", "input", "hr"}


def sheet(delivery: samples.Delivery) -> str:
    return sheet_html.render(view_of(delivery, samples.FIGURES)).decode("utf-8")


class Page(HTMLParser):
    """Elements, attributes and text as a parser sees them; unbalanced elements are an error."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.attributes: list[tuple[str, str, str]] = []
        self.output: list[str] = []
        self.feed(html)
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.attributes += [(tag, name, value or "") for name, value in attrs]
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if not self.open or self.open[-1] not in ("script", "style"):
            self.output.append(data)

    @property
    def text(self) -> str:
        return " ".join("".join(self.output).split())


def test_two_renders_are_the_same_bytes() -> None:
    assert sheet(samples.troubled()) == sheet(samples.troubled())
    assert "\r" not in sheet(samples.troubled(2))


def test_every_element_is_closed_and_every_id_is_unique() -> None:
    page = Page(sheet(samples.logged(samples.troubled(6))))
    ids = [value for _, name, value in page.attributes if name == "id"]
    assert len(ids) == len(set(ids))
    targets = {value for _, name, value in page.attributes if name == "href"}
    assert targets
    assert all(target.removeprefix("#") in ids for target in targets)


def test_nothing_is_fetched_from_anywhere() -> None:
    """Only fragments and data are pointed at; the policy (W3C CSP 3) forbids the rest."""
    html = sheet(samples.logged(samples.troubled(4)))
    page = Page(html)
    for tag, name, value in page.attributes:
        if name in ("href", "src", "action", "srcset", "poster", "data"):
            assert value.startswith(("#", "data:image/jpeg;base64,")), (tag, name, value)
    assert "url(" not in html
    assert "import(" not in html
    assert not re.search(r"https?://", re.sub(r'xmlns="[^"]*"', "", html))


def test_the_policy_allows_our_script_and_no_other() -> None:
    html = sheet(samples.delivery(1))
    scripts = re.findall(r"<script>(.*?)</script>", html, re.DOTALL)
    assert len(scripts) == len(sheet_html.SCRIPTS)
    digests = [base64.b64encode(hashlib.sha256(script.encode("utf-8")).digest()).decode("ascii") for script in scripts]
    allowed = " ".join(f"'sha256-{digest}'" for digest in digests)
    policy = next(value for _, name, value in Page(html).attributes if name == "content" and "default-src" in value)
    assert f"script-src {allowed};" in policy
    assert "default-src 'none'" in policy


@pytest.mark.parametrize("title", samples.HOSTILE, ids=ascii)
def test_a_hostile_title_is_plain_text_everywhere(title: str) -> None:
    harmless = Page(sheet(samples.of_titles(("Tidal",), samples.SPECS[:1])))
    page = Page(sheet(samples.of_titles((title,), samples.SPECS[:1])))
    shown = plain(title).encode("utf-8", "replace").decode("utf-8")
    assert " ".join(shown.split()) in page.text
    kinds = [(tag, name) for tag, name, _ in page.attributes]
    assert kinds == [(tag, name) for tag, name, _ in harmless.attributes]


def test_every_word_and_number_of_the_view_that_the_pdf_prints_is_here() -> None:
    view = view_of(samples.logged(samples.delivery(2)), samples.FIGURES)
    text = Page(sheet_html.render(view).decode("utf-8")).text.replace("\u2212", "-").replace("\u2192", "->")
    text = text.replace("\u00a0", " ")
    nouns = (view.facts, view.routes, view.order, view.parts, view.notices, view.accepted, view.log, view.method)
    wanted = {" ".join(word.split()) for noun in nouns for word in words_of(noun)}
    left_out = {row.sha256 for table in view.parts for row in table.rows}
    left_out |= {row.md5 for table in view.parts for row in table.rows}
    left_out |= {row.size_bytes for table in view.parts for row in table.rows}
    left_out |= {table.about for table in view.parts} | {row.purpose for table in view.parts for row in table.rows}
    ids = {table.spec for table in view.parts} | {"full", "half", "ring", "cross", "bar"}
    assert {word for word in wanted - left_out - ids if word not in text} == set()


def test_equal_findings_of_several_tracks_are_printed_once() -> None:
    view = view_of(samples.troubled(1), samples.FIGURES)
    output = replace(view.notices[0], track="1", position=1, found="so and so", place="", at_s=())
    alike = tuple(replace(output, track=str(number), position=number) for number in (1, 2, 3, 5))
    text = Page(sheet_html.render(replace(view, notices=alike)).decode("utf-8")).text
    assert "Tracks 1 to 3, 5" in text
    assert text.count("so and so") == 2  # in its group, and in full


def test_missing_fields_are_reported() -> None:
    text = Page(sheet(samples.bare())).text
    assert "Label, Catalogue number, UPC / EAN" in text
    assert "Dated" in text
    assert "not supplied" in text
    assert "artwork: not supplied" in text


def test_pictures_are_embedded_and_broken_ones_reported(tmp_path: Path) -> None:
    Image.new("CMYK", (1400, 1400), (90, 20, 10, 0)).save(tmp_path / "cover.jpg")
    (tmp_path / "logo.png").write_bytes(b"no picture")
    art = Artwork(tmp_path / "cover.jpg", "jpeg", 1400, 1400, "cmyk", 1, "0" * 64)
    html = sheet(samples.pictured(samples.delivery(1), art, tmp_path / "logo.png"))
    assert html.count("data:image/jpeg;base64,") == 1
    assert "logo: the picture file cannot be read" in html


def test_many_tracks_stay_small_enough_to_send() -> None:
    assert len(sheet(samples.delivery(12))) < 700_000
    assert len(sheet(samples.delivery(60))) < 3_000_000


def test_curves_keep_to_their_frames() -> None:
    """What is read by the pointer is what was measured, at one decimal; shapes stay within 1000 by 100."""
    page = view_of(samples.troubled(2), samples.FIGURES).tracks[1]
    drawn = plots(page)
    assert drawn
    assert drawn.wave
    assert drawn.loud
    assert page.loudness
    for path in (drawn.wave.path, drawn.loud.line, drawn.loud.area):
        pairs = [tuple(map(float, pair.split())) for pair in re.split("[MLZ]", path) if pair]
        assert all(0 <= x <= 1000.5 and 0 <= y <= 100 for x, y in pairs)
    assert [float(text) for text in drawn.loud.values.split()] == [
        round(level, 1) for level in page.loudness.short_term_lufs
    ]
    assert [mark.text for mark in drawn.wave.overs] == ["1", "2", "3"]
