"""A mono master for recipients that count mono as one loudspeaker, and as two: plan, verdict, sheet agree."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile as sf

from delivery.__main__ import run
from tests.albums import write_spec

pytestmark = pytest.mark.usefixtures("own_home")
RATE_HZ = 48_000
WINDOW = "{integrated_lufs: {must: {at_least: -20.1, at_most: -19.9, target: -20}}}"
RELEASE = """\
title: Harbour Arithmetic
artist: Merrow & the Glass Tide
deliver_to: [two, one]
tracks:
  - {{file: {file}, title: Low Water}}
"""


def written(folder: Path, level_dbfs: float, channels: int = 1, convert: str = "{}") -> Path:
    """20 s of 997 Hz at a peak level; ITU-R BS.1770-5, Annex 1: in one channel it reads 3.01 LU under that."""
    folder.mkdir()
    tone = 10 ** (level_dbfs / 20) * np.sin(2 * np.pi * 997 * np.arange(20 * RATE_HZ) / RATE_HZ)
    sf.write(folder / "Low Water.wav", np.stack([tone] * channels, axis=1), RATE_HZ, subtype="PCM_24")
    for name in ("two", "one"):
        with write_spec(folder, name, WINDOW, convert).open("a", encoding="utf-8") as file:
            file.write("dual_mono: true\n" if name == "two" else "")
    path = folder / "release.yaml"
    path.write_text(RELEASE.format(file="Low Water.wav"), encoding="utf-8", newline="\n")
    return path


def checked(path: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    run(["check", str(path), "--json"])
    document = json.loads(capsys.readouterr().out)
    return {
        part["spec"]: next(f for f in part["findings"] if f["rule"] == "integrated_lufs") for part in document["parts"]
    }


def test_the_verdict(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """-20 dBFS in one channel: -23.0 by itself, -20.0 from two loudspeakers."""
    path = written(tmp_path / "m", -20.0)
    found = checked(path, capsys)
    assert (found["two"]["answer"], found["two"]["found"]) == ("met", "-20.00 LUFS")
    assert found["one"]["answer"] == "not met"
    assert found["one"]["found"].startswith("-23.0")
    assert run(["check", str(path), "--spec", "two"]) == 0
    assert run(["check", str(path), "--spec", "one"]) == 1


def test_two_channels_are_counted_as_they_are(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = checked(written(tmp_path / "m", -20.0, channels=2), capsys)
    assert [found[spec]["found"] for spec in ("two", "one")] == ["-20.00 LUFS"] * 2


@pytest.mark.parametrize("scope", ["track", "album"])
def test_gain_lands_where_the_spec_counts(scope: str, tmp_path: Path) -> None:
    """From -30 dBFS: 10.0 dB where two loudspeakers are counted, 13.0 where one is; printed as counted."""
    path = written(tmp_path / "m", -30.0, convert=f"{{gain: to_target, gain_scope: {scope}, depth: lower}}")
    assert run(["build", str(path), "--into", str(tmp_path / "out")]) == 0
    (package,) = (path for path in (tmp_path / "out").iterdir() if path.is_dir())
    document = json.loads((package / "data" / "delivery-data.json").read_text(encoding="utf-8"))
    gains = {
        part["spec"]: next(s["settings"]["gain_db"] for s in part["chain"]["steps"] if s["touch"] == "gain")
        for part in document["parts"]
    }
    assert gains == pytest.approx({"two": 10.0, "one": 13.01}, abs=0.03)
    rows = list(csv.DictReader((package / "data" / "parts.csv").read_text(encoding="utf-8-sig").splitlines()))
    assert {row["spec"]: row["loudness_lufs"] for row in rows} == {"two": "-20.0", "one": "-20.0"}
    as_is = {part["spec"]: part["shipped"]["figures"]["integrated_lufs"] for part in document["parts"]}
    assert as_is == pytest.approx({"two": -23.01, "one": -20.0}, abs=0.05)
