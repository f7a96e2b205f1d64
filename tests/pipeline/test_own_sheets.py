"""``sheet: own``: a recipient has a sheet in its folder, about its files only; the common one leaves them out."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from pypdf import PdfReader

from delivery.intake import load_spec
from delivery.pipeline import Options, build, resolve_request
from delivery.pipeline.verify import verify
from delivery.schema.sentences import explain
from tests.albums import Song, write_album, write_spec

PLANT_ONLY = "tail_s: {should: {at_least: 90}}"
SHEETS = ("delivery-sheet.pdf", "delivery-sheet.html", "mail.txt")


def album(folder: Path, own: tuple[str, ...]) -> Path:
    """For a label and a plant; the plant alone requires what no song has."""
    folder.mkdir()
    write_spec(folder, "label", "{bits: {must: [24]}}", "{}")
    write_spec(folder, "plant", f"{{bits: {{must: [24]}}, {PLANT_ONLY}}}", "{}")
    for name in own:
        spec = folder / f"{name}.yaml"
        spec.write_text(spec.read_text(encoding="utf-8") + "sheet: own\n", encoding="utf-8")
    release = write_album(folder, [Song("One"), Song("Two", seed=2)], ["label", "plant"])
    (folder / "take 7.wav").write_bytes((folder / "take 7.wav").name.encode())
    return release


def text_of(path: Path) -> str:
    if path.suffix == ".pdf":
        return "\n".join(page.extract_text() for page in PdfReader(path).pages)
    return path.read_text(encoding="utf-8")


def built(folder: Path, own: tuple[str, ...], options: Options | None = None) -> Path:
    request = resolve_request(album(folder / "masters", own), today=date(2026, 11, 1))
    package = build(request, folder / "out", options or Options()).package
    assert package
    assert verify(package).whole
    return package / "data"


def test_the_label_does_not_read_the_plants_remarks(tmp_path: Path) -> None:
    data = built(tmp_path, ("plant",))
    for name in SHEETS:
        common, own = text_of(data / name), text_of(data / "plant" / name)
        assert "tail_s" not in common
        assert "tail_s" in own
        assert "data/plant" in own
        assert "data/label" not in own
        assert not (data / "label" / name).exists()
        assert "its delivery sheet is in data/plant" in " ".join(common.split())


def test_every_recipient_may_have_its_own(tmp_path: Path) -> None:
    data = built(tmp_path, ("label", "plant"))
    assert "tail_s" not in text_of(data / "label" / SHEETS[0])
    assert "tail_s" in text_of(data / "plant" / SHEETS[0])
    common = text_of(data / SHEETS[0])
    assert "tail_s" not in common
    assert "One" in common


def test_without_the_key_there_is_one_sheet_and_nothing_about_other_files(tmp_path: Path) -> None:
    """A sound file that no track names is the studio's own business: no file of the package mentions it."""
    data = built(tmp_path, (), Options(sheet="summary"))
    assert not list(data.glob("*/delivery-sheet.*"))
    assert "tail_s" in text_of(data / SHEETS[0])
    assert len(PdfReader(data / SHEETS[0]).pages) == 2
    assert not [path for path in data.glob("*.*") if b"take 7" in path.read_bytes()]


def test_where_the_sheet_is_stored_is_explained_and_is_no_other_edition(tmp_path: Path) -> None:
    album(tmp_path / "one", ())
    album(tmp_path / "two", ("plant",))
    common, own = load_spec(tmp_path / "one" / "plant.yaml"), load_spec(tmp_path / "two" / "plant.yaml")
    assert own.own_sheet
    assert not common.own_sheet
    assert own.digest == common.digest
    assert "a delivery sheet of its own" in " ".join(explain(own))
    assert "a delivery sheet of its own" not in " ".join(explain(common))
