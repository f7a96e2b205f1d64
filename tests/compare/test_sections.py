"""Sections found against the form that made the music; levels of sections against closed forms; contrast kept.

Hit rate at 3 s and its F measure are reported as the field reports them (structural segmentation at MIREX).
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.compare.outline import Outline, found_sections, section_levels
from delivery.dsp.loudness.gating import OFFSET_LUFS, loudness_lufs
from delivery.model.figure import Measurement, Reading
from delivery.model.pair import Pair
from delivery.model.sections import Contrast, Section, SectionLevels
from demo import songs
from demo.music import perform, sections

Array = NDArray[np.float64]
RATE = 44_100
NEAR_S = 3.0


def rows_of(sound: Array, rate_hz: int = RATE) -> Array:
    outline = outline_of(sound, rate_hz)
    return outline.rows


def outline_of(sound: Array, rate_hz: int = RATE) -> Outline:
    outline = Outline(rate_hz, sound.shape[1])
    for at in range(0, len(sound), rate_hz):
        outline.take(sound[at : at + rate_hz])
    return outline


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


def measured(power: float, seconds: int) -> Measurement:
    """Steady loudness of that K-weighted power, peaks at -2 dBTP."""
    lufs = float(loudness_lufs(np.array(power)))
    return Measurement(
        {
            "gating_powers": Reading((power,) * (10 * seconds - 3)),
            "short_term_curve_lufs": Reading((lufs,) * (seconds - 2)),
            "peak_curve_dbtp": Reading((-2.0,) * seconds),
        }
    )


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
    outline = outline_of(np.stack([mid + side, mid - side], axis=1), rate_hz)
    (found,) = section_levels(outline, measured(0.01, 10), [Section("all", 0.0, 10.0)])
    assert found.loudness_lufs == pytest.approx(OFFSET_LUFS - 20, abs=1e-6)
    assert found.low_end_db == pytest.approx(10 * np.log10(0.04 / 0.05), abs=0.01)
    assert found.side_mid_db == pytest.approx(-20 * np.log10(2), abs=0.01)
    assert found.crest_db == pytest.approx(20 * np.log10(0.3 / np.sqrt(0.025)), abs=0.1)
    assert found.psr_db == pytest.approx(-2 - found.loudness_lufs, abs=1e-9)


def test_hits_rise_by_what_they_stand_above_the_bed() -> None:
    """Bursts of 8 kHz 20 dB above a steady tone of 8 kHz, twice a second: the high band rises so far, others have none.

    A burst adds to the bed in phase: 20 log10(1 + 10) = 20.8 dB.
    """
    t = np.arange(20 * RATE) / RATE
    bed = 0.02 * np.sin(2 * np.pi * 8000 * t)
    hits = bed * np.where((t % 0.5 > 0.2) & (t % 0.5 < 0.26), 11.0, 1.0)
    sound = np.stack([hits, hits], axis=1)
    (found,) = section_levels(outline_of(sound), measured(0.01, 20), [Section("all", 0.0, 20.0)])
    assert found.attack_db[2] == pytest.approx(20.8, abs=0.5)
    softer = np.stack([np.where(np.abs(hits) > 0.021, hits / 2, hits)] * 2, axis=1)
    (less,) = section_levels(
        outline_of(softer), measured(0.01, 20), [Section("all", 0.0, 20.0)], hits_of=outline_of(sound)
    )
    assert less.attack_db[2] == pytest.approx(found.attack_db[2] - 6.02, abs=0.7)


def test_mono_has_no_width() -> None:
    outline = outline_of(0.1 * np.random.default_rng(1).standard_normal((RATE * 4, 1)))
    (found,) = section_levels(outline, measured(0.01, 4), [Section("all", 0.0, 4.0)])
    assert found.side_mid_db is None


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
