"""`delivery compare SONG` alone: its sections, stated beside it or found."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import numpy as np
import pytest
import soundfile

from delivery.__main__ import run
from delivery.intake import shipped

RATE = 44_100
RELEASE = """\
title: T
artist: A
tracks:
  - file: Song.wav
    title: Song
    sections:
      - {name: verse, from: 0}
      - {name: chorus, from: "0:20.0"}
"""


@pytest.fixture
def song(tmp_path: Path) -> Path:
    """Noise; 6 dB louder from 20 s on, for another 20 s."""
    noise = 0.03 * np.random.default_rng(3).standard_normal((40 * RATE, 2))
    noise[20 * RATE :] *= 10 ** (6 / 20)
    soundfile.write(tmp_path / "Song.wav", noise, RATE, "PCM_24")
    return tmp_path / "Song.wav"


def sections(path: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, object]:
    assert run(["compare", str(path), "--no-cache", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    schema = json.loads(shipped("song-sections.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator(schema).validate(document)
    (found,) = document["songs"]
    return dict(found)


def test_stated_sections_are_used_and_reported(song: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (song.parent / "release.yaml").write_text(RELEASE, encoding="utf-8")
    found = sections(song, capsys)
    assert found["source"] == "stated"
    verse, chorus = found["sections"]
    assert (verse["name"], chorus["name"], chorus["start_s"]) == ("verse", "chorus", 20.0)
    assert chorus["step_lu"] == pytest.approx(6.0, abs=0.1)
    assert run(["compare", str(song), "--no-cache"]) == 0
    shown = capsys.readouterr().out
    assert "Loudest: chorus" in shown
    assert "stated in the release file" in shown
    assert len(shown.splitlines()) <= 24


def test_sections_are_found_where_none_are_stated(song: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = sections(song, capsys)
    assert found["source"] == "found"
    assert [one["start_s"] for one in found["sections"]] == pytest.approx([0, 20], abs=1)


def test_a_section_behind_the_end_is_refused_with_its_line(song: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = RELEASE.replace("0:20.0", "1:20.0")
    (song.parent / "release.yaml").write_text(text, encoding="utf-8")
    assert run(["compare", str(song), "--no-cache"]) == 2
    assert "release.yaml:8: found section 'chorus' from 80 s, after the end" in capsys.readouterr().err


def test_two_files_use_the_sections_of_either(song: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The master is named in the release file; the mix is a second late and flat: 3 dB less step."""
    (song.parent / "release.yaml").write_text(RELEASE, encoding="utf-8")
    sound, _ = soundfile.read(song)
    sound[20 * RATE :] *= 10 ** (-3 / 20)
    soundfile.write(song.parent / "Mix.wav", np.concatenate([np.zeros((RATE, 2)), sound]), RATE, "PCM_24")
    assert run(["compare", str(song.parent / "Mix.wav"), str(song), "--no-cache", "--json"]) == 0
    pair = json.loads(capsys.readouterr().out)["pair"]
    assert pair["section_source"] == "stated"
    assert [one["start_s"] for one in pair["sections"]] == pytest.approx([1.0, 21.0], abs=0.01)
    (step,) = pair["contrasts_lu"]
    assert (step["one"], step["other"]) == (pytest.approx(3, abs=0.1), pytest.approx(6, abs=0.1))
