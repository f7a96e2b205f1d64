"""Pictures of pages as they should look: small and grey, by pdftoppm.

``python -m tests.report.references`` renews them; do that only after looking at the new pages, in colour and in grey.
"""

from __future__ import annotations

import subprocess
import tempfile
from collections.abc import Callable, Mapping
from io import BytesIO
from pathlib import Path

from PIL import Image

from delivery.model.part import Delivery
from delivery.report.pdf.sheet import render
from delivery.report.view.make import view_of
from tests import sample_albums, samples

FOLDER = Path(__file__).parent
DPI = 44

PAGES: Mapping[str, tuple[Callable[[], Delivery], int]] = {
    "summary": (lambda: samples.delivery(5), 1),
    "needed": (lambda: samples.logged(samples.troubled(6)), 1),
    "findings": (lambda: samples.logged(samples.troubled(6)), 2),
    "track": (lambda: samples.delivery(1), 2),
    "overs": (lambda: samples.troubled(2), 4),
    "album": (sample_albums.album, 3),
    "single": (lambda: samples.delivery(1, (samples.CD,)), 1),
    "window": (samples.windowed, 1),
    "scripts": (lambda: samples.of_titles(tuple(samples.SCRIPTS.values()), samples.SPECS[:1]), 2),
}


def picture(name: str) -> Image.Image:
    """The page of that name as it looks now, in grey."""
    made, page = PAGES[name]
    pdf = render(view_of(made(), samples.FIGURES))
    with tempfile.TemporaryDirectory() as folder:
        Path(folder, "sheet.pdf").write_bytes(pdf)
        command = [
            "pdftoppm",
            "-gray",
            "-r",
            str(DPI),
            "-f",
            str(page),
            "-l",
            str(page),
            "-singlefile",
            "sheet.pdf",
            "page",
        ]
        subprocess.run(command, cwd=folder, check=True)
        with Image.open(Path(folder, "page.pgm")) as shown:
            return shown.convert("L")


def kept(name: str) -> Image.Image:
    with Image.open(FOLDER / f"{name}.png") as picture:
        return picture.convert("L")


def as_png(shown: Image.Image) -> bytes:
    """Sixteen greys are enough to compare by, and small."""
    into = BytesIO()
    shown.quantize(16).save(into, "PNG", optimize=True)
    return into.getvalue()
