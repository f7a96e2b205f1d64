"""Pages look as they did when they were last reviewed; the file is sound, and its fonts are from packages only."""

from __future__ import annotations

import hashlib
import itertools
import json
import os
import subprocess
import sys
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image, ImageChops, ImageFilter, ImageStat

from delivery.report import font_files
from delivery.report.pdf.sheet import render
from delivery.report.view.make import view_of
from tests import samples
from tests.judges import needs
from tests.report import references

TILE_PX = 14
MOST_IN_A_TILE = 12
"""Levels of grey, of 256, on average within a tile; another rasteriser's edges stay below, a lost number does not."""
MOST_ON_THE_PAGE = 1.0


def sheet(delivery: samples.Delivery, page: str = "A4") -> bytes:
    return render(view_of(delivery, samples.FIGURES), page)


def difference(one: Image.Image, other: Image.Image) -> tuple[int, float]:
    """In levels of grey, edges softened: the most that a tile differs by, and the mean of the page."""
    soft = [picture.filter(ImageFilter.GaussianBlur(1.2)) for picture in (one, other)]
    apart = ImageChops.difference(*soft)
    tiles = apart.resize((apart.width // TILE_PX, apart.height // TILE_PX), Image.Resampling.BOX)
    return max(tiles.tobytes()), ImageStat.Stat(apart).mean[0]


def alike(one: Image.Image, other: Image.Image) -> bool:
    tile, page = difference(one, other)
    return tile < MOST_IN_A_TILE and page < MOST_ON_THE_PAGE


@needs("pdftoppm")
@pytest.mark.parametrize("name", sorted(references.PAGES))
def test_a_page_looks_as_it_is_kept(name: str) -> None:
    """An "unchanged" test: the reference is our own page, looked at by a person before it was kept."""
    shown, kept = references.picture(name), references.kept(name)
    assert shown.size == kept.size
    assert alike(shown, kept), difference(shown, kept)


@needs("pdftoppm")
def test_the_comparison_finds_what_a_person_would_see() -> None:
    """A page moved by 4 mm, a table without its numbers, two numbers gone, a missing plot: each is reported."""
    kept = references.kept("track")
    width, height = kept.size

    def without(left: float, top: float, right: float, bottom: float) -> Image.Image:
        changed = kept.copy()
        changed.paste(255, (int(width * left), int(height * top), int(width * right), int(height * bottom)))
        return changed

    moved = ImageChops.offset(kept, 0, 7)
    for changed in (moved, without(0.5, 0.5, 1, 0.75), without(0.85, 0.6, 1, 0.64), without(0, 0.2, 1, 0.28)):
        assert not alike(changed, kept), difference(changed, kept)


def test_the_references_are_small() -> None:
    files = sorted(references.FOLDER.glob("*.png"))
    assert {file.stem for file in files} == set(references.PAGES)
    assert sum(file.stat().st_size for file in files) < 120_000


@needs("pdftoppm")
@pytest.mark.parametrize("name", ["track", "overs", "window"])
def test_everything_is_distinguishable_in_grey(name: str) -> None:
    """Ink, secondary words, the accent and the shaded areas are at least 20 levels of grey apart."""
    from delivery.report.pdf import look

    shades = {}
    for colour in (look.INK, look.SOFT, look.TINT, "#ffffff"):
        shades[colour] = Image.new("RGB", (1, 1), colour).convert("L").getpixel((0, 0))
    levels = sorted(shades.values())
    assert all(b - a >= 20 for a, b in itertools.pairwise(levels))
    assert references.picture(name).getextrema()[0] < 60


@pytest.mark.thorough(2)
@pytest.mark.parametrize("titles", [samples.TITLES, samples.HOSTILE, tuple(samples.SCRIPTS.values())])
def test_its_structure_is_sound_to_another_library(titles: tuple[str, ...]) -> None:
    """pikepdf (qpdf) reads every object, finds no problem, and every font has its file inside."""
    import pikepdf

    with pikepdf.open(BytesIO(sheet(samples.of_titles(titles)))) as pdf:
        assert pdf.check_pdf_syntax() == []
        assert pdf.Root.Lang == "en"
        fonts = [font for page in pdf.pages for font in page.Resources.get("/Font", {}).values()]
        assert fonts
        for font in fonts:
            described = font.get("/FontDescriptor") or font.DescendantFonts[0].FontDescriptor
            assert any(key in described for key in ("/FontFile", "/FontFile2", "/FontFile3"))
        assert "/JavaScript" not in pdf.Root.get("/Names", {})
        assert "/OpenAction" not in pdf.Root
        assert not [page for page in pdf.pages if "/Annots" in page]


CODE = """
import hashlib, json, sys
opened = []
sys.addaudithook(lambda event, args: opened.append(str(args[0])) if event == "open" else None)
import uharfbuzz as hb
real = hb.Blob.from_file_path
class Blob(hb.Blob):
    @classmethod
    def from_file_path(cls, path):
        opened.append(str(path))
        return real(path)
hb.Blob = Blob
from tests import samples
from delivery.report.pdf.sheet import render
from delivery.report.view.make import view_of
pdf = render(view_of(samples.of_titles((*samples.TITLES[:2], *samples.SCRIPTS.values())), samples.FIGURES))
fonts = sorted({path for path in opened if path.lower().endswith((".ttf", ".otf", ".ttc", ".pfb", ".afm"))})
print(json.dumps({"sha256": hashlib.sha256(pdf).hexdigest(), "fonts": fonts}))
"""


def test_the_same_bytes_whatever_fonts_the_system_has(tmp_path: Path) -> None:
    """Another home with fonts of the same names in it, no font configuration, another hash seed: nothing changes."""
    expected = sheet(samples.of_titles((*samples.TITLES[:2], *samples.SCRIPTS.values())))
    for folder in (".fonts", ".local/share/fonts", "Library/Fonts"):
        (tmp_path / folder).mkdir(parents=True)
        for name in ("NotoSans-Regular.ttf", "IBMPlexSans-Regular.ttf", "NotoSans[wght].ttf"):
            (tmp_path / folder / name).write_bytes(b"no font")
    environment = {
        **os.environ,
        "HOME": str(tmp_path),
        "XDG_DATA_HOME": str(tmp_path / ".local/share"),
        "FONTCONFIG_FILE": str(tmp_path / "none"),
        "PYTHONHASHSEED": "4",
        "PYTHONPATH": ".",
    }
    root = Path(__file__).parents[2]
    done = subprocess.run(
        [sys.executable, "-c", CODE], cwd=root, env=environment, check=True, capture_output=True, text=True
    )
    reported = json.loads(done.stdout)
    assert reported["sha256"] == hashlib.sha256(expected).hexdigest()
    assert len(reported["fonts"]) > 5
    places = (str(font_files.FOLDER), f"{os.sep}{font_files.EAST_ASIA}{os.sep}")
    assert [path for path in reported["fonts"] if not any(place in path for place in places)] == []
