"""Renew the reference pictures."""

from tests.report.references import FOLDER, PAGES, as_png, picture

for name in PAGES:
    (FOLDER / f"{name}.png").write_bytes(as_png(picture(name)))
