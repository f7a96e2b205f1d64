"""History, specs and received packages on the desk: as the commands have them, and only from opened folders."""

from __future__ import annotations

import shutil
import time
from datetime import date
from pathlib import Path

import pytest

from delivery import Options, build, resolve_request
from delivery.schema import difference, explain
from delivery.tasks.specs import find_spec, is_stale
from delivery.tasks.stores import deliveries_of
from tests.desk.conftest import Client

PATIENCE_S = 120.0


@pytest.fixture
def package(client: Client, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """A package of the album, recorded in a ledger of the test's own."""
    from delivery.pipeline.deliveries import record

    monkeypatch.setenv("DELIVERY_LEDGER", str(tmp_path / "ledger.sqlite3"))
    built = build(resolve_request(client.folder / "release.yaml"), client.folder, Options())
    assert built.package is not None
    record(built.package, deliveries_of())
    return built.package


def test_history_finds_a_delivery_and_by_the_path_of_a_delivered_file(client: Client, package: Path) -> None:
    assert "Low Water, Ada Fenn" in client.get("history").text
    assert "revision 1" in client.get("").text, "the last delivery on the start page"
    sound = next(package.rglob("*.wav"))
    page = client.get(f"history?query={sound}").text
    assert "is, byte for byte, a file of 1 delivery" in page
    assert "not found in the ledger" in client.get("history?query=Nowhere").text


def test_history_reads_no_file_outside_the_opened_folders(client: Client, package: Path, tmp_path: Path) -> None:
    outside = tmp_path / "outside.wav"
    outside.write_bytes(next(package.rglob("*.wav")).read_bytes())
    page = client.get(f"history?query={outside}").text
    assert "not in a folder that you opened" in page
    assert "byte for byte" not in page


def test_a_spec_is_explained_in_the_sentences_of_the_command(client: Client) -> None:
    from html import unescape

    page = unescape(client.get("specs/sync-48-24").text)
    assert [text for text in explain(find_spec("sync-48-24")) if text not in page] == []
    assert client.get("specs/..%2frelease.yaml").status_code == 404
    assert client.get("specs/release.yaml").status_code == 404
    page = unescape(client.get("specs?one=sync-48-24&other=cd-rate-16").text)
    sentences = difference(find_spec("sync-48-24"), find_spec("cd-rate-16"))
    assert sentences
    assert [text for text in sentences if text not in page] == []


def test_a_stale_spec_is_marked(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    from delivery.tasks import specs

    monkeypatch.setattr(specs, "is_stale", lambda spec, _today: is_stale(spec, date(2099, 1, 1)))
    remark = is_stale(find_spec("sync-48-24"), date(2099, 1, 1))
    assert remark
    for path in ("specs", "specs/sync-48-24"):
        assert "2099" in client.get(path).text or remark[:20] in client.get(path).text


def verified(client: Client, path: Path) -> str:
    assert client.post("received", {"path": str(path)}).status_code == 200
    until = time.monotonic() + PATIENCE_S
    while client.desk.received.ticket is not None and time.monotonic() < until:
        time.sleep(0.05)
    return client.get("received").text


def test_a_received_package_is_verified_and_a_changed_file_named(client: Client, package: Path, tmp_path: Path) -> None:
    elsewhere = tmp_path / "from elsewhere"
    shutil.copytree(package, elsewhere)
    assert "every checksum holds" in verified(client, elsewhere)
    page = next(elsewhere.rglob("*.html"))
    page.write_text("<script>alert(1)</script>", encoding="utf-8")
    (elsewhere / "<img src=x>.html").write_text("<script>alert(1)</script>", encoding="utf-8")
    text = verified(client, elsewhere)
    assert "Not as it was packed" in text
    assert page.name in text
    assert "<img src=x" not in text
    assert "alert(1)" not in text
    assert client.get(f"received/{page.name}").status_code == 404, "no file of it is served"


@pytest.mark.parametrize("path", ["", "relative", "/nowhere/at/all"])
def test_a_path_that_is_no_folder_is_refused(client: Client, path: str) -> None:
    assert client.post("received", {"path": path}).status_code == 400
    assert client.desk.received.ticket is None


def test_a_folder_that_is_no_package_is_reported(client: Client) -> None:
    assert "Not verified" in verified(client, client.folder)
