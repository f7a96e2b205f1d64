"""A package is read back into the ledger as the build recorded it."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from delivery import Options, Unusable, build, check, resolve_request
from delivery.ledger.cache import MeasurementCache
from delivery.ledger.deliveries import DeliveryLedger
from delivery.ledger.file_state import file_sha256
from delivery.pack import layout
from delivery.pipeline.deliveries import last_delivery, record
from delivery.pipeline.past_package import is_package, read_package
from delivery.report.view.changes import changes_lines
from delivery.tasks.earlier import earlier_deliveries
from delivery.tasks.stores import delivered_before
from tests.albums import Song, write_album, write_spec


@pytest.fixture(scope="module")
def package(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("album")
    write_spec(folder, "cd", "{bits: {must: [16]}, container: {must: [wav]}}", "{depth: lower, dither: tpdf}")
    write_spec(folder, "high", "{rate_hz: {must: [192000]}}", "{}")  # nothing may be resampled: refused
    songs = [Song("One", seconds=1.0), Song("Two", seconds=1.0, seed=2, extra={"version": "Radio Edit"})]
    path = write_album(folder, songs, ["cd", "high"], client="Ada Fenn", revision=3, dated="2026-11-20")
    built = build(resolve_request(path), folder / "out")
    assert built.package is not None
    return built.package


def test_what_the_ledger_keeps_is_what_the_package_holds(package: Path) -> None:
    found = read_package(package)
    assert found.fingerprint == " ".join(found.fingerprint.split())
    assert (found.client, found.revision, found.dated) == ("Ada Fenn", 3, "2026-11-20")
    assert [spec["id"] for spec in found.specs] == ["cd"]  # nothing was shipped for the other one
    assert [(one.position, one.title, one.version) for one in found.recordings] == [
        (1, "One", ""),
        (2, "Two", "Radio Edit"),
    ]
    assert [file.track for file in found.files] == [1, 2]
    for file in found.files:
        assert file.sha256 == file_sha256(layout.on_disk(package, file.path))
    assert found.recordings[0].audio_hash != found.files[0].audio_hash  # 24 bits became 16


def test_the_last_delivery_of_a_release_is_found_by_its_release_file(package: Path, tmp_path: Path) -> None:
    ledger = DeliveryLedger(tmp_path / "ledger.sqlite3")
    release = resolve_request(package.parent.parent / "release.yaml").release
    assert last_delivery(release, ledger) is None
    record(package, ledger)
    found = last_delivery(release, ledger)
    assert found is not None
    assert replace(found, id=0) == read_package(package)
    assert found.document == json.loads((package / layout.DATA_JSON).read_text(encoding="utf-8"))
    assert Path(found.path) == package
    corrected = last_delivery(replace(release, title="Another"), ledger)
    assert corrected is not None
    assert corrected.id == found.id
    assert last_delivery(replace(release, title="Another", tracks=release.tracks[:1]), ledger) is None  # its single


def test_a_corrected_title_is_compared_with_the_last_delivery_without_any_code(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Recognised by the sound of the masters, which were measured for the delivery before."""
    monkeypatch.setenv("DELIVERY_LEDGER", str(tmp_path / "ledger.sqlite3"))
    write_spec(tmp_path, "cd", "{container: {must: [wav]}}", "{}")
    songs = [Song(title, seconds=1.0, seed=seed, extra={"isrc": ""}) for seed, title in enumerate(("One", "Two"))]
    path = write_album(tmp_path, songs, ["cd"], catalogue_number="", upc="")
    with MeasurementCache(tmp_path / "ledger.sqlite3") as cache:
        built = build(resolve_request(path), tmp_path / "out", Options(cache=cache))
    assert built.package is not None
    record(built.package, DeliveryLedger(tmp_path / "ledger.sqlite3"))
    shutil.move(built.package, tmp_path / "away")
    text = path.read_text(encoding="utf-8").replace("title: Harbour Arithmetic", "title: Harbor Arithmetic")
    path.write_text(f"{text}revision: 2\n", encoding="utf-8")
    request = resolve_request(path)
    known = earlier_deliveries(request.release, request.studio)
    changes = check(request, Options(earlier=known)).changes
    assert changes is not None
    assert any("Harbor Arithmetic" in sentence for sentence in changes_lines(changes))


@pytest.mark.parametrize("spoilt", ["{", "[]", '{"release": 1}', "[" * 100_000, '{"release": {}, "parts": 1}'])
def test_a_data_document_that_cannot_be_used(package: Path, tmp_path: Path, spoilt: str) -> None:
    copy = tmp_path / "package"
    shutil.copytree(package, copy)
    (copy / layout.DATA_JSON).write_text(spoilt, encoding="utf-8")
    with pytest.raises(Unusable, match=r"package: found data that cannot be used"):
        read_package(copy)
    ledger = DeliveryLedger(tmp_path / "ledger.sqlite3")
    record(copy, ledger)
    assert "The delivery was not recorded." in ledger.remarks[0]


def test_a_package_that_cannot_be_read_back_is_one_remark(
    package: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It was built, and the build ends well: only the ledger does not have it."""
    monkeypatch.setenv("DELIVERY_LEDGER", str(tmp_path / "ledger.sqlite3"))
    copy = tmp_path / "package"
    shutil.copytree(package, copy)
    (copy / layout.DATA_JSON).write_text("{", encoding="utf-8")
    delivery = check(resolve_request(package.parent.parent / "release.yaml"))
    (remark,) = delivered_before(delivery, copy)
    assert remark.startswith("The delivery was not recorded.")


def test_a_folder_that_is_no_package(tmp_path: Path, package: Path) -> None:
    assert is_package(package)
    assert not is_package(tmp_path)
    with pytest.raises(Unusable, match=r"found no tagmanifest-sha256\.txt, wanted a package"):
        read_package(tmp_path)
