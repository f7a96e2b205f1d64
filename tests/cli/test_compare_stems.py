"""`delivery compare MAIN --stems FOLDER`: whether stems add up, and which of them is at fault."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from delivery.__main__ import run
from delivery.intake.shipped_files import shipped_schema
from tests.music import PIECES, needs_music

RATE = 48_000
pytestmark = needs_music


@pytest.fixture
def stems() -> dict[str, NDArray[np.float32]]:
    """40 s each of three pieces."""
    pieces = [path for path in PIECES if soundfile.info(path).samplerate == RATE][:3]
    found = {}
    for name, path in zip(("drums", "bass", "keys"), pieces, strict=True):
        with soundfile.SoundFile(path) as file:
            file.seek(30 * RATE)
            found[name] = 0.4 * file.read(40 * RATE, dtype="float32", always_2d=True)[:, [0, -1]]
    return found


def compared(
    folder: Path, main: NDArray[np.float32], stems: dict[str, NDArray[np.float32]], capsys: pytest.CaptureFixture[str]
) -> tuple[list[str], dict[str, object]]:
    """The sentences, and the JSON document."""
    (folder / "stems").mkdir()
    soundfile.write(folder / "Main.wav", main, RATE, "FLOAT")
    for name, sound in stems.items():
        soundfile.write(folder / "stems" / f"{name}.wav", sound, RATE, "FLOAT")
    command = ["compare", str(folder / "Main.wav"), "--stems", str(folder / "stems")]
    assert run(command) == 0
    lines = " ".join(capsys.readouterr().out.split())
    assert run([*command, "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    schema = shipped_schema("stems.schema.json")
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(document)
    return [lines], document["stems"]


def test_stems_that_add_up(
    tmp_path: Path, stems: dict[str, NDArray[np.float32]], capsys: pytest.CaptureFixture[str]
) -> None:
    (said,), found = compared(tmp_path, sum(stems.values()), stems, capsys)
    assert said.startswith("3 stems add up to Main.wav: residual -")
    assert found["faults"] == []


def test_a_late_stem_is_named_with_its_samples(
    tmp_path: Path, stems: dict[str, NDArray[np.float32]], capsys: pytest.CaptureFixture[str]
) -> None:
    main = sum(stems.values())
    late = np.concatenate([np.zeros((441, 2), np.float32), stems["drums"]])
    (said,), found = compared(tmp_path, main, {**stems, "drums": late}, capsys)
    assert "3 stems do not add up to Main.wav: residual -" in said
    assert "; drums late by 441 samples (9.2 ms)." in said
    assert [fault["stem"] for fault in found["faults"]] == ["drums"]
    assert found["mended_db"] < -100
    assert "drums.wav is 441 samples longer than the main." in said


@pytest.mark.thorough
def test_a_stem_of_another_level_and_an_inverted_one(
    tmp_path: Path, stems: dict[str, NDArray[np.float32]], capsys: pytest.CaptureFixture[str]
) -> None:
    main = sum(stems.values())
    (said,), found = compared(
        tmp_path, main, {**stems, "bass": stems["bass"] * 10 ** (2 / 20), "keys": -stems["keys"]}, capsys
    )
    assert "bass 2.0 dB too loud" in said
    assert "keys inverted in polarity" in said
    assert found["mended_db"] < -100


def test_a_missing_stem_is_not_blamed_on_another(
    tmp_path: Path, stems: dict[str, NDArray[np.float32]], capsys: pytest.CaptureFixture[str]
) -> None:
    main = sum(stems.values())
    (said,), found = compared(tmp_path, main, {name: stems[name] for name in ("drums", "bass")}, capsys)
    assert found["faults"] == []
    assert "a stem that is missing" in said


def test_a_shorter_stem_is_reported(
    tmp_path: Path, stems: dict[str, NDArray[np.float32]], capsys: pytest.CaptureFixture[str]
) -> None:
    (said,), _ = compared(tmp_path, sum(stems.values()), {**stems, "bass": stems["bass"][:-100]}, capsys)
    assert "bass.wav is 100 samples shorter than the main." in said
