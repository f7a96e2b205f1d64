"""Stems of a song: lengths, starts, and what is left when the main mix is taken from their sum."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from delivery.meters import measure
from delivery.model.figure import Reading
from delivery.model.part import Source
from delivery.model.release import Track
from delivery.pipeline.stems import FLOOR_DB, stem_sums
from delivery.rules import Scope, judge
from tests.rules.case_files import requirement, spec_of
from tests.signals import noise, sine

RATE_HZ = 48_000
DRUMS = 0.2 * noise(RATE_HZ, 2, seed=1)
BASS = sine(80, RATE_HZ, 2) * [0.2, 0.2]


def sources(folder: Path, sounds: dict[str, NDArray[np.float64]], title: str = "Low Water") -> list[Source]:
    found = []
    for position, (version, sound) in enumerate(sounds.items(), start=1):
        file = folder / f"{position}.wav"
        soundfile.write(file, sound, RATE_HZ, "DOUBLE")
        found.append(Source(Track(position, file, title, version=version), measure(file)))
    return found


def test_stems_at_unity_leave_nothing(tmp_path: Path) -> None:
    """In 64-bit float the sum is the mix, and the instrumental is none of the stems."""
    versions = {"": DRUMS + BASS, "Instrumental": BASS, "Drums Stem": DRUMS, "stem: bass": BASS}
    (found,) = stem_sums(sources(tmp_path, versions))
    assert (found.main, found.stems) == (1, (3, 4))
    assert found.residual_db == FLOOR_DB


@pytest.mark.parametrize("gain_db", [0.1, -6.0])
def test_a_mix_at_another_level_leaves_its_difference(gain_db: float, tmp_path: Path) -> None:
    """Closed form: a sum s and a main g s leave |1 - g| s, which is |1 - g| / g of the main."""
    gain = 10 ** (gain_db / 20)
    (found,) = stem_sums(sources(tmp_path, {"": gain * BASS, "Bass Stem": BASS}))
    assert found.residual_db == pytest.approx(20 * np.log10(abs(1 - gain) / gain), abs=1e-6)


def test_a_stem_that_starts_late_is_found(tmp_path: Path) -> None:
    """One sample late at 80 Hz: 2 sin(pi 80 / 48000) of the tone, -39.6 dB (closed form)."""
    (found,) = stem_sums(sources(tmp_path, {"": BASS, "Bass Stem": np.roll(BASS, 1, axis=0)}))
    assert found.residual_db == pytest.approx(20 * np.log10(2 * np.sin(np.pi * 80 / RATE_HZ)), abs=0.01)


@pytest.mark.parametrize(
    ("versions", "why"),
    [
        ({"Drums Stem": DRUMS}, "no main mix: a track of the same title without a version"),
        ({"": DRUMS, "Drums Stem": DRUMS[:-1]}, "track 2 differs from the main mix in length"),
        ({"": DRUMS, "Drums Stem": DRUMS[:, :1]}, "track 2 differs from the main mix in number of channels"),
        ({"": 0 * DRUMS, "Drums Stem": DRUMS}, "the main mix is silent"),
    ],
)
def test_what_cannot_be_added_up_is_reported(
    versions: dict[str, NDArray[np.float64]], why: str, tmp_path: Path
) -> None:
    (found,) = stem_sums(sources(tmp_path, versions))
    assert (found.residual_db, found.why_missing) == (None, why)


def test_system_is_no_stem(tmp_path: Path) -> None:
    assert stem_sums(sources(tmp_path, {"": BASS, "Sound System Mix": BASS})) == ()


def test_lengths_are_compared_within_each_song(tmp_path: Path) -> None:
    """Two songs of two lengths are fine; where no title occurs twice, all files are one song."""
    only = spec_of(requirement("equal_lengths", True))

    def found(*files: tuple[str, int]) -> list[str]:
        facts = [(Track(at, tmp_path, title), {"frames": Reading(n)}) for at, (title, n) in enumerate(files, start=1)]
        reported = judge(only, {"tracks": Reading(tuple(facts))}, scope=Scope.RELEASE, track=None, waivers=())
        return [finding.found for finding in reported]

    assert found(("One", 10), ("ONE", 10), ("Two", 12), ("Two", 12)) == [""]
    assert found(("One", 10), ("One", 11), ("Two", 12)) == ["10 samples on track 1; 11 samples on track 2"]
    assert found(("Drums", 10), ("Bass", 11)) == ["10 samples on track 1; 11 samples on track 2"]
