"""From a folder to a package: values from file names are confirmed before anything is built."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from delivery.__main__ import run
from tests.albums import Song, write_song

pytestmark = pytest.mark.usefixtures("own_home")


@pytest.fixture
def started(tmp_path: Path) -> Path:
    """A release that lacks only the confirmation of values from file names."""
    folder = tmp_path / "masters"
    folder.mkdir()
    for number, title in enumerate(("Low Water", "Lamps"), start=1):
        write_song(folder, number, Song(title, rate_hz=44_100, seconds=0.5, seed=number))
    assert run(["start", str(folder), "--spec", "cd-rate-16"]) == 0
    path = folder / "release.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("artist:  #", 'artist: "Merrow"  #'), encoding="utf-8")
    return path


def test_a_build_is_refused_with_the_list_and_the_way_to_confirm(
    started: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The command printed is the one to type in the present folder."""
    monkeypatch.chdir(started.parent.parent)
    capsys.readouterr()
    assert run(["build", str(started)]) == 1
    reported = capsys.readouterr().err
    assert "release.yaml: found 4 values from folder and file names, wanted each confirmed." in reported
    assert "title:2      'Lamps'" in reported
    assert f"delivery confirm {Path(started.parent.name) / started.name} --all" in reported
    assert sorted(path.suffix for path in started.parent.iterdir()) == [".wav", ".wav", ".yaml"]
    assert run(["confirm", str(started), "--all"]) == 0
    run(["build", str(started)])
    assert " from folder and file names" not in "".join(capsys.readouterr())


def test_check_reports_it_once_for_all_specs(started: Path, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert run(["check", str(started), "-s", "cd-rate-16", "-s", "store-master-24", "--json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert [(one["key"], one["track"]) for one in data["to_confirm"]] == [
        ("title", None), ("tracks", None), ("title", 1), ("title", 2),
    ]  # fmt: skip
    assert run(["check", str(started), "-s", "cd-rate-16", "-s", "store-master-24"]) == 1
    printed = capsys.readouterr().out
    assert printed.count(" from folder and file names") == 1
    assert "confirm values:" in printed
    assert "waive a must:" not in printed


def test_some_and_then_the_rest(started: Path, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert run(["confirm", str(started.parent)]) == 1
    assert "title:1      'Low Water'" in capsys.readouterr().out
    assert run(["confirm", str(started), "title:all", "tracks"]) == 1
    assert "Confirmed: tracks, title:1, title:2." in capsys.readouterr().out
    assert run(["confirm", str(started), "title:3"]) == 2
    assert "found nothing to confirm as 'title:3', wanted one of: title." in capsys.readouterr().err
    assert run(["confirm", str(started), "title", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["to_confirm"] == []
    assert run(["confirm", str(started)]) == 0
    assert "to_confirm" not in started.read_text(encoding="utf-8")
