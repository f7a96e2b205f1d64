"""Type in any script: every character has a glyph, joined and ordered as its script requires."""

from __future__ import annotations

import hashlib
import re
import subprocess
from io import BytesIO
from pathlib import Path

import bidi
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from reportlab.pdfgen.canvas import Canvas

from delivery.errors import Unfinished
from delivery.report import font_files
from delivery.report.font_files import regions
from delivery.report.pdf.bidi import visual_runs
from delivery.report.pdf.fonts import Face, FontBook
from delivery.report.pdf.shaping import shaped, shaped_by_words
from delivery.report.pdf.type import Setter, Style
from delivery.report.view.words import plain, typographic
from tests import samples
from tests.judges import needs
from tests.report import bundled_fonts

STYLE = Style(20, 26)


def glyphs(setter: Setter, text: str, style: Style) -> list[int]:
    return [run.face.ttf.face.charToGlyph[ord(c)] for run in setter.line(text, style).runs for c in run.glyphs]


def page(text: str, lang: str = "en") -> bytes:
    into = BytesIO()
    setter = Setter(FontBook([text], lang))
    line = setter.line(text, STYLE)
    canvas = Canvas(into, pagesize=(400, 40), invariant=1, initialFontName=line.runs[0].face.name)
    line.draw(canvas, 10, 12)
    canvas.save()
    return into.getvalue()


@pytest.mark.parametrize("weight", ["regular", "strong"])
@pytest.mark.parametrize("script", sorted(samples.SCRIPTS))
def test_no_script_falls_back_to_the_empty_box(script: str, weight: str) -> None:
    text = samples.SCRIPTS[script]
    found = glyphs(Setter(FontBook([text], "en")), text, Style(10, 12, weight))
    assert found
    assert 0 not in found


@pytest.mark.parametrize("title", samples.HOSTILE, ids=ascii)
def test_no_hostile_title_falls_back_to_the_empty_box(title: str) -> None:
    text = plain(title)
    assert 0 not in glyphs(Setter(FontBook([text], "en")), text, STYLE)


@pytest.mark.parametrize("script", ["Arabic", "Devanagari"])
def test_joining_scripts_are_shaped(script: str) -> None:
    """A single letter has another form than in a word, or another number of glyphs."""
    text = samples.SCRIPTS[script].split()[0]
    setter = Setter(FontBook([text], "en"))
    alone = [glyph for character in text for glyph in glyphs(setter, character, STYLE)]
    assert sorted(glyphs(setter, text, STYLE)) != sorted(alone)


@needs("pdftoppm")
@pytest.mark.parametrize("script", sorted(samples.SCRIPTS))
def test_every_script_leaves_ink(script: str, tmp_path: Path) -> None:
    """Ink, in a picture by another program, at least as wide as one letter for each three characters."""
    from PIL import Image

    (tmp_path / "page.pdf").write_bytes(page(samples.SCRIPTS[script]))
    subprocess.run(["pdftoppm", "-r", "72", "-png", "-singlefile", "page.pdf", "page"], cwd=tmp_path, check=True)
    with Image.open(tmp_path / "page.png") as picture:
        box = picture.convert("L").point(lambda value: 255 if value < 128 else 0).getbbox()
    assert box is not None
    assert box[2] - box[0] > 6 * len(samples.SCRIPTS[script]) / 3


@needs("pdftotext")
@pytest.mark.parametrize("script", sorted(samples.SCRIPTS))
def test_titles_can_be_copied_and_searched(script: str, tmp_path: Path) -> None:
    """Another program reads the words back; the order of mixed runs is its own guess, so only words are compared."""
    (tmp_path / "page.pdf").write_bytes(page(samples.SCRIPTS[script]))
    read = subprocess.run(["pdftotext", "page.pdf", "-"], cwd=tmp_path, check=True, capture_output=True).stdout
    assert sorted(words(read.decode("utf-8"))) == sorted(words(samples.SCRIPTS[script]))


def words(text: str) -> list[str]:
    """Without brackets and the direction marks that the other program adds."""
    return re.sub("[()\u202a-\u202e\u2066-\u2069\f]", " ", text).split()


@needs("pdftotext")
@pytest.mark.parametrize("script", ["Arabic", "Hebrew"])
def test_the_first_word_of_a_right_to_left_title_is_at_the_right(script: str, tmp_path: Path) -> None:
    (tmp_path / "page.pdf").write_bytes(page(samples.SCRIPTS[script]))
    boxes = subprocess.run(
        ["pdftotext", "-bbox", "page.pdf", "-"], cwd=tmp_path, check=True, capture_output=True
    ).stdout.decode("utf-8")
    lefts = {word: _left(boxes, word) for word in samples.SCRIPTS[script].split()}
    first, second = samples.SCRIPTS[script].split()
    assert lefts[first] > lefts[second]


def _left(boxes: str, word: str) -> float:
    """The box is listed with its letters in reading order, or as stored."""
    row = next(line for line in boxes.splitlines() if f">{word}<" in line or f">{word[::-1]}<" in line)
    return float(row.partition('xMin="')[2].partition('"')[0])


def visual(text: str, base: int) -> str:
    """What is on paper from left to right; brackets are mirrored later, by the shaping."""
    return "".join(run[::-1] if level % 2 else run for run, level in visual_runs(text, base))


@settings(max_examples=300)
@given(st.text("abc אבגدرز 12 .,-()[]", min_size=1, max_size=24), st.sampled_from([0, 1]))
def test_order_agrees_with_an_independent_implementation(text: str, base: int) -> None:
    """UAX #9 as the `unicode-bidi` library has it (through python-bidi's compiled half, which we do not use)."""
    assert visual(text, base).strip() == bidi.get_display(text, base_dir="LR"[base]).strip()


def test_file_names_read_left_to_right_whatever_they_begin_with() -> None:
    assert visual("ים.wav", 0).endswith(".wav")
    assert visual("ים.wav", 1).startswith("wav")


@pytest.mark.parametrize(
    ("lang", "first"),
    [("ja", "JP"), ("ko", "KR"), ("zh-Hant", "TC"), ("zh_TW", "TC"), ("zh", "SC"), ("zh-Hans", "SC"), ("en", "JP")],
)
def test_shared_ideographs_take_the_form_of_the_documents_language(lang: str, first: str) -> None:
    assert regions(lang)[0] == first
    setter = Setter(FontBook(["港"], lang))
    assert setter.line("港", STYLE).runs[0].face.name == f"NotoSans{first}-Regular"


def test_without_the_large_fonts_chinese_japanese_and_korean_are_printed(monkeypatch: pytest.MonkeyPatch) -> None:
    """The small font has every syllable of Hangul and the unified ideographs of Unicode 1.1."""
    monkeypatch.setattr(font_files, "package_folder", lambda _: None)
    book = FontBook(["潮の計算", "테스트", "龥"], "ja")
    for text in ("潮の計算", "테스트", "龥"):
        (run,) = Setter(book).line(text, STYLE).runs
        assert run.face.name == "DroidSansFallback-Regular"
    has = font_files.covered(font_files.FOLDER / "DroidSansFallback.ttf")
    assert {*range(0x4E00, 0x9FA6), *range(0xAC00, 0xD7A4)} <= has


@pytest.mark.parametrize("is_installed", [True, False])
def test_signs_in_titles_are_printed_with_and_without_the_large_fonts(
    monkeypatch: pytest.MonkeyPatch, is_installed: bool
) -> None:
    """Shapes, stars and arrows that titles use; the large fonts have them too."""
    if not is_installed:
        monkeypatch.setattr(font_files, "package_folder", lambda _: None)
    book = FontBook(["★☆●○◎♡⇒△■□♪※"], "ja")
    assert [sign for sign in "★☆●○◎♡⇒△■□♪※" if book.home(sign) is None] == []


def test_long_words_break_inside_and_lines_fit() -> None:
    setter = Setter(FontBook(samples.HOSTILE, "en"))
    for title in map(plain, samples.HOSTILE):
        for line in setter.lines(title, STYLE, 120):
            assert line.width <= 120


def test_lines_that_do_not_fit_end_in_an_ellipsis() -> None:
    setter = Setter(FontBook(["word " * 50], "en"))
    rows = setter.lines("word " * 50, STYLE, 100, most=3)
    assert len(rows) == 3
    assert str(rows[-1].runs[-1].glyphs).endswith("\u2026")


def test_minus_signs_are_true_and_hyphens_stay() -> None:
    assert typographic("-1.00 dBTP, ZZ-OSL-26, 2026-08-14") == "\u22121.00\u00a0dBTP, ZZ-OSL-26, 2026-08-14"


def test_weights_differ() -> None:
    setter = Setter(FontBook(["Harbour"], "en"))
    assert setter.width("Harbour", STYLE) != setter.width("Harbour", STYLE.strong())


def test_figures_are_as_wide_as_each_other() -> None:
    setter = Setter(FontBook(["0123456789"], "en"))
    assert len({round(setter.width(digit, STYLE), 3) for digit in "0123456789"}) == 1


def test_without_its_font_the_sheet_names_the_missing_characters(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(font_files, "FOLDER", tmp_path)
    with pytest.raises(Unfinished, match="Install the program again"):
        FontBook(["a"], "en")


def test_the_fonts_are_the_pinned_ones_with_their_licences() -> None:
    """Every file beside the fonts has the checksum of its pinned source, and there is nothing else."""
    found = {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in font_files.FOLDER.iterdir()}
    assert found == bundled_fonts.SHA256
    licences = {*bundled_fonts.LICENCES.values(), "Apache-Droid.txt", "DejaVu.txt"}
    assert licences == {name for name in found if name.endswith(".txt")}


def _latin_letters() -> str:
    return "".join(map(chr, sorted(font_files.covered(font_files.FOLDER / font_files.LATIN))))


@settings(max_examples=200)
@example(" \u200d")
@given(
    st.text(
        st.sampled_from("  -12aAVToy\u0301\u0308\u00a0\u200d") | st.sampled_from(_latin_letters()),
        min_size=1,
        max_size=12,
    )
)
def test_words_shaped_one_by_one_are_the_text_shaped_at_once(text: str) -> None:
    """Judge: HarfBuzz. In the Latin font, no glyph depends on what stands beyond a blank."""

    def face() -> Face:
        book = FontBook([text], "en")
        return book.face(book.latin, "regular")

    assert shaped_by_words(text, face()) == shaped(text, face())
