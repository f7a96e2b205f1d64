"""`delivery compare ONE OTHER` as a user meets it: the answer first, a screen at most, JSON by its schema."""

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


@pytest.fixture
def files(tmp_path: Path) -> tuple[str, str]:
    """Twelve seconds of noise that swells, and the same 2 dB lower, 1000 frames later."""
    rng = np.random.default_rng(3)
    swell = 0.2 + 0.15 * np.sin(2 * np.pi * np.arange(12 * RATE) / RATE / 3.7)
    one = 0.3 * swell[:, None] * rng.standard_normal((12 * RATE, 2))
    other = 10 ** (-2 / 20) * np.concatenate([np.zeros((1000, 2)), one])
    soundfile.write(tmp_path / "one.wav", one, RATE, "PCM_24")
    soundfile.write(tmp_path / "other.wav", other, RATE, "PCM_24")
    return str(tmp_path / "one.wav"), str(tmp_path / "other.wav")


def test_the_answer_comes_first_and_fits_a_screen(files: tuple[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["compare", *files, "--no-cache"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "The same recording: other.wav is 2.00 dB quieter and begins 22.676 ms later."
    assert len(lines) <= 24
    assert max(map(len, lines)) <= 80


@pytest.mark.thorough
def test_a_song_of_many_sections_fits_a_screen(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Ten sections of 14 s: the five with the largest steps, all of them with --all."""
    rng = np.random.default_rng(8)
    levels = np.repeat([0.02, 0.1, 0.03, 0.2, 0.05, 0.2, 0.02, 0.15, 0.04, 0.2], 14 * RATE)[:, None]
    swell = 1 + 0.4 * np.sin(2 * np.pi * np.arange(len(levels)) / RATE / 3.7)[:, None]
    sound = levels * swell * rng.standard_normal((len(levels), 2)) * 0.5
    soundfile.write(tmp_path / "Night Ferry Mix.wav", sound, RATE, "PCM_24")
    soundfile.write(tmp_path / "Night Ferry Master.wav", np.tanh(3 * sound), RATE, "PCM_24")
    command = ["compare", str(tmp_path / "Night Ferry Mix.wav"), str(tmp_path / "Night Ferry Master.wav")]
    for more, least, most in ([], 20, 24), (["--all"], 60, 90):
        assert run([*command, *more]) == 0
        lines = capsys.readouterr().out.splitlines()
        assert least <= len(lines) <= most
        assert max(map(len, lines)) <= 80
        assert sum(line.startswith("section ") for line in lines) == (5 if not more else 20)


def test_json_obeys_its_schema(files: tuple[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["compare", *files, "--no-cache", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    schema = json.loads(shipped("pair.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator(schema).validate(document)
    assert document["pair"]["offset_s"] * RATE == pytest.approx(1000, abs=1e-3)
    assert document["pair"]["gain_db"] == pytest.approx(-2, abs=0.05)
    assert document["pair"]["residual_db"] < -80


def test_a_file_beside_itself_is_identical(files: tuple[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["compare", files[0], files[0], "--no-cache"]) == 0
    assert capsys.readouterr().out.startswith("Identical samples")


def test_what_is_no_sound_is_refused(
    files: tuple[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "notes.wav").write_text("no sound", encoding="utf-8")
    assert run(["compare", files[0], str(tmp_path / "notes.wav"), "--no-cache"]) == 2
    message = capsys.readouterr().err
    assert "notes.wav" in message
    assert message.count("found") == 1
