"""`history`, `handover` and `open` as a person uses them, with real packages."""

from __future__ import annotations

import json
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
import soundfile

from delivery.__main__ import run
from delivery.ledger.migrations import LATEST
from delivery.ledger.store import connect
from tests.albums import Song, write_album, write_spec
from tests.homes import live_in

CODE = "ZZ-OSL-26-00001"


def told(capsys: pytest.CaptureFixture[str], *words: str | Path, code: int = 0) -> str:
    capsys.readouterr()
    assert run([str(word) for word in words]) == code
    return capsys.readouterr().out


def found(capsys: pytest.CaptureFixture[str], *words: str | Path, code: int = 0) -> dict[str, object]:
    document: dict[str, object] = json.loads(told(capsys, "history", "--json", *words, code=code))
    return document


@pytest.fixture
def package(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    live_in(tmp_path / "home", monkeypatch)
    folder = tmp_path / "album"
    folder.mkdir()
    write_spec(folder, "cd", "{bits: {must: [16]}, container: {must: [wav]}}", "{depth: lower, dither: tpdf}")
    songs = [Song("Low Water", seconds=1.0), Song("Salt Road", seconds=1.0, seed=2)]
    path = write_album(folder, songs, ["cd"], client="Ada Fenn", dated="2026-11-20")
    assert run(["build", str(path), "--into", str(tmp_path / "out")]) == 0
    (built,) = (each for each in (tmp_path / "out").iterdir() if each.is_dir())
    return built


def test_found_by_isrc_title_client_and_catalogue_number(package: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for query in (CODE, "zzosl2600001", "salt road", "Fenn Ada", "OSL-014"):
        document = found(capsys, query)
        (delivery,) = document["deliveries"]  # type: ignore[misc, attr-defined]
        assert delivery["package"] == package.name
        assert Path(delivery["path"]) == package
        assert [one["title"] for one in delivery["recordings"]] == ["Low Water", "Salt Road"]
    assert "OSL-014 Harbour Arithmetic, Merrow & the Glass Tide, revision 1, dated 2026-11-20" in told(
        capsys, "history", CODE
    )
    assert "nowhere: not found in the ledger." in told(capsys, "history", "nowhere", code=1)


def test_a_file_is_recognised_by_its_bytes_and_by_its_sound(
    package: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Renamed; with other tags in another lossless container; and the master itself."""
    (delivered,) = package.glob("data/cd/*Salt Road*.wav")
    renamed, flac = tmp_path / "final FINAL.wav", tmp_path / "unknown.flac"
    shutil.copy(delivered, renamed)
    samples, rate_hz = soundfile.read(delivered, dtype="int16", always_2d=True)
    soundfile.write(flac, samples, rate_hz, subtype="PCM_16")
    (master,) = (tmp_path / "album").glob("*Salt Road*.wav")
    for file, how in ((renamed, "bytes"), (flac, "sound"), (master, "master")):
        document = found(capsys, file)
        assert document["found_by"] == how
        (delivery,) = document["deliveries"]  # type: ignore[misc, attr-defined]
        inside = delivered.relative_to(package).as_posix()
        assert delivery["matched"] == ([] if how == "master" else [inside])
    samples[1000, 0] += 1
    soundfile.write(flac, samples, rate_hz, subtype="PCM_16")
    assert found(capsys, flac, code=1)["total"] == 0
    assert found(capsys, package)["found_by"] == "package"
    assert run(["history", str(tmp_path / "missing.wav")]) == 2
    assert "no such file" in capsys.readouterr().err


def test_a_lost_ledger_is_rebuilt_from_packages(
    package: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = found(capsys, CODE)
    (tmp_path / "home" / "delivery" / "ledger.sqlite3").unlink()
    assert found(capsys, CODE, code=1)["total"] == 0
    copy = tmp_path / "out" / "elsewhere" / package.name
    shutil.copytree(package, copy)
    (copy / "data" / "delivery-data.json").write_text("{", encoding="utf-8")
    assert run(["history", "--rebuild", str(tmp_path / "out")]) == 1
    said = capsys.readouterr()
    assert "1 new, 0 known" in said.out
    assert "found data that cannot be used" in said.err
    assert found(capsys, CODE) == before
    (copy / "data" / "delivery-data.json").unlink()
    assert run(["history", "--rebuild", str(tmp_path / "out")]) == 1
    assert "found no data/delivery-data.json" in capsys.readouterr().err, "not passed by as if it were no package"
    shutil.rmtree(copy)
    assert "0 new, 1 known" in told(capsys, "history", "--rebuild", tmp_path / "out", package)
    assert found(capsys, CODE) == before
    assert run(["history", "--rebuild"]) == 2
    assert run(["history", "--rebuild", str(tmp_path / "none")]) == 2


def test_a_rebuilt_ledger_reports_that_hand_overs_are_lost(
    package: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """They are noted in the ledger alone; a ledger that has them still is not accused of the loss."""
    lost = "Hand-overs and answers are kept in the ledger alone"
    told(capsys, "handover", package, "--to", "Ada Fenn", "--by", "T. Wrenfield", "--date", "2026-11-21")
    assert run(["history", "--rebuild", str(tmp_path / "out")]) == 0
    assert lost not in capsys.readouterr().err
    assert "handed over  2026-11-21 to Ada Fenn" in told(capsys, "history", CODE)
    (tmp_path / "home" / "delivery" / "ledger.sqlite3").unlink()
    assert run(["history", "--rebuild", str(tmp_path / "out")]) == 0
    assert lost in capsys.readouterr().err
    assert "handed over" not in told(capsys, "history", CODE)
    assert json.loads(told(capsys, "open", "--json")) == {"open": []}


def test_from_hand_over_to_approval(package: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "Nothing that is out" in told(capsys, "open")
    words = ("handover", package, "--to", "Ada Fenn", "--by", "T. Wrenfield", "--date", "2026-11-21")
    assert "handed over 2026-11-21 to Ada Fenn by T. Wrenfield" in told(capsys, *words)
    assert "not approved, no answer" in " ".join(told(capsys, "open").split())
    (waiting,) = json.loads(told(capsys, "open", "--json"))["open"]
    assert (waiting["to"], waiting["approved"], waiting["answered"]) == ("Ada Fenn", False, False)
    told(capsys, "handover", package, "--answer", "more bass", "--date", "2026-11-22")
    (waiting,) = json.loads(told(capsys, "open", "--json"))["open"]
    assert (waiting["answer"], waiting["answer_date"]) == ("more bass", "2026-11-22")
    told(capsys, "approve", tmp_path / "album", "--by", "Ada Fenn", "--date", "2026-11-24")
    assert json.loads(told(capsys, "open", "--json")) == {"open": []}
    assert "answered 2026-11-22: more bass" in told(capsys, "history", CODE)


@pytest.mark.thorough(2)
@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--to", "Plant"], "--by: found no name"),
        (["--by", "M"], "--to: found no name"),
        (["--to", "Plant", "--by", "M", "--date", "21.11.2026"], "--date: found '21.11.2026'"),
        (["--answer", "fine"], "found no hand-over noted"),
    ],
)
def test_a_note_that_lacks_something(
    package: Path, capsys: pytest.CaptureFixture[str], words: list[str], message: str
) -> None:
    assert run(["handover", str(package), *words]) == 2
    assert message in capsys.readouterr().err
    assert json.loads(told(capsys, "open", "--json")) == {"open": []}


def test_a_hand_over_of_a_package_from_elsewhere(
    package: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Built on another machine: it is read into the ledger first. A folder that is no package is refused."""
    (tmp_path / "home" / "delivery" / "ledger.sqlite3").unlink()
    told(capsys, "handover", package, "--to", "Plant", "--by", "M", "--date", "2026-11-21")
    assert found(capsys, CODE)["total"] == 1
    assert run(["handover", str(tmp_path), "--to", "Plant", "--by", "M"]) == 2


def test_nothing_in_a_package_depends_on_the_ledger(package: Path, tmp_path: Path) -> None:
    """Same in, same out: built again with a full ledger, the same bytes."""
    before = {file.name: file.read_bytes() for file in package.rglob("*") if file.is_file()}
    assert run(["handover", str(package), "--to", "Plant", "--by", "M", "--date", "2026-11-21"]) == 0
    assert run(["build", str(tmp_path / "album"), "--into", str(tmp_path / "out"), "--replace"]) == 0
    assert {file.name: file.read_bytes() for file in package.rglob("*") if file.is_file()} == before


def test_the_studio_file_sets_the_ledgers_path(
    package: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """On the drive that the work lies on; the environment goes before it."""
    (tmp_path / "drive").mkdir()
    (tmp_path / "album" / "studio.yaml").write_text("ledger: ../drive/mine.sqlite3\n", encoding="utf-8")
    assert run(["build", str(tmp_path / "album"), "--into", str(tmp_path / "second")]) == 0
    assert (tmp_path / "drive" / "mine.sqlite3").is_file()
    monkeypatch.chdir(tmp_path / "album")
    assert [Path(each["path"]).parent.name for each in found(capsys, CODE)["deliveries"]] == ["second"]  # type: ignore[attr-defined]
    monkeypatch.setenv("DELIVERY_LEDGER", str(tmp_path / "home" / "delivery"))
    assert [Path(each["path"]).parent for each in found(capsys, CODE)["deliveries"]] == [package.parent]  # type: ignore[attr-defined]


@pytest.mark.parametrize("words", [("history", "OSL-014"), ("open",)])
def test_a_ledger_that_cannot_be_read_is_not_reported_as_empty(
    words: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """One of a newer version, as after going back to an earlier one: the remark alone, and exit code 2."""
    ledger = tmp_path / "ledger.sqlite3"
    monkeypatch.setenv("DELIVERY_LEDGER", str(ledger))
    connect(ledger).close()
    with closing(sqlite3.connect(ledger)) as store:
        store.execute(f"PRAGMA user_version = {LATEST + 1}")
    assert run(list(words)) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "newer version of this program" in said.err
