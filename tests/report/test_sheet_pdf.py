"""The sheet: same bytes every time, nothing on it that the view does not say, sound for other programs."""

from __future__ import annotations

import hashlib
import itertools
import os
import re
import subprocess
import sys
import time
from dataclasses import replace
from functools import cache
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image, ImageFile
from pypdf import PdfReader

from delivery.model.part import Delivery, TagReport
from delivery.model.release import Artwork
from delivery.model.spec import Spec
from delivery.report.pdf.sheet import render
from delivery.report.pictures import made_small
from delivery.report.view.make import view_of
from delivery.report.view.texts import words_of
from delivery.report.view.words import typographic
from tests import sample_albums, samples
from tests.judges import needs


def sheet(delivery: Delivery, page: str = "A4") -> bytes:
    return render(view_of(delivery, samples.FIGURES), page)


@pytest.fixture(scope="module")
def troubled() -> bytes:
    return sheet(samples.troubled())


@pytest.fixture(scope="module")
def forty() -> bytes:
    return sheet(samples.delivery(40))


@cache
def titled(titles: tuple[str, ...]) -> bytes:
    """The sheet of songs with these titles: several tests read it."""
    return sheet(samples.of_titles(titles))


def printed(pdf: bytes, folder: Path) -> str:
    (folder / "sheet.pdf").write_bytes(pdf)
    done = subprocess.run(["pdftotext", "-layout", "sheet.pdf", "-"], cwd=folder, check=True, capture_output=True)
    return done.stdout.decode("utf-8")


def test_two_renders_are_the_same_bytes_and_one_between_leaves_no_trace(troubled: bytes) -> None:
    sheet(samples.of_titles(tuple(samples.SCRIPTS.values())))
    assert sheet(samples.troubled()) == troubled


def test_another_process_with_another_hash_seed_makes_the_same_bytes(troubled: bytes) -> None:
    code = (
        "import hashlib; from tests import samples; from delivery.report.pdf.sheet import render; "
        "from delivery.report.view.make import view_of; "
        "print(hashlib.sha256(render(view_of(samples.troubled(), samples.FIGURES))).hexdigest())"
    )
    env = {**os.environ, "PYTHONHASHSEED": "77", "PYTHONPATH": "."}
    root = Path(__file__).parents[2]
    done = subprocess.run([sys.executable, "-c", code], cwd=root, env=env, check=True, capture_output=True, text=True)
    assert done.stdout.strip() == hashlib.sha256(troubled).hexdigest()


@pytest.mark.thorough(2)
@needs("pdftotext")
@pytest.mark.parametrize("delivery", [samples.delivery(12), samples.troubled(), samples.bare(), sample_albums.album()])
def test_every_number_on_the_sheet_is_in_the_view(delivery: Delivery, tmp_path: Path) -> None:
    view = view_of(delivery, samples.FIGURES)
    output = re.sub(r"\s+", "", " ".join(words_of(view)))  # the other program sometimes leaves out a narrow space
    text = printed(render(view), tmp_path).replace("\u2212", "-").replace("\u2192", "->")
    text = re.sub(r"page \d+ of \d+", "", text)
    numbers = {word.strip("[](),;") for word in text.split() if any(character.isdigit() for character in word)}
    assert len(numbers) > 30
    assert {number for number in numbers if number not in output} == set()


@needs("pdftotext")
def test_every_page_carries_release_revision_and_page_of_pages(forty: bytes, tmp_path: Path) -> None:
    pages = printed(forty, tmp_path).rstrip("\f").split("\f")
    assert len(pages) > 40
    for at, page in enumerate(pages, start=1):
        head = page.strip().splitlines()[0]
        assert "Merrow & the Glass Tide: Harbour Arithmetic" in head
        assert head.split("revision")[1].split() == ["3", "page", str(at), "of", str(len(pages))]


@needs("pdftotext")
def test_a_long_order_table_repeats_its_head(tmp_path: Path) -> None:
    view = replace(view_of(samples.delivery(70), samples.FIGURES), form="summary")
    pages = printed(render(view), tmp_path).split("\f")
    with_head = [page for page in pages if "ISRC" in page and "Gap before" in page]
    codes = [re.findall(r"ZZ-OSL-26-\d{5}", page) for page in with_head]
    assert len(with_head) >= 2
    assert sum(len(found) for found in codes) == 70


@needs("pdffonts")
@pytest.mark.parametrize("titles", [samples.TITLES, tuple(samples.SCRIPTS.values())])
def test_every_font_is_embedded(titles: tuple[str, ...], tmp_path: Path) -> None:
    (tmp_path / "sheet.pdf").write_bytes(titled(titles))
    done = subprocess.run(["pdffonts", "sheet.pdf"], cwd=tmp_path, check=True, capture_output=True, text=True)
    rows = [row.split() for row in done.stdout.splitlines()[2:]]
    assert rows
    assert {row[-5] for row in rows} == {"yes"}  # columns from the right: emb sub uni object id


@pytest.mark.thorough(2)
@needs("qpdf")
@pytest.mark.parametrize("titles", [samples.TITLES, samples.HOSTILE, tuple(samples.SCRIPTS.values())])
def test_the_file_is_sound_to_another_program(titles: tuple[str, ...], tmp_path: Path) -> None:
    (tmp_path / "sheet.pdf").write_bytes(titled(titles))
    done = subprocess.run(["qpdf", "--check", "sheet.pdf"], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


@needs("pdftotext")
def test_markup_in_titles_is_printed_as_it_is(tmp_path: Path) -> None:
    text = printed(titled(samples.HOSTILE), tmp_path)
    assert "<b>bold</b> & <font color='red'>red</font>" in text
    assert "{{ jinja }} ${env} [red]rich[/red] [/]" in text


def test_metadata_has_title_author_language_and_no_clock() -> None:
    reader = PdfReader(BytesIO(sheet(samples.delivery(2, language="ja"))))
    assert reader.metadata is not None
    assert reader.metadata.title == "Delivery sheet: Merrow & the Glass Tide: Harbour Arithmetic, revision 3"
    assert reader.metadata.author == "Lantern Room Mastering, Nell Arkwright"
    assert reader.trailer["/Root"]["/Lang"] == "ja"
    assert str(time.gmtime().tm_year) not in str(reader.metadata.get("/CreationDate"))


@pytest.mark.parametrize(("page", "size"), [("A4", (595, 842)), ("Letter", (612, 792))])
def test_both_papers(page: str, size: tuple[int, int]) -> None:
    box = PdfReader(BytesIO(sheet(samples.delivery(1), page))).pages[0].mediabox
    assert (round(box.width), round(box.height)) == size


def test_an_unknown_paper_is_refused() -> None:
    with pytest.raises(ValueError, match="A4, Letter"):
        sheet(samples.delivery(1), "A5")


def test_twelve_tracks_stay_under_a_megabyte() -> None:
    assert len(sheet(samples.delivery(12))) < 1_000_000


@needs("pdftotext")
@pytest.mark.parametrize("page", ["A4", "Letter"])
@pytest.mark.parametrize("spec", samples.SPECS, ids=lambda spec: spec.id)
def test_a_single_for_one_recipient_is_one_page(page: str, spec: Spec, tmp_path: Path) -> None:
    """A first one: a later revision says in a section of its own what changed."""
    single = samples.delivery(1, (spec,))
    single = replace(single, release=replace(single.release, revision=1))
    text = printed(sheet(single, page), tmp_path)
    assert text.count("\f") == 1
    view = view_of(single, samples.FIGURES)
    for output in (
        "Approved by",
        "Third-octave",
        "Method",
        view.routes[0].verdict.word,
        view.parts[0].rows[0].checksum,
    ):
        assert output in text
    figures = view.tracks[0].figures
    assert figures
    for row in figures.rows:
        assert re.search(rf"{row.label}(, {row.unit})?\s+{re.escape(typographic(row.cells[0]))}\b", text), row.label


@needs("pdftotext")
def test_a_single_with_many_findings_takes_the_long_form(tmp_path: Path) -> None:
    text = printed(sheet(samples.logged(samples.delivery(1, samples.SPECS[:1]))), tmp_path)
    assert text.count("\f") > 1
    assert "Needed before delivery" in text


@needs("pdftotext")
@pytest.mark.parametrize("page", ["A4", "Letter"])
def test_a_track_with_four_specs_keeps_to_its_page(page: str, tmp_path: Path) -> None:
    """With one more line for each file than a plain delivery has."""
    four = (*samples.SPECS, samples.spec("sync-48-24", "Sync and library, 48 kHz 24 bit"))
    whole = samples.delivery(2, four)
    parts = tuple(
        replace(part, shipped=replace(part.shipped, tags=TagReport({}, differs=("title: wrote 'Café', reads 'Cafe'",))))
        for part in whole.parts
        if part.shipped
    )
    pages = printed(sheet(replace(whole, parts=parts), page), tmp_path).split("\f")
    assert sum("Third-octave" in each for each in pages) == 2
    assert not any("continued" in each for each in pages)


@needs("pdftotext")
def test_checksums_to_compare_are_whole(tmp_path: Path) -> None:
    """SHA-256 of every delivered file and the audio hash of every master, in one piece on paper and on screen."""
    from delivery.report.html import sheet as sheet_html

    for whole in (samples.delivery(2), samples.delivery(1, (samples.CD,))):
        page = sheet_html.render(view_of(whole, samples.FIGURES)).decode()
        text = printed(sheet(whole), tmp_path)
        wanted = [part.shipped.sha256 for part in whole.parts if part.shipped]
        assert wanted
        for checksum in (*wanted, *(source.audio_hash for source in whole.sources)):
            assert checksum in text
            assert checksum in page


@needs("pdftotext")
def test_nothing_is_printed_over_anything_else(tmp_path: Path) -> None:
    """Words of one line, as another program finds them, never share a place."""
    whole = samples.troubled(6)
    why = "03 master.wav: found a sample over full scale, wanted none beyond it, which integers cannot hold. " * 2
    refused = tuple(
        replace(part, problem=why, shipped=None) if part.spec == "cd-rate-16" and part.track == 4 else part
        for part in whole.parts
    )
    (tmp_path / "sheet.pdf").write_bytes(sheet(samples.logged(replace(whole, parts=refused))))
    done = subprocess.run(["pdftotext", "-bbox", "sheet.pdf", "-"], cwd=tmp_path, check=True, capture_output=True)
    found = re.findall(r'<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">', done.stdout.decode())
    boxes = [tuple(map(float, box)) for box in found]
    assert len(boxes) > 500
    clashes = [
        (one, other)
        for one, other in itertools.pairwise(boxes)
        if abs(one[1] - other[1]) < 1 and one[0] < other[2] - 1.5 and other[0] < one[2] - 1.5
    ]
    assert clashes == []


@needs("pdftotext")
def test_the_log_and_the_acceptances_are_printed_with_names_and_reasons(tmp_path: Path) -> None:
    text = printed(sheet(samples.logged(samples.delivery(2))), tmp_path)
    for output in (
        "QC log",
        "1:23.450",
        "left",
        "Click at the edit",
        "repaired in the master",
        "after the end",
        "open",
    ):
        assert output in text
    for output in ("Accepted", "11.2 s", "inner_silence_max_s", "Ada Merrow", "void: this audio is not on the release"):
        assert output in text


def art(path: Path) -> Artwork:
    return Artwork(path, "jpeg", 3000, 3000, "rgb", 1, "0" * 64)


def pictures(pdf: bytes) -> int:
    return sum(len(page.images) for page in PdfReader(BytesIO(pdf)).pages)


def test_artwork_and_logo_are_drawn_small(tmp_path: Path) -> None:
    Image.new("CMYK", (1400, 1400), (90, 20, 10, 0)).save(tmp_path / "cover.jpg")
    Image.new("RGBA", (800, 200), (0, 40, 50, 120)).save(tmp_path / "logo.png")
    whole = samples.pictured(samples.delivery(1), art(tmp_path / "cover.jpg"), tmp_path / "logo.png")
    pdf = sheet(whole)
    assert pictures(pdf) == 2
    assert len(pdf) < 200_000


@needs("pdftotext")
@pytest.mark.parametrize(
    "content",
    [None, b"", b"\xff\xd8\xff\xe0 not a picture", b"<svg/>", "cut"],
    ids=["absent", "empty", "JPEG in name only", "SVG", "cut off"],
)
def test_a_broken_picture_is_reported_and_the_sheet_is_made(content: bytes | str | None, tmp_path: Path) -> None:
    path = tmp_path / "picture.jpg"
    if content == "cut":
        into = BytesIO()
        Image.effect_noise((600, 600), 80).save(into, "JPEG")
        content = into.getvalue()[:3000]
    if isinstance(content, bytes):
        path.write_bytes(content)
    text = printed(sheet(samples.pictured(samples.delivery(1), art(path), path)), tmp_path)
    assert "logo: the picture file cannot be read" in text
    assert "artwork: the picture file" in text


def test_a_picture_bomb_is_not_unpacked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every picture that Pillow decodes is noted; the control is a small one. Sheets have theirs from a child."""
    decode, unpacked = ImageFile.ImageFile.load, set()

    def noted(picture: ImageFile.ImageFile) -> object:
        unpacked.add(picture.size)
        return decode(picture)

    monkeypatch.setattr(ImageFile.ImageFile, "load", noted)
    for name, side_px in (("small.png", 300), ("bomb.png", 20_000)):
        Image.new("1", (side_px, side_px)).save(tmp_path / name)
    assert made_small(tmp_path / "small.png") is not None
    assert made_small(tmp_path / "bomb.png") is None
    assert unpacked == {(300, 300)}
    assert pictures(sheet(samples.pictured(samples.delivery(1), art(tmp_path / "bomb.png")))) == 0


@needs("pdftotext")
def test_results_have_words(troubled: bytes, tmp_path: Path) -> None:
    text = printed(troubled, tmp_path)
    for word in ("ready", "ready with remarks", "not ready", "unusable", "not measured", "waived", "refused"):
        assert word in text


def test_more_specs_than_columns_still_fit() -> None:
    many = tuple(samples.spec(f"spec-{at}", f"Spec number {at}") for at in range(8))
    assert PdfReader(BytesIO(sheet(samples.delivery(2, many)))).pages


def test_a_title_longer_than_a_page_is_shortened_not_lost() -> None:
    whole = samples.of_titles(("word " * 4_000, "x" * 10_000), samples.SPECS[:1])
    assert len(PdfReader(BytesIO(sheet(whole))).pages) < 20


def test_one_curve_point_is_enough() -> None:
    whole = samples.delivery(1, samples.SPECS[:1])
    tiny = {"waveform_low": (-0.1,), "waveform_high": (0.1,), "short_term_curve_lufs": (-20.0,)}
    shipped = whole.parts[0].shipped
    assert shipped is not None
    readings = {name: samples.Reading(value) for name, value in tiny.items()}
    part = replace(whole.parts[0], shipped=replace(shipped, measurement=shipped.measurement.with_readings(readings)))
    assert sheet(replace(whole, parts=(part,)))
