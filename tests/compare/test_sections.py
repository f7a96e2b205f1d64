"""Sections found against the form that made the music; levels of sections against closed forms; contrast kept.

Hit rate at 3 s and its F measure are reported as the field reports them (structural segmentation at MIREX).
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.compare.outline import Outline, found_sections, section_levels
from delivery.dsp.loudness.gating import OFFSET_LUFS
from delivery.model.pair import Contrast, Pair, Section, SectionLevels
from demo import songs
from demo.music import perform, sections

Array = NDArray[np.float64]
RATE = 44_100
NEAR_S = 3.0


def rows_of(sound: Array, rate_hz: int = RATE) -> Array:
    outline = Outline(rate_hz)
    for at in range(0, len(sound), rate_hz):
        outline.take(sound[at : at + rate_hz])
    return outline.rows


def test_sections_of_music_made_by_code_are_found() -> None:
    """Two songs: F measure of boundaries within 3 s at least 0.8."""
    hits = wrong = missed = 0
    for song in (songs.TIDE_SUMS, songs.EBB_LEDGER):
        played = np.asarray(perform(song, RATE), np.float64)
        found = [each.start_s for each in found_sections(rows_of(played.T if len(played) == 2 else played))][1:]
        marked = [start_s for _, start_s, _ in sections(song)][1:]
        hit = sum(any(abs(at - other) <= NEAR_S for other in found) for at in marked)
        hits, missed = hits + hit, missed + len(marked) - hit
        wrong += sum(all(abs(at - other) > NEAR_S for other in marked) for at in found)
    assert 2 * hits / (2 * hits + wrong + missed) >= 0.8


@pytest.mark.parametrize("sound", [np.zeros((RATE * 40, 2)), np.zeros((RATE, 2)), np.zeros((0, 2))])
def test_silence_and_short_sounds_have_no_sections(sound: Array) -> None:
    assert found_sections(rows_of(sound)) == ()


def test_a_steady_sound_has_no_sections() -> None:
    noise = 0.1 * np.random.default_rng(5).standard_normal((RATE * 60, 2))
    assert found_sections(rows_of(noise)) == ()


@pytest.mark.parametrize("rate_hz", [44_100, 96_000])
def test_levels_of_a_section_against_closed_forms(rate_hz: int) -> None:
    """A sine of 60 Hz in the middle and one of 1 kHz at the side, each an octave's middle or near it."""
    t = np.arange(10 * rate_hz) / rate_hz
    mid, side = 0.2 * np.sin(2 * np.pi * 60 * t), 0.1 * np.sin(2 * np.pi * 1000 * t)
    rows = rows_of(np.stack([mid + side, mid - side], axis=1), rate_hz)
    powers = [0.01] * 97
    found = section_levels(rows, powers, Section("all", 0.0, 10.0))
    assert found.loudness_lufs == pytest.approx(OFFSET_LUFS - 20, abs=1e-6)
    assert found.low_end_db == pytest.approx(10 * np.log10(0.04 / 0.05), abs=0.01)
    assert found.side_mid_db == pytest.approx(-20 * np.log10(2), abs=0.01)
    assert found.crest_db == pytest.approx(20 * np.log10(0.3 / np.sqrt(0.025)), abs=0.1)


def test_mono_has_no_width() -> None:
    rows = rows_of(0.1 * np.random.default_rng(1).standard_normal((RATE * 4, 1)))
    assert section_levels(rows, [0.01] * 37, Section("all", 0.0, 4.0)).side_mid_db is None


def test_contrast_is_the_step_between_neighbours_in_both_files() -> None:
    def levels(lufs: float) -> SectionLevels:
        return SectionLevels(lufs, -6.0, None, 12.0)

    verse, chorus = Section("verse", 0.0, 20.0), Section("chorus", 20.0, 40.0)
    pair = Pair(
        identical=False,
        same_recording=True,
        sections=((verse, levels(-18.8), levels(-12.9)), (chorus, levels(-13.0), levels(-9.0))),
    )
    (found,) = pair.contrasts
    assert found == Contrast(verse, chorus, pytest.approx(5.8), pytest.approx(3.9))
