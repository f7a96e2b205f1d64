"""The sheet checks the package it is in, in a real browser: damage, missing and extra files, and the seal."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from delivery.pack import layout
from delivery.pack.seal import private_key, signers_in
from delivery.pipeline import Options, build, resolve_request
from tests.albums import Song, write_album, write_spec
from tests.judges import needs
from tests.report import browser as chromium
from tests.report import firefox

pytestmark = [chromium.needs_browser(), needs("ssh-keygen")]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory, key: Path) -> tuple[Path, str]:
    folder = tmp_path_factory.mktemp("album")
    write_spec(folder, "native", "{bits: {must: [24]}}", "{}")
    album = write_album(folder, [Song("Café 100 %"), Song("Two", seed=2)], ["native"])
    built = build(resolve_request(album), folder / "out", Options(sign=private_key(key)))
    assert built.package
    return built.package, built.fingerprint


@pytest.fixture
def package(made: tuple[Path, str], tmp_path: Path) -> Path:
    return Path(shutil.copytree(made[0], tmp_path / made[0].name))


def checked(browser: Any, package: Path, key: str = "") -> tuple[str, list[str]]:
    """What the sheet of the package reports about the package: its last line, and the list."""
    watched = chromium.Watched(browser.new_page())
    watched.page.goto((package / layout.SHEET_HTML).as_uri())
    watched.page.locator("#package textarea").fill(key)
    watched.page.locator("#package input[type=file]").set_input_files(package)
    status = watched.page.locator("#package [role=status]")
    status.filter(has_text=re.compile("Fingerprint|Nothing could")).wait_for()
    text, notes = status.text_content(), watched.page.locator("#package li").all_text_contents()
    assert watched.errors == []
    assert [url for url in watched.requests if not url.startswith(("file:", "data:"))] == []
    watched.page.close()
    return text, notes


def test_a_package_as_built_is_whole_with_the_fingerprint_that_build_printed(
    browser: Any, package: Path, made: tuple[Path, str], key: Path
) -> None:
    """The seal is by OpenSSH's format; here the browser's own Ed25519 verifies it."""
    text, notes = checked(browser, package)
    assert text.startswith("Whole: ")
    assert text.endswith(f"Fingerprint {made[1]}.")
    (signer,) = signers_in(key.with_suffix(".pub"))
    (note,) = notes
    assert note.startswith(f"Sealed by {signer.fingerprint}. Is that the sender's key?")
    text, notes = checked(browser, package, key.with_suffix(".pub").read_text())
    assert text.startswith("Whole: ")
    assert notes == [f"Sealed by the key you gave: {signer.fingerprint}."]


def spoil(package: Path, path: str) -> None:
    file = package / path
    content = bytearray(file.read_bytes())
    content[-1] ^= 1
    file.write_bytes(content)


DAMAGE: dict[str, tuple[Callable[[Path], object], str]] = {
    "a changed song": (lambda p: spoil(p, "data/native/02 Two.wav"), "changed: data/native/02 Two.wav"),
    "a missing paper": (lambda p: (p / layout.MAIL_TEXT).unlink(), "missing: data/mail.txt"),
    "an extra file": (lambda p: (p / "data/native/03.wav").write_bytes(b"x"), "extra: data/native/03.wav"),
    "a changed list": (lambda p: spoil(p, "manifest-sha256.txt"), "changed: manifest-sha256.txt"),
}


@pytest.mark.thorough(2)
@pytest.mark.parametrize("name", DAMAGE)
def test_each_damage_is_named(browser: Any, package: Path, name: str) -> None:
    damage, named = DAMAGE[name]
    damage(package)
    text, notes = checked(browser, package)
    assert not text.startswith("Whole")
    assert named in notes or "a line that is none" in text


def test_a_rewritten_package_breaks_the_seal(browser: Any, package: Path) -> None:
    """One blank more in the tag manifest: every checksum still agrees, the seal does not."""
    manifest = package / layout.tag_manifest("sha256")
    manifest.write_text(manifest.read_text(encoding="utf-8").replace("  ", "   "), encoding="utf-8")
    text, notes = checked(browser, package)
    assert text.startswith("Not as it was packed")
    assert any("seal does not hold" in note for note in notes)


def test_without_a_seal_the_limits_of_the_check_are_stated(browser: Any, package: Path, key: Path) -> None:
    (package / layout.SEAL).unlink()
    text, notes = checked(browser, package)
    assert text.startswith("Whole")
    assert notes == ["No seal: changes on purpose cannot be told from this."]
    text, notes = checked(browser, package, key.with_suffix(".pub").read_text())
    assert text.startswith("Not as it was packed")
    assert notes == ["No seal, where one was expected."]


def test_another_key_is_not_the_sender(browser: Any, package: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", str(other)], check=True)
    text, notes = checked(browser, package, other.with_suffix(".pub").read_text())
    assert text.startswith("Not as it was packed")
    assert any(note.startswith("Sealed by another key: SHA256:") for note in notes)


def test_a_folder_that_is_no_package_is_reported(browser: Any, package: Path, tmp_path: Path) -> None:
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    (folder / "a.txt").write_text("x")
    watched = chromium.Watched(browser.new_page())
    watched.page.goto((package / layout.SHEET_HTML).as_uri())
    watched.page.locator("#package input[type=file]").set_input_files(folder)
    status = watched.page.locator("#package [role=status]")
    status.filter(has_text="Nothing could").wait_for()
    assert "choose the folder of the package" in status.text_content()
    watched.page.close()


@pytest.mark.thorough
@firefox.needs_firefox()
def test_firefox_gives_the_same_result(package: Path, made: tuple[Path, str], key: Path) -> None:
    """One start of the browser for all: as built, one byte changed, and all lists rewritten."""
    (signer,) = signers_in(key.with_suffix(".pub"))
    sheet = made[0] / layout.SHEET_HTML
    with firefox.browser() as session:
        text, notes = firefox.checked(session, sheet, package, key.with_suffix(".pub").read_text())
        assert text.startswith("Whole: ")
        assert text.endswith(f"Fingerprint {made[1]}.")
        assert notes == [f"Sealed by the key you gave: {signer.fingerprint}."]
        spoil(package, "data/native/02 Two.wav")
        text, notes = firefox.checked(session, sheet, package)
        assert text.startswith("Not as it was packed")
        assert "changed: data/native/02 Two.wav" in notes
        spoil(package, "data/native/02 Two.wav")
        manifest = package / layout.tag_manifest("sha256")
        manifest.write_text(manifest.read_text(encoding="utf-8").replace("  ", "   "), encoding="utf-8")
        text, notes = firefox.checked(session, sheet, package)
        assert text.startswith("Not as it was packed")
        assert any("seal does not hold" in note for note in notes)
