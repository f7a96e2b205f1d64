"""What is drawn of a stretch of sound is its samples, as libsndfile reads them, or their extremes."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from delivery.tasks.detail import detail

RATE_HZ = 44_100


@pytest.fixture(scope="module", params=["wav", "flac"])
def file(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("detail") / f"a.{request.param}"
    soundfile.write(path, np.random.default_rng(1).uniform(-1, 1, (3 * RATE_HZ, 2)), RATE_HZ, "PCM_24")
    return path


def test_a_short_stretch_is_the_samples_themselves(file: Path) -> None:
    found = detail(file, 1.5, 1.501, 800)
    sound, _ = soundfile.read(file, always_2d=True)
    assert (found.rate_hz, found.first, found.per_column, found.low) == (RATE_HZ, 66_150, 1, ())
    assert len(found.high[0]) == 46, "from the sample at or before the start to the one after the end"
    assert np.abs(np.array(found.high).T - sound[66_150 : 66_150 + 46]).max() < 1e-8


def test_a_long_stretch_is_the_extremes_of_each_column(file: Path) -> None:
    found = detail(file, 1.0, 3.0, 400)
    sound, _ = soundfile.read(file, always_2d=True)
    for column in (0, 200, len(found.high[0]) - 1):
        begin = found.first + column * found.per_column
        part = sound[begin : begin + found.per_column]
        assert [high[column] for high in found.high] == pytest.approx(part.max(axis=0), abs=1e-8)
        assert [low[column] for low in found.low] == pytest.approx(part.min(axis=0), abs=1e-8)
    assert len(found.high[0]) <= 400


def test_after_the_end_there_is_nothing_and_no_stretch_is_endless(file: Path) -> None:
    assert detail(file, 9.0, 10.0, 400).high == ((), ())
    for wrong in [(-1, 1, 400), (1, 1, 400), (0, 61, 400), (0, 1, 0), (0, 1, 5000), (float("nan"), 1, 400)]:
        with pytest.raises(ValueError, match="columns"):
            detail(file, *wrong)
