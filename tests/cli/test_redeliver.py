"""delivery redeliver: a new recipient's files when only the archived package is left."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from delivery.__main__ import run
from delivery.meters import identify
from tests.albums import Song, hashes, write_album, write_spec

pytestmark = pytest.mark.usefixtures("own_home")


def archived(tmp_path: Path, specs: list[str]) -> Path:
    """A package whose masters are gone."""
    masters = tmp_path / "masters"
    songs = [Song("One", 48_000, extra={"version": "Edit", "gap_before_s": 1.5}), Song("Two", 48_000, seed=2)]
    release = write_album(masters, songs, specs, p_line="2026 Ostrelune Records")
    assert run(["build", str(release), "--into", str(tmp_path / "archive")]) == 0
    shutil.rmtree(masters)
    (package,) = (path for path in (tmp_path / "archive").iterdir() if path.is_dir())
    return package


def data_of(folder: Path) -> Any:
    (path,) = folder.glob("*/data/delivery-data.json")
    return json.loads(path.read_text(encoding="utf-8"))


def test_the_best_lossless_file_is_used_and_the_sheet_states_it(tmp_path: Path) -> None:
    """The 24-bit copy, though 16-bit files and MP3 are there: its audio hash is the master's."""
    package = archived(tmp_path, ["cd-rate-16", "listening-mp3-320", "store-master-24"])
    before = hashes(package)
    assert run(["redeliver", str(package), "--spec", "store-flac-24"]) == 0
    made = package.with_name(f"{package.name} for store-flac-24")
    (file,) = made.rglob("*One*.flac")
    old, new = json.loads((package / "data/delivery-data.json").read_text(encoding="utf-8")), data_of(made)
    assert identify(file).value("audio_hash") == old["sources"][0]["measured"]["figures"]["audio_hash"]
    (mail,) = made.glob("*/data/mail.txt")
    said = " ".join(mail.read_text(encoding="utf-8").split())
    assert f"Made from the archived package '{package.name}' (revision 1), not from the masters." in said
    assert "Tracks 1, 2, from store-master-24: samples identical to the masters (same audio hash)." in said
    same = ("title", "version", "isrc", "composers", "gap_before_s", "explicit", "number")
    assert [[each[key] for key in same] for each in new["sources"]] == [
        [each[key] for key in same] for each in old["sources"]
    ]
    assert new["release"]["p_line"] == "2026 Ostrelune Records"
    assert hashes(package) == before, "the archived package is only read"


def test_what_was_converted_is_not_called_the_master(tmp_path: Path) -> None:
    package = archived(tmp_path, ["cd-rate-16"])
    assert run(["redeliver", str(package), "--spec", "listening-mp3-320", "--into", str(tmp_path / "new")]) == 0
    said = data_of(tmp_path / "new")["release"]["notes"]
    assert said.endswith("Tracks 1, 2, from cd-rate-16: already converted: not the samples of the masters.")


def test_nothing_is_made_from_lossy_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    package = archived(tmp_path, ["listening-mp3-320"])
    assert run(["redeliver", str(package), "--spec", "cd-rate-16", "--into", str(tmp_path / "new")]) == 2
    assert "a lossless file of every track" in " ".join(capsys.readouterr().err.split())
    assert not (tmp_path / "new").exists()


def test_a_damaged_file_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The audio that would ship is no longer what was delivered."""
    package = archived(tmp_path, ["store-master-24"])
    (file,) = package.rglob("*One*.wav")
    content = bytearray(file.read_bytes())
    content[-999] ^= 1
    file.write_bytes(content)
    assert run(["redeliver", str(package), "--spec", "cd-rate-16", "--into", str(tmp_path / "new")]) == 2
    assert "other bytes than were delivered" in " ".join(capsys.readouterr().err.split())
    assert not (tmp_path / "new").exists()


def test_what_is_no_package_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write_spec(tmp_path, "native", "{bits: {must: [24]}}", "{}")
    assert run(["redeliver", str(tmp_path), "--spec", "cd-rate-16"]) == 2
    assert "a package of this program" in " ".join(capsys.readouterr().err.split())


def test_the_date_of_the_old_delivery_is_not_that_of_the_new_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Else it would count in a month that was invoiced long ago."""
    package = archived(tmp_path, ["cd-rate-16"])
    command = ["redeliver", str(package), "--spec", "store-flac-16"]
    assert run([*command, "--into", str(tmp_path / "new")]) == 0
    assert data_of(tmp_path / "new")["release"]["dated"] is None
    assert run([*command, "--into", str(tmp_path / "dated"), "--dated", "2027-01-15"]) == 0
    assert data_of(tmp_path / "dated")["release"]["dated"] == "2027-01-15"
    assert run([*command, "--into", str(tmp_path / "wrong"), "--dated", "15.1.2027"]) == 2
    assert "--dated: found '15.1.2027', wanted a day as year-month-day." in capsys.readouterr().err


def test_an_old_revision_is_pointed_out(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    package = archived(tmp_path, ["cd-rate-16"])
    write_album(
        tmp_path / "masters", [Song("One", 48_000, seed=5), Song("Two", 48_000, seed=2)], ["cd-rate-16"], revision=2
    )
    assert run(["build", str(tmp_path / "masters"), "--into", str(tmp_path / "archive")]) == 0
    capsys.readouterr()
    assert run(["redeliver", str(package), "--spec", "store-flac-16", "--all"]) == 0
    said = capsys.readouterr()
    assert "Revision 2 of this release is in the ledger; this is revision 1." in said.err
    assert "not from the masters. Tracks 1, 2, from cd-rate-16" in " ".join(said.out.split()), "in full, with --all"
