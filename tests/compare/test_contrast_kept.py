"""A mix flattened by a compressor whose curve is known: the contrast that is left is recovered within 0.2 LU."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from delivery.__main__ import run
from delivery.tasks.pair import compare_pair
from demo.music import perform
from demo.songs import TIDE_SUMS
from tests.compare.two_sections import RELEASE

RATE = 44_100
SECTION_S = 20
STEP_DB = 6.0


@pytest.mark.thorough(1)
@pytest.mark.parametrize("ratio", [1.5, 3.0])
def test_a_contrast_flattened_by_a_known_curve_is_recovered(tmp_path: Path, ratio: float) -> None:
    """The chorus is the verse played STEP_DB louder. A compressor with its threshold at the verse's level, so slow that
    it holds one gain in each section, leaves STEP_DB / ratio of it; so the closed form of its static curve has it.
    """
    played = np.asarray(perform(TIDE_SUMS, RATE), np.float64)
    played = played.T if played.shape[0] == 2 else played
    verse = 0.3 * played[: SECTION_S * RATE] / np.abs(played).max()
    mix = np.concatenate([verse, verse * 10 ** (STEP_DB / 20)])
    above_db = np.repeat([0.0, STEP_DB], len(verse))
    reduction_db = above_db * (1 - 1 / ratio)
    master = mix * 10 ** (-reduction_db / 20)[:, None] * 1.3
    soundfile.write(tmp_path / "Mix.wav", mix, RATE, "FLOAT")
    soundfile.write(tmp_path / "Master.wav", master, RATE, "FLOAT")
    (tmp_path / "release.yaml").write_text(RELEASE, encoding="utf-8")
    found = compare_pair(tmp_path / "Mix.wav", tmp_path / "Master.wav")
    assert found.same_recording
    assert [section.name for section, _, _ in found.sections] == ["verse", "chorus"]
    (contrast,) = found.contrasts
    assert contrast.one_lu == pytest.approx(STEP_DB, abs=0.2)
    assert contrast.other_lu == pytest.approx(STEP_DB / ratio, abs=0.2)


def test_the_page_draws_the_steps_of_both_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two sections, 6 LU apart in the mix and 2 in the master; a second page is refused where the first one is."""
    sound = np.random.default_rng(3).standard_normal((SECTION_S * RATE, 2)) * 0.03
    for name, step_db in (("Mix", 6.0), ("Master", 2.0)):
        both = np.concatenate([sound, sound * 10 ** (step_db / 20)])
        soundfile.write(tmp_path / f"{name}.wav", both, RATE, "FLOAT")
    (tmp_path / "release.yaml").write_text(RELEASE, encoding="utf-8")
    page = tmp_path / "pair.html"
    command = ["compare", str(tmp_path / "Mix.wav"), str(tmp_path / "Master.wav"), "--html", str(page)]
    assert run(command) == 0
    shown = page.read_text(encoding="utf-8").replace("\u2212", "-")
    assert "+6.0 / +2.0" in shown
    one = shown.split('class="one" points="')[1].split('"')[0].split()
    other = shown.split('class="other" points="')[1].split('"')[0].split()
    heights = [[float(point.split(",")[1]) for point in points] for points in (one, other)]
    mine, theirs = (row[0] - row[2] for row in heights)
    assert mine / theirs == pytest.approx(3.0, rel=0.03)
    capsys.readouterr()
    assert run(command) == 2
    assert "a path that does not exist yet" in capsys.readouterr().err
