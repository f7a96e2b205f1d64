"""The album as one picture: on paper, on the screen, and in numbers that can be worked out by hand."""

from __future__ import annotations

import itertools
import math
import re
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest

from delivery.model.figure import Measurement, Reading
from delivery.model.finding import Answer
from delivery.model.part import Delivery
from delivery.report.html import sheet as sheet_html
from delivery.report.html.plots import beam
from delivery.report.pdf import carrier
from delivery.report.pdf import sheet as sheet_pdf
from delivery.report.view.album import AlbumPicture
from delivery.report.view.make import View, view_of
from delivery.report.view.texts import words_of
from tests import sample_albums, samples
from tests.judges import needs
from tests.report.test_sheet_html import Page

SHARES = (0.0, 0.5, -0.25, 1.0, -1.0)


def view(delivery: Delivery) -> View:
    return view_of(delivery, samples.FIGURES)


def picture(delivery: Delivery) -> AlbumPicture:
    (made,) = view(delivery).together
    return made


def pages(pdf: bytes, folder: Path) -> list[str]:
    (folder / "sheet.pdf").write_bytes(pdf)
    done = subprocess.run(["pdftotext", "-layout", "sheet.pdf", "-"], cwd=folder, check=True, capture_output=True)
    return done.stdout.decode("utf-8").split("\f")


def is_of_album(page: str) -> bool:
    return re.search(r"^ *The album\b", page, re.MULTILINE) is not None


def of_album(pdf: bytes, folder: Path) -> list[str]:
    return [page for page in pages(pdf, folder) if is_of_album(page)]


def html(delivery: Delivery) -> str:
    return sheet_html.render(view(delivery)).decode("utf-8")


@needs("pdftotext")
def test_a_single_song_has_no_album(tmp_path: Path) -> None:
    alone = samples.delivery(1)
    assert view(alone).together == ()
    assert of_album(sheet_pdf.render(view(alone)), tmp_path) == []
    assert 'id="album"' not in html(alone)
    assert len(of_album(sheet_pdf.render(view(samples.delivery(2))), tmp_path)) == 1
    assert 'id="album"' in html(samples.delivery(2))


@needs("pdftotext")
def test_the_album_is_before_the_tracks_and_has_a_bookmark(tmp_path: Path) -> None:
    text = pages(sheet_pdf.render(view(sample_albums.album())), tmp_path)
    page = next(at for at, each in enumerate(text) if is_of_album(each))
    assert "Approved by" in text[0]
    assert "Third-octave" not in "".join(text[: page + 1])
    assert "Third-octave" in text[page + 1]


def test_loudness_is_reported_against_the_album_as_one_programme() -> None:
    """By hand: the song's own figure less the album's -12.64 LUFS."""
    delivery = samples.delivery(4)
    made = picture(delivery)
    against = made.columns.index("± album")
    for source, row in zip(delivery.sources, made.rows, strict=True):
        assert source.measurement
        apart = source.measurement.value("integrated_lufs") + 12.64
        assert float(row[against]) == pytest.approx(apart, abs=0.0501)
        assert row[against][0] in "+-"


def in_bands(low: float, mid: float, high: float) -> Measurement:
    """One band of sound in each of the three, dB."""
    return samples.measurement(1).with_readings(
        {"third_octave_hz": Reading((100.0, 1000.0, 8000.0)), "third_octave_db": Reading((low, mid, high))}
    )


def test_tone_is_reported_against_the_mean_power_of_the_songs() -> None:
    """By hand: bands of 1 and 3 have the mean 2; 10 lg(1/2) = -3.01 dB and 10 lg(3/2) = +1.76 dB."""
    whole = samples.delivery(2)
    three_db = 10 * math.log10(3)
    tones = (in_bands(-20.0, -1.0, -30.0), in_bands(-20.0, -1.0, -30.0 + three_db))
    sources = tuple(replace(source, measurement=tone) for source, tone in zip(whole.sources, tones, strict=True))
    made = picture(replace(whole, sources=sources))
    assert [row[-3:] for row in made.rows] == [("+0.0", "+0.0", "-3.0"), ("+0.0", "+0.0", "+1.8")]
    assert made.bars[0][-1] == pytest.approx(10 * math.log10(0.5) / 6)  # 6 dB is the first reach that holds 3.01
    assert "6 dB to either side" in made.reads[-1]


@pytest.mark.parametrize("delivery", [samples.delivery(12), sample_albums.album(), samples.troubled()])
def test_bars_are_proportional_to_their_numbers(delivery: Delivery) -> None:
    made = picture(delivery)
    found = re.search(r"Bars reach (\d+) LU and (\d+) dB", made.reads[-1])
    assert found
    loud_lu, tone_db = map(int, found.groups())
    drawn, against = 0, made.columns.index("± album")
    for row, bars in zip(made.rows, made.bars, strict=True):
        assert len(row) == len(bars) == len(made.columns)
        for at, (text, share) in enumerate(zip(row, bars, strict=True)):
            if share is None:
                assert at < against or text == "–"
            else:
                drawn += 1
                assert share * (loud_lu if at == against else tone_db) == pytest.approx(float(text), abs=0.0501)
    assert drawn >= 4 * 11


def test_widths_of_columns_fill_the_page() -> None:
    assert sum(picture(samples.delivery(2)).shares) == pytest.approx(1)


@pytest.mark.parametrize("share", SHARES)
def test_a_bar_is_drawn_from_the_middle_to_its_side(share: float) -> None:
    left, width = beam(share)
    assert width == 500 * abs(share)
    assert (left, left + width)[share > 0] == 500 + 500 * share


def lengths(first: int, count: int = 11) -> dict[str, str]:
    made = picture(sample_albums.sided(samples.delivery(count), first)).lengths
    return {each.name: each.text for each in made}


def test_lengths_are_held_against_what_is_good_and_allowed() -> None:
    """The limits are the spec's own: 19:30 and 23:00 of a 12-inch side, not those of the 7-inch in the row above."""
    album = picture(sample_albums.album())
    side, _, disc = album.lengths
    assert (side.name, side.length, side.good, side.at_most, side.text) == (
        "Side A",
        "19:27.1",
        "19:30",
        "23:00",
        "good",
    )
    assert (disc.name, disc.good, disc.text) == ("Disc 1", "not stated", "no limit stated")
    assert disc.share is None
    assert side.share
    assert side.good_share
    assert side.most_share
    assert side.good_share / side.most_share == pytest.approx(1170 / 1380)
    assert side.share / side.most_share == pytest.approx((19 * 60 + 27.1) / 1380, abs=1e-4)
    assert {sentence for first in (4, 5, 6, 7) for sentence in lengths(first).values()} >= {"good", "too long"}
    assert "longer than good" in {sentence for first in range(4, 9) for sentence in lengths(first).values()}


def test_two_renders_are_the_same_bytes() -> None:
    assert sheet_pdf.render(view(sample_albums.album())) == sheet_pdf.render(view(sample_albums.album()))
    assert html(sample_albums.album()) == html(sample_albums.album())


@pytest.mark.thorough(1)
@needs("pdftotext")
@pytest.mark.parametrize("page", ["A4", "Letter"])
def test_forty_songs_turn_the_page_under_the_same_head(page: str, tmp_path: Path) -> None:
    delivery = sample_albums.joined(samples.delivery(40))
    found = of_album(sheet_pdf.render(view(delivery), page), tmp_path)
    assert len(found) == 2
    assert "The album, continued" in found[1]
    assert all(re.search(r"No\. +Title +Length +Gap", each) for each in found)
    lengths = [row[2] for row in picture(delivery).rows]
    printed = [
        line.split() for each in found for line in each.splitlines() if re.match(r" *\d+ (?!tracks).*\d:\d\d ", line)
    ]
    assert [int(line[0]) for line in printed] == list(range(1, 41))
    assert all(length in line for length, line in zip(lengths, printed, strict=True))


@pytest.mark.thorough(1)
@needs("pdftotext")
@pytest.mark.parametrize("page", ["A4", "Letter"])
def test_nothing_is_printed_over_anything_else(page: str, tmp_path: Path) -> None:
    """Words of one line, as another program finds them, never share a place."""
    whole = sample_albums.sided(sample_albums.joined(samples.troubled(40)), 20)
    (tmp_path / "sheet.pdf").write_bytes(sheet_pdf.render(view(whole), page))
    done = subprocess.run(["pdftotext", "-bbox", "sheet.pdf", "-"], cwd=tmp_path, check=True, capture_output=True)
    clashes, words = [], 0
    for each in done.stdout.decode().split("<page ")[1:]:
        if "The</word>" not in each or "album" not in each:
            continue
        found = re.findall(r'<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">', each)
        boxes = [tuple(map(float, box)) for box in found]
        words += len(boxes)
        clashes += [
            (one, other)
            for one, other in itertools.combinations(boxes, 2)
            if min(one[2], other[2]) - max(one[0], other[0]) > 1.5
            and min(one[3], other[3]) - max(one[1], other[1]) > 3.5
        ]
    assert words > 400
    assert clashes == []


@needs("pdftotext")
def test_titles_of_any_script_are_printed(tmp_path: Path) -> None:
    titles = tuple(samples.SCRIPTS[name] for name in ("Greek", "Japanese", "Arabic"))
    delivery = samples.of_titles(titles)
    (found,) = of_album(sheet_pdf.render(view(delivery)), tmp_path)
    assert [row[1] for row in picture(delivery).rows] == list(titles)
    spelt = re.sub(r"[\s\u200e\u200f\u202a-\u202e\u2066-\u2069]", "", found)
    for title in titles:
        for word in title.split():  # the other program may turn the order of right-to-left words within a line
            assert word in spelt
    assert all(title in Page(html(delivery)).text for title in titles)


def test_the_terminal_prints_the_whole_album_page() -> None:
    made = view(sample_albums.album())
    text = Page(sheet_html.render(made).decode("utf-8")).text
    text = text.replace("\u2212", "-").replace("\u2192", "->").replace("\u00a0", " ")
    wanted = {" ".join(word.split()) for noun in (*made.together, made.carriers) for word in words_of(noun)}
    assert len(wanted) > 150
    assert {word for word in wanted if word not in text} == {"pq-sheet.pdf", "side-sheet.pdf"}


def test_the_screen_draws_a_bar_for_each_number() -> None:
    made = picture(sample_albums.album())
    drawn = re.findall(
        r'<path class="whole" d="M0 5H1000"></path><rect x="([\d.]+)" width="([\d.]+)"', html(sample_albums.album())
    )
    expected = [beam(share) for bars in made.bars for share in bars if share is not None]
    assert [(float(x), float(width)) for x, width in drawn] == expected
    assert len(re.findall(r'<rect class="allowed"', html(sample_albums.album()))) == 2


def test_sheets_of_sides_have_their_times_to_the_right() -> None:
    for sheet in view(sample_albums.album()).carriers:
        assert sheet.times < set(sheet.columns)
        assert carrier.render(view(sample_albums.album()), sheet).startswith(b"%PDF")


@needs("pdftotext")
def test_a_rule_not_met_on_many_tracks_is_listed_once(tmp_path: Path) -> None:
    five = tuple(samples.spec(f"spec-{at}", f"Store number {at}") for at in range(1, 6))
    whole = samples.delivery(6, five)
    output = {"found": "0.00 s", "wanted": "0.05 s to 2.00 s", "remedy": "a moment of quiet in front", "must": False}
    parts = tuple(
        replace(part, findings=(samples.finding("lead_in_s", part.spec, part.track, Answer.NOT_MET, **output),))
        if part.track != 4
        else part
        for part in whole.parts
    )
    text = pages(sheet_pdf.render(view(replace(whole, parts=parts))), tmp_path)
    before = "".join(text[: next(at for at, page in enumerate(text) if "Third-octave" in page)])
    assert before.count("lead_in_s") == 1
    assert re.search(r"1 to 3, 5, 6 +lead_in_s", before)
