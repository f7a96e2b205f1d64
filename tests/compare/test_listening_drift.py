"""Matched copies of two files whose clocks differ stay together to their end."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from delivery.tasks.listening import write_listening
from delivery.tasks.pair import compare_pair
from tests.compare.test_pair import RATE, TIDE_SUMS, music, read_between, written


@pytest.mark.thorough
def test_copies_follow_the_drift(tmp_path: Path) -> None:
    """A clock 20 ppm slow: at one delay for each 10 s the copies would be 4 samples apart at the edges of a piece."""
    sound = music(TIDE_SUMS)
    slow = read_between(sound, np.arange(len(sound)) / (1 + 2e-5))
    one, other = written(tmp_path, "one.wav", sound), written(tmp_path, "other.wav", slow)
    pair = compare_pair(one, other)
    assert pair.drift_ppm == pytest.approx(20, abs=0.5)
    _, *copies = write_listening(pair, one, other, tmp_path / "listen", blind=False)
    mine, theirs = (soundfile.read(copy)[0] for copy in copies)
    for second in (0, 5, 9, 12, 17):
        left = (mine - theirs)[second * RATE : (second + 1) * RATE - 4000]
        whole = mine[second * RATE : (second + 1) * RATE - 4000]
        assert 10 * np.log10((left**2).sum() / (whole**2).sum()) < -35, second
