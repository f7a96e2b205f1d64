"""Sections found against the form that made the music; levels of sections against closed forms; contrast kept."""

from __future__ import annotations

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from delivery.compare.outline import found_sections, section_levels
from delivery.dsp.likeness.sections import boundaries
from delivery.dsp.loudness.gating import OFFSET_LUFS, loudness_lufs
from delivery.model.figure import Measurement, Reading
from delivery.model.pair import Pair
from delivery.model.sections import Contrast, Section, SectionLevels
from demo import songs
from tests.forms import LONG, RATE, Hits, hits, joined, outline_of, played
from tests.music import PIECES, needs_music

Array = NDArray[np.float64]


def rows_of(sound: Array, rate_hz: int = RATE) -> Array:
    return outline_of(sound, rate_hz).rows


@pytest.mark.thorough(1)
@pytest.mark.parametrize("form", [None, LONG])
def test_sections_of_songs_made_by_code_are_found(form: tuple[songs.Part, ...] | None) -> None:
    """Two songs, sections of four bars and of eight: F measure of boundaries within 3 s at least 0.85."""
    found = Hits()
    for song in (songs.TIDE_SUMS, songs.EBB_LEDGER):
        sound, marked = played(song, form)
        found += hits(sound, RATE, marked)
    assert found.f_measure >= 0.85, found


@needs_music
def test_sections_of_real_music_joined_to_a_known_form_are_found() -> None:
    """Stretches of 20 s of three pieces, each with changes of its own: F measure at least 0.75."""
    stretches = {}
    for letter, piece in zip("ABC", PIECES, strict=False):
        with soundfile.SoundFile(piece) as file:
            rate_hz = int(file.samplerate)
            file.seek(80 * rate_hz)
            stretches[letter] = file.read(20 * rate_hz, always_2d=True)
    found = Hits()
    for form in ("ABABCB", "ABACA"):
        sound, marked = joined(stretches, form, rate_hz)
        found += hits(sound, rate_hz, marked)
    assert found.f_measure >= 0.75, found


def test_a_long_song_has_sections_of_a_musical_length() -> None:
    """Of 4 minutes whose level and timbre wander all the time there are at most 20 sections, none under 12 s."""
    rng = np.random.default_rng(11)
    wander = np.cumsum(rng.normal(0, 1.0, (480, 10)), axis=0)
    edges = [0.0, *boundaries(wander, 0.5), 240.0]
    assert len(edges) <= 21
    assert min(np.diff(edges)) >= 12


def test_neighbours_that_hardly_differ_are_one_section() -> None:
    """Levels that move by 4 dB throughout and once shift by 0.5 dB for good: no boundary there; by 12 dB: one."""
    rng = np.random.default_rng(3)
    steady = rng.normal(0, 4.0, (240, 10))
    for shift_db, count in ((0.5, 0), (12.0, 1)):
        shifted = steady + shift_db * (np.arange(240) >= 120)[:, None]
        assert len(boundaries(shifted, 0.5)) == count


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


def test_hits_rise_by_their_level_above_the_bed() -> None:
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
