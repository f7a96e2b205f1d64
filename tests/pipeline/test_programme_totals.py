"""Several files as one programme, beside a library that gates over several states at once."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from delivery.model.figure import Measurement
from delivery.model.part import Source
from delivery.model.release import Track
from delivery.pipeline.album import programme_totals
from tests.meters.memory import measured
from tests.signals import noise, sine

RATE_HZ = 44_100


def source(found: Measurement | None, position: int) -> Source:
    track = Track(position=position, number=position, file=Path(f"{position}.wav"), title="x")
    return Source(track, found, problem="" if found else "no sound")


def sources(*sounds: np.ndarray | None) -> tuple[Source, ...]:
    found = [None if sound is None else measured(sound, RATE_HZ) for sound in sounds]
    return tuple(source(each, position) for position, each in enumerate(found, 1))


@pytest.mark.thorough(2)
@pytest.mark.parametrize("levels", [(-14, -26, -20), (-12, -45), (-20, -20, -60, -10)])
def test_loudness_is_gated_over_everything_at_once(levels: tuple[int, ...]) -> None:
    """libebur128 takes several states as one programme; the mean of the files is somewhere else."""
    import pyebur128 as judge

    sounds = [noise(RATE_HZ, 5 + 3 * k, level_dbfs=level, seed=k) for k, level in enumerate(levels)]
    states = []
    for sound in sounds:
        state = judge.R128State(2, RATE_HZ, judge.MeasurementMode.MODE_I)
        state.add_frames(sound.ravel(), len(sound))
        states.append(state)
    one = programme_totals(sources(*sounds))
    assert one.integrated_lufs == pytest.approx(judge.get_loudness_global_multiple(states), abs=0.01)
    mean = np.mean([measured(sound, RATE_HZ).value("integrated_lufs") for sound in sounds])
    assert abs(one.integrated_lufs - mean) > 0.5
    assert one.duration_s == pytest.approx(sum(len(sound) for sound in sounds) / RATE_HZ)


def test_the_highest_peak_and_whose_it_is() -> None:
    one = programme_totals(sources(*(sine(997, RATE_HZ, 1, level_dbfs=level) for level in (-6, -1, -3))))
    assert one.true_peak_dbtp == pytest.approx(-1, abs=0.01)
    assert one.true_peak_file == "2.wav"


def test_a_file_that_cannot_be_used_is_counted_and_left_out() -> None:
    one = programme_totals(sources(noise(RATE_HZ, 2), None))
    assert (one.files, one.measured) == (2, 1)
    assert one.integrated_lufs is not None


def test_silent_and_short_files_take_nothing_away() -> None:
    """An interlude of silence has no true peak and no loudness, and the programme has both."""
    loud = noise(RATE_HZ, 3)
    one = programme_totals(sources(loud, np.zeros((RATE_HZ, 2)), loud[:1000], np.zeros((0, 2))))
    assert one.integrated_lufs == pytest.approx(measured(loud, RATE_HZ).value("integrated_lufs"))
    assert one.true_peak_file == "1.wav"


def test_what_is_not_known_of_one_file_is_not_known_of_all() -> None:
    """Samples that are no numbers: no loudness is invented from the rest."""
    rotten = noise(RATE_HZ, 3)
    rotten[5] = np.nan
    one = programme_totals(sources(noise(RATE_HZ, 3), rotten))
    assert one.integrated_lufs is one.true_peak_dbtp is None
    assert one.why_no_loudness == "2.wav: the file has samples that are not numbers"


def test_silence_alone_is_reported() -> None:
    one = programme_totals(sources(np.zeros((RATE_HZ, 1)), np.zeros((RATE_HZ, 1))))
    assert one.integrated_lufs is one.true_peak_dbtp is None
    assert "silent or too short" in one.why_no_loudness
