"""An audit of a catalogue: copies planted in real music, codes, bad files, interruption, tables."""

from __future__ import annotations

import csv
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from mutagen.flac import FLAC

from delivery.__main__ import run
from delivery.pipeline import audit_file
from delivery.tasks.audit import tables, take
from tests.albums import Song, write_album
from tests.music import PIECES, needs_music

SPEC = ["--spec", "store-master-24"]
SECONDS = 40


def excerpt(number: int) -> tuple[np.ndarray, int]:
    """A piece that has no copy among the others, below full scale."""
    with soundfile.SoundFile(PIECES[number]) as file:
        file.seek(10 * file.samplerate)
        x = file.read(SECONDS * file.samplerate, always_2d=True)
    return 0.5 * x / np.abs(x).max(), int(file.samplerate)


def flac(path: Path, x: np.ndarray, rate_hz: int, isrc: str = "", subtype: str = "PCM_24") -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    soundfile.write(path, x, rate_hz, subtype=subtype)
    if isrc:
        tagged = FLAC(path)
        tagged["ISRC"] = isrc
        tagged.save()


def audited(folder: Path, into: Path, capsys: pytest.CaptureFixture[str], *more: str) -> tuple[int, dict[str, Any]]:
    code = run(["audit", str(folder), *SPEC, "--into", str(into), "--json", *more])
    return code, json.loads(capsys.readouterr().out)


@pytest.fixture(scope="module")
def catalogue(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("catalogue")
    pieces = [excerpt(number) for number in range(5)]
    for number, (x, rate_hz) in enumerate(pieces):
        flac(root / f"album/{number}.flac", x, rate_hz, f"ZZOSL260000{number}")
    (a, rate), (b, _), (c, _), (d, _), _ = pieces
    flac(root / "copies/0 louder.flac", 1.9 * a, rate)
    flac(root / "copies/1 later.flac", np.vstack([np.zeros((2 * rate + 777, 2)), b]), rate, subtype="PCM_16")
    soundfile.write(root / "copies/2 lossy.ogg", c, rate)
    soundfile.write(root / "copies/2 mp3.mp3", c, rate)
    flac(root / "copies/3 same.flac", d, rate, "ZZOSL2600099")
    (root / "broken.wav").write_bytes(b"RIFF____WAVEjunk" * 9)
    return root


@needs_music
def test_planted_copies_are_found_and_nothing_else(
    catalogue: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, document = audited(catalogue, tmp_path / "out", capsys)
    assert code == 2, "a file cannot be read"
    groups = {tuple(copy["path"] for copy in group) for group in document["duplicates"]}
    assert groups == {
        ("album/0.flac", "copies/0 louder.flac"),
        ("album/1.flac", "copies/1 later.flac"),
        ("album/2.flac", "copies/2 lossy.ogg", "copies/2 mp3.mp3"),
        ("album/3.flac", "copies/3 same.flac"),
    }
    by_path = {copy["path"]: copy for group in document["duplicates"] for copy in group}
    assert by_path["copies/0 louder.flac"]["gain_db"] == pytest.approx(5.6, abs=0.1), "20 log10(1.9)"
    assert by_path["copies/1 later.flac"]["offset_s"] == pytest.approx(2 + 777 / 48_000, abs=0.05), (
        "half a step of 0.1 s"
    )
    assert by_path["copies/3 same.flac"]["exact"] is True
    assert [sorted(clash["isrcs"]) for clash in document["code_clashes"]] == [["ZZOSL2600003", "ZZOSL2600099"]]
    assert list(document)[-1] == "totals"
    assert document["totals"]["files"] == 11
    assert document["totals"]["unreadable"] == 1
    assert document["unreadable"][0]["path"] == "broken.wav"


@needs_music
def test_a_second_audit_measures_nothing_and_finds_the_same(
    catalogue: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    _, first = audited(catalogue, tmp_path / "one", capsys)

    def measured_again(path: str) -> None:
        assert path.endswith("broken.wav"), f"{path} was measured again"
        return audit_file.audited(path)

    monkeypatch.setattr(take, "audited", measured_again)
    _, second = audited(catalogue, tmp_path / "two", capsys)
    assert second == first
    for name in ("files", "findings", "duplicates", "codes"):
        for kind in ("csv", "parquet"):
            file = f"{name}.{kind}"
            assert (tmp_path / "one" / file).read_bytes() == (tmp_path / "two" / file).read_bytes()


@pytest.fixture
def small(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Three short files: one meets the spec, one has the wrong rate, one has a code of another recording."""
    monkeypatch.setenv("DELIVERY_LEDGER", str(tmp_path / "ledger.sqlite3"))
    chance = np.random.default_rng(1)
    for number, rate_hz in enumerate((48_000, 22_050, 48_000)):
        isrc = "ZZOSL2600001" if number != 1 else "=1+1"
        flac(tmp_path / f"in/{number}.flac", chance.normal(0, 0.05, (rate_hz * 2, 2)), rate_hz, isrc)
    return tmp_path / "in"


def test_tables_and_page(small: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, document = audited(small, tmp_path / "out", capsys)
    assert code == 1
    rules = {(one["rule"], one["not_met"]) for one in document["rules"] if one["must"]}
    assert ("rate_hz", 1) in rules
    assert [clash["paths"] for clash in document["code_clashes"]] == [["0.flac", "2.flac"]]
    with (tmp_path / "out/files.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["path"] for row in rows] == ["0.flac", "1.flac", "2.flac"]
    assert "rate_hz" in rows[1]["not_met"].split()
    assert [row["recording"] for row in rows] == ["1", "2", "3"]
    pyarrow = pytest.importorskip("pyarrow.parquet")
    table = pyarrow.read_table(tmp_path / "out/files.parquet").to_pylist()
    assert [row["path"] for row in table] == ["0.flac", "1.flac", "2.flac"]
    assert [row["rate_hz"] for row in table] == [48_000, 22_050, 48_000]
    page = (tmp_path / "out/overview.html").read_text(encoding="utf-8")
    assert "<code>rate_hz</code>" in page
    assert "ISRC ZZ-OSL-26-00001 is on 2 recordings: 0.flac; 2.flac" in page
    assert "<script" not in page
    assert not (tmp_path / "out/.work").exists()


def test_without_pyarrow_there_is_csv(
    small: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tables, "find_spec", lambda _name: None)
    monkeypatch.setattr("delivery.tasks.audit.run.has_parquet", lambda: False)
    _, document = audited(small, tmp_path / "out", capsys)
    assert document["tables"] == ["files.csv", "findings.csv", "duplicates.csv", "codes.csv"]
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == sorted([*document["tables"], "overview.html"])


def test_a_release_file_gives_label_copy_and_codes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    songs = [Song(title, seconds=0.6, seed=at, extra={"isrc": "ZZOSL2610001"}) for at, title in enumerate(("A", "B"))]
    write_album(tmp_path / "in/album", songs, ["store-master-24"])
    _, document = audited(tmp_path / "in", tmp_path / "out", capsys)
    assert document["totals"]["releases"] == 1
    assert [clash["isrcs"] for clash in document["code_clashes"]] == [["ZZOSL2610001"]]
    by_rule = {one["rule"]: one for one in document["rules"]}
    assert by_rule["isrc_unique"]["example"] == "album/release.yaml"
    (tmp_path / "in/album/release.yaml").write_text("titel: x\n", encoding="utf-8")
    code, document = audited(tmp_path / "in", tmp_path / "again", capsys)
    assert code == 2
    assert document["unreadable"][0]["path"] == "album/release.yaml"
    assert document["totals"]["files"] == 2, "its masters are audited by their sound"


def test_interrupted_it_writes_nothing_and_keeps_what_was_measured(
    small: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    measured: list[str] = []

    def audited_until(path: str) -> Any:
        if measured and monkeypatch_on:
            raise KeyboardInterrupt
        measured.append(Path(path).name)
        return audit_file.audited(path)

    monkeypatch_on = True
    monkeypatch.setattr(take, "audited", audited_until)
    assert run(["audit", str(small), *SPEC, "--into", str(tmp_path / "out"), "-w", "1"]) == 130
    assert "Stopped; nothing was written. What was measured is kept" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir() if "out" in path.name] == []
    monkeypatch_on = False
    assert run(["audit", str(small), *SPEC, "--into", str(tmp_path / "out"), "-w", "1"]) == 1
    assert measured == ["0.flac", "1.flac", "2.flac"], "none twice"


def test_an_error_of_the_program_stops_one_file_only(
    small: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def faulty(path: str) -> Any:
        if path.endswith("1.flac"):
            raise ZeroDivisionError("planted")
        return audit_file.audited(path)

    monkeypatch.setattr(take, "audited", faulty)
    code, document = audited(small, tmp_path / "out", capsys)
    assert code == 2
    assert "unforeseen error (ZeroDivisionError: planted)" in document["unreadable"][0]["problem"]
    assert document["totals"]["files"] == 3


def test_an_existing_folder_is_refused(small: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out/mine.txt").write_text("mine", encoding="utf-8")
    assert run(["audit", str(small), *SPEC, "--into", str(tmp_path / "out")]) == 2
    assert "out" in capsys.readouterr().err
    assert (tmp_path / "out/mine.txt").read_text(encoding="utf-8") == "mine"


def test_the_work_on_a_file_is_a_function_of_its_path_in_any_process(small: Path) -> None:
    """Pickled by name: what a worker on another machine needs."""
    code = (
        "import pickle, sys; work, path = pickle.load(sys.stdin.buffer); "
        "sys.stdout.buffer.write(pickle.dumps(work(path)))"
    )
    import pickle

    request = pickle.dumps((take.hashed_and_audited, str(small / "0.flac")))
    answer = subprocess.run([sys.executable, "-c", code], input=request, capture_output=True, check=True).stdout
    assert pickle.loads(answer) == take.hashed_and_audited(str(small / "0.flac"))
