"""Many releases in one run: found in a tree, checked in a steady order, and none stops the others."""

from __future__ import annotations

import json
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from shutil import copytree
from threading import Barrier
from typing import Any

import pytest

from delivery import Options, check, resolve_request
from delivery.__main__ import run
from delivery.model.finding import Result
from delivery.model.release_state import ReleaseState
from delivery.pack.bag_check import check_bag
from delivery.pipeline import sources
from delivery.pipeline.engine import Here, Share
from delivery.report.text.releases import total_line
from delivery.tasks import several
from delivery.tasks.several import check_each, releases_of
from tests.albums import Song, write_album

SPECS = ["cd-rate-16"]


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three singles, one of them too quiet in its bits to be what the spec requires, and one broken release file."""
    root = tmp_path_factory.mktemp("shelf")
    for number, title in enumerate(("One", "Two", "Three")):
        song = Song(title, seconds=0.6, seed=number, extra={"isrc": f"ZZOSL26100{number:02}"})
        own = {"title": title, "catalogue_number": f"OSL-02{number}", "upc": ""}
        write_album(root / f"{number} {title}", [song], SPECS, **own)
    (root / "1b broken").mkdir()
    (root / "1b broken" / "release.yaml").write_text("titel: Broken\n", encoding="utf-8")
    return root


def test_release_files_are_found_below_a_folder(shelf: Path, tmp_path: Path) -> None:
    found = releases_of([shelf])
    assert [path.parent.name for path in found] == ["0 One", "1 Two", "1b broken", "2 Three"]
    assert releases_of([found[1], shelf]) == (found[1], found[0], found[2], found[3]), "each once, in the order named"
    assert releases_of([tmp_path]) == (tmp_path,), "a folder without release files is judged as it is"


@pytest.mark.parametrize("inside", ["bagit.txt", ".hidden/release.yaml"])
def test_packages_and_hidden_folders_are_not_entered(tmp_path: Path, inside: str) -> None:
    for name in ("release.yaml", inside):
        file = tmp_path / "folder" / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text("", encoding="utf-8")
    expected = [] if inside == "bagit.txt" else [tmp_path / "folder" / "release.yaml"]
    assert [path for path in releases_of([tmp_path]) if path != tmp_path] == expected


@pytest.mark.parametrize("workers", [1, 3])
def test_each_release_as_if_alone_in_the_order_given(shelf: Path, workers: int) -> None:
    releases = releases_of([shelf])
    states = list(check_each(releases, options=Options(workers=workers)))
    assert [state.path for state in states] == list(releases)
    for state in states:
        if state.path.parent.name == "1b broken":
            assert state.result is Result.UNUSABLE
            assert "titel" in state.problem
        else:
            assert state.result is check(resolve_request(state.path)).result
            assert state.seconds == pytest.approx(0.8, abs=0.001), "with its head and tail"
            assert state.parts == 1


def test_songs_of_the_last_release_are_measured_side_by_side(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One by one, they would leave all cores but one idle."""
    songs = [Song(f"Song {number}", seconds=0.6, seed=number) for number in (1, 2)]
    write_album(tmp_path / "album", songs, SPECS)
    (tmp_path / "broken").mkdir()
    (tmp_path / "broken" / "release.yaml").write_text("titel: Broken\n", encoding="utf-8")
    both, measured_here = Barrier(2, timeout=60), sources._measured_here

    def at_once(*arguments: Any) -> Any:
        both.wait()
        return measured_here(*arguments)

    monkeypatch.setattr(sources, "_measured_here", at_once)
    album, _ = check_each(releases_of([tmp_path]), options=Options(workers=2))
    assert album.result is not Result.UNUSABLE, album.problem
    assert not both.broken


@pytest.mark.parametrize("width", [1, 2])
def test_releases_together_do_no_more_at_a_time_than_one_would(width: int) -> None:
    here, at_work, most = Here(width), [0], [0]
    shares = [Share(here, width) for _ in range(3)]

    def work(_: int) -> None:
        at_work[0] += 1
        most[0] = max(most[0], at_work[0])
        time.sleep(0.01)
        at_work[0] -= 1

    with ThreadPoolExecutor(6) as pool:
        list(pool.map(lambda number: shares[number % 3].run(work, number), range(12)))
    assert 1 <= most[0] <= width


def test_an_error_of_the_program_stops_one_release_only(shelf: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object, **__: object) -> None:
        raise ZeroDivisionError("planted")

    monkeypatch.setattr(several, "check", fails)
    states = list(check_each(releases_of([shelf])))
    assert [state.result for state in states] == [Result.UNUSABLE] * 4
    assert "ZeroDivisionError: planted" in states[0].problem


def test_one_document_with_totals(shelf: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", str(shelf), "--json", "--no-cache"]) == 2
    document = json.loads(capsys.readouterr().out)
    assert [Path(each["path"]).parent.name for each in document["releases"]] == [
        "0 One",
        "1 Two",
        "1b broken",
        "2 Three",
    ]
    totals = document["totals"]
    assert (totals["releases"], totals["unusable"], totals["parts"]) == (4, 1, 3)
    assert totals["duration_s"] == pytest.approx(2.4, abs=0.01)


def test_a_line_for_each_and_what_keeps_it_from_being_ready(
    shelf: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(shelf)
    assert run(["check", "0 One", "1b broken", "--no-cache"]) == 2
    lines = capsys.readouterr().out.splitlines()
    assert any(line.startswith("Merrow & the Glass Tide: One") for line in lines)
    assert any("1b broken/release.yaml" in line for line in lines)
    assert any(line.startswith("2 releases: ") for line in lines)


@pytest.mark.parametrize("option", [["--track", "1"], ["--rule", "bits"]])
def test_views_of_one_release_need_one_release(
    shelf: Path, option: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["check", str(shelf), *option]) == 2
    assert "found several releases, wanted one release" in capsys.readouterr().err


def test_interrupted_it_prints_what_is_there_and_begins_no_other(
    shelf: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    begun: list[Path] = []

    def state_of(path: Path, *_: object) -> ReleaseState:
        begun.append(path)
        if len(begun) == 2:
            raise KeyboardInterrupt
        return ReleaseState(path, path.parent.name, Result.READY)

    monkeypatch.setattr(several, "state_of", state_of)
    monkeypatch.setattr("delivery.pipeline.engine.AHEAD", 1)
    assert run(["check", str(shelf), "--no-cache", "--workers", "1"]) == 130
    out, err = capsys.readouterr()
    assert "1 release: 1 ready" in out
    assert "Stopped after 1 of 4 releases. The next run continues from here." in err
    assert len(begun) <= 3


def test_packages_are_built_and_not_built_again(
    shelf: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The second run finds the packages of the first, as after an interruption."""
    command = ["build", str(shelf), "--into", str(tmp_path), "--json", "--no-cache"]
    assert run(command) == 2, "one release file is broken"
    first = json.loads(capsys.readouterr().out)["releases"]
    assert [bool(each["package"]) for each in first] == [True, True, False, True]
    assert all(check_bag(Path(each["package"])) == () for each in first if each["package"])
    assert run(command) == 2
    second = json.loads(capsys.readouterr().out)["releases"]
    assert [each["unchanged"] for each in second] == [True, True, False, True]
    assert [each["package"] for each in second] == [each["package"] for each in first]


def copied(shelf: Path, into: Path, changes: dict[str, str] | None = None) -> Path:
    """The first single of the shelf in a folder of its own, with *changes* in its release file."""
    copytree(shelf / "0 One", into)
    file = into / "release.yaml"
    text = file.read_text(encoding="utf-8")
    for found, wanted in (changes or {}).items():
        assert found in text
        text = text.replace(found, wanted)
    file.write_text(text, encoding="utf-8")
    return into


def test_a_package_never_replaces_that_of_another_release_of_the_run(
    shelf: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """With --replace as well: else the first of two releases of one name would be lost without a word."""
    for name in ("a", "b"):
        copied(shelf, tmp_path / "in" / name)
    command = ["build", str(tmp_path / "in"), "--into", str(tmp_path / "out"), "--replace", "--json", "--no-cache"]
    for _ in range(2):
        assert run(command) == 2
        first, second = json.loads(capsys.readouterr().out)["releases"]
        assert first["package"]
        assert not second["package"]
        assert f"the same name for the package of {tmp_path / 'in' / 'a' / 'release.yaml'}" in second["problem"]


def test_codes_are_compared_with_earlier_deliveries(
    shelf: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One recording under two ISRCs is reported when several releases are built or checked, as for one alone."""
    copied(shelf, tmp_path / "in" / "a")
    changes = {"ZZOSL2610000": "ZZOSL2610099", "OSL-020": "OSL-099", "title: One": "title: Other"}
    copied(shelf, tmp_path / "in" / "b", changes)
    sentence = "the same recording was delivered as ZZOSL2610000"
    assert run(["build", str(tmp_path / "in"), "--into", str(tmp_path / "out"), "--workers", "1"]) == 0
    assert f"Other: ZZOSL2610099, track 1 'Other': {sentence}" in capsys.readouterr().err
    assert run(["check", str(tmp_path / "in"), "--json"]) == 0
    notes = [release["notes"] for release in json.loads(capsys.readouterr().out)["releases"]]
    assert sentence in notes[1][0]


def test_options_of_a_single_need_a_single(shelf: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["build", str(shelf), "--isrc", "ZZOSL2600001"]) == 2
    assert "--isrc: found several releases, wanted one release" in capsys.readouterr().err


def test_the_total_in_words() -> None:
    states = [
        ReleaseState(Path("a"), "A", Result.READY, parts=3, seconds=3600),
        ReleaseState(Path("b"), "B", Result.NOT_READY, parts=1, seconds=1230),
    ]
    assert total_line(states) == "2 releases: 1 ready, 1 not ready; 4 files planned from 1 h 20 min of music."
    assert total_line([]) == "0 releases: none; 0 files planned from 0 s of music."
