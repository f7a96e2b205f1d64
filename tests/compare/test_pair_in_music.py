"""Changes that another program plants in real music: what is found is what that program was told to do.

The judge is sox: its `gain`, `pad`, `tempo` and `speed` (a clock), with its best rate conversion. Tolerances: common
practice, no source.
"""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
import soundfile

from delivery.model.pair import Pair
from delivery.tasks.pair import compare_pair
from tests.music import PIECES, needs_music

RATE, SECONDS = 44_100, 40
pytestmark = [
    needs_music,
    pytest.mark.skipif(shutil.which("sox") is None, reason="sox is not installed, so nothing planted these changes"),
]


@pytest.fixture(scope="module")
def songs(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Forty seconds of two pieces, at 24 bit and half their level."""
    folder = tmp_path_factory.mktemp("songs")
    files = folder / "one.wav", folder / "another.wav"
    for piece, file in zip(PIECES, files, strict=False):
        with soundfile.SoundFile(piece) as source:
            source.seek(20 * source.samplerate)
            sound = source.read(SECONDS * source.samplerate, always_2d=True)
        soundfile.write(file.with_suffix(".aiff"), 0.5 * sound / np.abs(sound).max(), source.samplerate, "PCM_24")
        sox(file.with_suffix(".aiff"), file, "rate", "-v", str(RATE))
    return files


def sox(source: Path, target: Path, *effects: str) -> Path:
    subprocess.run(["sox", "-D", source, "-b", "24", target, *effects], check=True, capture_output=True)
    return target


def changed(songs: tuple[Path, Path], folder: Path, *effects: str) -> Pair:
    return compare_pair(songs[0], sox(songs[0], folder / "changed.wav", *effects))


@pytest.mark.parametrize("ppm", [10, 100])
def test_a_clock_that_runs_fast_is_found_and_followed(songs: tuple[Path, Path], tmp_path: Path, ppm: int) -> None:
    found = changed(songs, tmp_path, "speed", str(1 + ppm * 1e-6), "rate", "-v", "-s", str(RATE))
    assert found.same_recording
    assert found.drift_ppm == pytest.approx(1e6 * (1 / (1 + ppm * 1e-6) - 1), abs=0.05)
    assert found.gain_db == pytest.approx(0, abs=0.05)
    assert found.residual_db is not None
    assert found.residual_db < -85


def test_gain_and_delay(songs: tuple[Path, Path], tmp_path: Path) -> None:
    found = changed(songs, tmp_path, "pad", "1234s", "gain", "-3.7")
    assert found.gain_db == pytest.approx(-3.7, abs=0.05)
    assert found.offset_s is not None
    assert found.offset_s * RATE == pytest.approx(1234, abs=0.05)
    assert found.drift_ppm == 0


def test_a_half_time_remix_and_another_song_are_not_the_same_recording(
    songs: tuple[Path, Path], tmp_path: Path
) -> None:
    assert not changed(songs, tmp_path, "tempo", "0.5").same_recording
    assert not compare_pair(*songs).same_recording
