"""A mix flattened by a compressor whose curve is known: the contrast that is left is recovered within 0.2 LU."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from delivery.tasks.pair import compare_pair
from demo.music import perform
from demo.songs import TIDE_SUMS

RATE = 44_100
SECTION_S = 20
STEP_DB = 6.0
RELEASE = """
title: Low Water
artist: Ada Fenn
tracks:
  - file: Mix.wav
    title: Low Water
    sections:
      - {name: verse, from: 0}
      - {name: chorus, from: 20}
"""


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
