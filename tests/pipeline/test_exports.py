"""Label copy is included where a release or a spec asks for it, and is what the command writes."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from delivery.errors import Faulty
from delivery.intake import load_release
from delivery.intake.shipped_files import shipped_schema
from delivery.pipeline import Options, build, resolve_request
from delivery.pipeline.verify import verify
from delivery.report.registry import label_copy_forms, on_request
from delivery.tasks.label_copy import label_copy_of
from tests.albums import Song, write_album, write_spec


def asking(folder: Path, of_release: list[str], of_spec: list[str]) -> Path:
    folder.mkdir(exist_ok=True)
    write_spec(folder, "native", "{bits: {must: [24]}}", "{}")
    spec = folder / "native.yaml"
    spec.write_text(spec.read_text(encoding="utf-8") + f"papers: {of_spec}\n", encoding="utf-8")
    more: dict[str, Any] = {"papers": of_release} if of_release else {}
    return write_album(folder, [Song("One"), Song("=1+1", seed=2)], ["native"], **more)


def test_every_form_in_the_package_is_what_the_command_writes(tmp_path: Path) -> None:
    """The same bytes, at the top for the release and beside the files for a spec; and the package verifies."""
    album = asking(tmp_path / "masters", ["label_copy_csv", "label_copy_text"], sorted(on_request()))
    package = build(resolve_request(album), tmp_path / "out", Options()).package
    assert package
    for form, report in label_copy_forms().items():
        written = label_copy_of(album, form)
        assert (package / "data" / "native" / report.file_name).read_bytes() == written
        top = package / "data" / report.file_name
        assert (top.read_bytes() == written) if form in ("csv", "text") else not top.exists()
    assert verify(package).whole


def test_nothing_is_added_without_request(tmp_path: Path) -> None:
    package = build(resolve_request(asking(tmp_path / "masters", [], [])), tmp_path / "out", Options()).package
    assert package
    assert not list(package.rglob("label-copy*"))


def test_the_schemas_list_every_form() -> None:
    """Both lists are compared with the registry; the command's forms are the same ones."""
    requested = shipped_schema("release.schema.json")["properties"]["papers"]["items"]["enum"]
    assert requested == sorted(on_request())
    assert set(on_request()) <= set(shipped_schema("spec.schema.json")["properties"]["papers"]["items"]["enum"])
    assert {f"label_copy_{form}" for form in label_copy_forms()} == set(on_request())


def test_an_unknown_form_is_a_fault_of_the_release_file(tmp_path: Path) -> None:
    album = asking(tmp_path, [], [])
    data = YAML(typ="safe").load(album.read_text(encoding="utf-8"))
    with album.open("w", encoding="utf-8") as file:
        YAML().dump({**data, "papers": ["label_copy_pdf"]}, file)
    with pytest.raises(Faulty, match=r"papers 1: found 'label_copy_pdf', wanted .*label_copy_xlsx"):
        load_release(album)
