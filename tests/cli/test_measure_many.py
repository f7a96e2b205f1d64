"""Many files measured in one run: nothing but what will be printed is held, and it is the same as of one file."""

from __future__ import annotations

import csv
import io
import json
import sys
from array import array
from pathlib import Path
from typing import Any

import pytest
import soundfile

from delivery.__main__ import run
from delivery.model.release import Track
from delivery.pipeline.sound_files import bare_tracks
from delivery.pipeline.sources import lean, take_in
from delivery.tasks import measure as task
from tests.signals import noise


@pytest.fixture
def files(tmp_path: Path) -> list[Path]:
    made = [tmp_path / f"{number}.wav" for number in (1, 2, 3)]
    for number, file in enumerate(made):
        soundfile.write(file, noise(44_100, 2 + number, level_dbfs=-20 - number, seed=number), 44_100, "PCM_24")
    return made


def printed(capfd: pytest.CaptureFixture[str], *arguments: str | Path) -> str:
    assert run(["measure", "--no-cache", *map(str, arguments)]) == 0
    return capfd.readouterr().out


def test_json_of_several_files_holds_what_json_of_each_holds(
    files: list[Path], capfd: pytest.CaptureFixture[str]
) -> None:
    """Keys sorted and indented as everywhere, though each file is set as text by itself."""
    text = printed(capfd, "--json", *files)
    together: dict[str, Any] = json.loads(text)
    assert text == json.dumps(together, ensure_ascii=False, indent=2, sort_keys=True) + "\n"
    alone = [json.loads(printed(capfd, "--json", file))["files"][0] for file in files]
    assert together["files"] == alone
    assert len(alone[0]["measurement"]["gating_powers"]) > 10
    assert isinstance(alone[0]["measurement"]["first_samples"], list)


def test_the_table_for_spreadsheets_holds_the_same_figures(
    files: list[Path], capfd: pytest.CaptureFixture[str]
) -> None:
    rows = [list(csv.reader(io.StringIO(printed(capfd, "--csv", *some)))) for some in (files, files[:1])]
    assert rows[0][1 : len(rows[1])] == rows[1][1:]


def test_only_what_is_printed_is_held(files: list[Path], monkeypatch: pytest.MonkeyPatch) -> None:
    """2,000 songs would otherwise take a gigabyte: their long rows take 40 bytes a number."""
    held: list[int] = []

    def watched(*given: Any, **named: Any) -> Any:
        found = take_in(*given, **named)
        held.extend(sum(map(_size, source.measurement.values())) for source in found if source.measurement)
        return found

    monkeypatch.setattr(task, "take_in", watched)
    for arguments, most in (((), 2_000), (("--csv",), 60_000)):
        held.clear()
        assert run(["measure", "--no-cache", *arguments, *map(str, files)]) == 0
        assert len(held) == len(files)
        assert max(held) < most
    full = take_in(bare_tracks(tuple(files)), None, 1)
    assert min(sum(map(_size, source.measurement.values())) for source in full if source.measurement) > 100_000


def test_long_rows_are_packed_losslessly(files: list[Path]) -> None:
    (source,) = take_in(bare_tracks((files[0],)), None, 1)
    assert isinstance(source.track, Track)
    assert source.measurement
    found = lean(source.measurement, ("first_samples", "third_octave_db"))
    assert set(found) == {"first_samples", "third_octave_db"}
    assert isinstance(found.value("first_samples"), array)
    assert tuple(found.value("first_samples")) == source.measurement.value("first_samples")
    assert found["third_octave_db"] is source.measurement["third_octave_db"]


def _size(reading: Any) -> int:
    def of(value: Any) -> int:
        return sys.getsizeof(value) + (sum(map(of, value)) if isinstance(value, tuple) else 0)

    return of(reading.value)
