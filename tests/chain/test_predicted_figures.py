"""Figures of a file before it is made: form, length, size, peaks and levels, and the gain they lead to."""

from __future__ import annotations

import math
from typing import Any

import pytest

from delivery.chain.album_gain import AlbumGain, album_gain
from delivery.chain.gain import form_headroom_db, gain_wanted_db, headroom_db
from delivery.chain.prediction import (
    LEVEL_FIGURES,
    OWN_PEAK_PLACES,
    after_conversion,
    converted_frames,
    frames_at_cut,
    predict,
    size_depends_on_sound,
)
from delivery.model.chain import Chain, Step, StepKind, Target
from delivery.model.figure import Measurement, Reading
from delivery.model.trial import ConvertedPeaks
from tests.chain.test_plan import master, spec

COPY = Step(StepKind.COPY, "", "")
REWRAP = Step(StepKind.REWRAP, "", "", {"extensible": False})
ROUNDED = Step(StepKind.REQUANTISE, "", "", {"bits": 16, "dither": "tpdf"})
LOWER = Step(StepKind.RATE, "", "", {"from_hz": 96_000, "to_hz": 44_100})
LOUDER = Step(StepKind.GAIN, "", "", {"gain_db": 1.5})
WAV = Target("wav", "pcm", 44_100, 2, 16)
FULL = Target("wav", "pcm", 96_000, 2, 24)


def predicted(target: Target, *steps: Step, **changed: Any) -> Measurement:
    return predict(master(**{"size_bytes": 5_760_100, "riff_form": "RIFF", **changed}), Chain(steps, target))


def test_the_form_is_that_of_the_target() -> None:
    found = predicted(WAV, LOWER, ROUNDED)
    names = ("container", "coding", "rate_hz", "bits", "effective_bits", "riff_form", "extensible")
    assert [found.value(name) for name in names] == ["wav", "pcm", 44_100, 16, 16, "RIFF", False]
    lossy = predicted(Target("mp3", "mp3", 96_000, 2, None, 320), Step(StepKind.ENCODE, "", ""))
    assert lossy["bits"] == Reading.missing("a lossy coding has no bit depth")
    assert lossy["effective_bits"] == Reading.missing("mp3 samples, not all of them integers")
    assert (lossy.value("riff_form"), lossy.value("extensible")) == ("", False)


def test_a_copy_keeps_its_own_header_and_size() -> None:
    found = predicted(FULL, COPY, riff_form="RF64", extensible=True)
    assert [found.value(name) for name in ("riff_form", "extensible", "size_bytes")] == ["RF64", True, 5_760_100]
    assert found.value("effective_bits") == 24
    again = predicted(FULL, REWRAP, riff_form="RF64", extensible=True)
    assert [again.value(name) for name in ("riff_form", "extensible", "size_bytes")] == ["RIFF", False, 5_760_000]
    assert again.value("effective_bits") == 24


def test_an_extensible_header_is_predicted_of_the_step_that_writes_it() -> None:
    assert predicted(WAV, LOWER, Step(StepKind.REQUANTISE, "", "", {"extensible": True})).value("extensible") is True
    assert predicted(FULL, Step(StepKind.REWRAP, "", "", {"extensible": True})).value("extensible") is True


@pytest.mark.parametrize(("frames", "form"), [(1_056_964_607, "RIFF"), (1_056_964_608, "RF64")])
def test_a_wav_that_its_size_field_cannot_count_becomes_rf64(frames: int, form: str) -> None:
    """EBU Tech 3306: 32 bits of size. 64 MiB are left for tags: (2**32 - 1 - 2**26) // 4 frames of 16-bit stereo."""
    found = predicted(Target("wav", "pcm", 96_000, 2, 16), ROUNDED, frames=frames)
    assert (found.value("riff_form"), found.value("extensible")) == (form, form == "RF64")
    assert predicted(Target("flac", "pcm", 96_000, 2, 16), ROUNDED, frames=frames).value("riff_form") == ""


@pytest.mark.parametrize(
    ("target", "size_bytes", "varies"),
    [
        (Target("wav", "pcm", 96_000, 2, 24), 960_000 * 6, False),
        (Target("wav", "float", 96_000, 1, 32), 960_000 * 4, False),
        (Target("flac", "pcm", 96_000, 2, 24), 960_000 * 6 * 6 // 10, True),
        (Target("mp3", "mp3", 96_000, 2, None, 320), 400_000, False),
        (Target("mp3", "mp3", 96_000, 2, None, None, 0), 275_000, True),
        (Target("other", "pcm", 96_000, 2, 16), 960_000 * 4, False),
    ],
)
def test_size_of_ten_seconds(target: Target, size_bytes: int, varies: bool) -> None:
    """320 kbit/s are 40,000 bytes a second; music needs about 0.6 of its PCM size in FLAC (from memory)."""
    assert predicted(target, ROUNDED).value("size_bytes") == size_bytes
    assert size_depends_on_sound(target) is varies


def test_length_after_conversion_is_that_of_its_place_in_the_stream() -> None:
    """960,000 frames at 96 kHz are 10 s. In a stream each cut is rounded where it lies, so a song may gain a frame."""
    found = predicted(WAV, LOWER, ROUNDED)
    assert (found.value("frames"), found.value("duration_s")) == (441_000, 10.0)
    placed = Step(StepKind.RATE, "", "", {"from_hz": 96_000, "to_hz": 44_100, "frames_before": 1})
    for frames in (1, 2, 3, 960_001):
        assert predicted(WAV, placed, frames=frames).value("frames") == max(
            1, frames_at_cut(1 + frames, 96_000, 44_100) - frames_at_cut(1, 96_000, 44_100)
        )
    assert predicted(WAV, LOWER, frames=1).value("frames") == 1
    kept = predicted(FULL, ROUNDED)
    assert (kept.value("frames"), kept.value("duration_s")) == (960_000, None)


@pytest.mark.parametrize(
    ("frames", "from_hz", "to_hz", "at"),
    [(0, 96_000, 44_100, 0), (1, 96_000, 48_000, 1), (3, 96_000, 48_000, 2), (2, 48_000, 96_000, 4)],
)  # fmt: skip
def test_halves_of_a_frame_are_rounded_up(frames: int, from_hz: int, to_hz: int, at: int) -> None:
    assert frames_at_cut(frames, from_hz, to_hz) == at
    assert converted_frames(frames, from_hz, to_hz) == max(1, at)


@pytest.mark.parametrize(
    ("was_hz", "target_hz", "left"), [(44_100, 44_100, 0), (44_100, 48_000, 44_100), (0, 44_100, 0)]
)
def test_an_earlier_rate_shows_only_above_it(was_hz: int, target_hz: int, left: int) -> None:
    target = Target("wav", "pcm", target_hz, 2, 16)
    assert predicted(target, LOWER, upsampled_from_hz=was_hz).value("upsampled_from_hz") == left


def test_every_level_moves_with_the_gain_and_a_missing_one_stays_missing() -> None:
    levels: dict[str, Any] = {name: -10.0 - number for number, name in enumerate(LEVEL_FIGURES)}
    moved = predicted(WAV, LOUDER, ROUNDED, **levels)
    assert [moved.value(name) for name in LEVEL_FIGURES] == [level + 1.5 for level in levels.values()]
    still = predicted(WAV, ROUNDED, **levels)
    assert [still.value(name) for name in LEVEL_FIGURES] == list(levels.values())
    assert predicted(WAV, LOUDER, integrated_lufs=None).value("integrated_lufs") is None


def test_peaks_of_a_trial_take_the_place_of_the_masters_own() -> None:
    """Counts and places of the master's peaks do not apply to the converted sound."""
    own = master(overs_count=3, overs=((1.0, 1, 0.5),))
    found = after_conversion(own, ConvertedPeaks(0.25, 0.75, 61.5))
    names = ("sample_peak_dbfs", "sample_peak_at_s", "true_peak_dbtp", "true_peak_at_s")
    assert [found.value(name) for name in names] == [0.25, 61.5, 0.75, 61.5]
    assert {name for name in OWN_PEAK_PLACES if name in found} == {"overs_count", "overs"}
    assert not found["overs"].exists
    assert found["overs"].why_missing
    assert after_conversion(own, None) is own


CEILINGS = {"true_peak_max_dbtp": -1.0, "sample_peak_max_dbfs": -2.0}


@pytest.mark.parametrize(
    ("requires", "true_peak_dbtp", "sample_peak_dbfs", "headroom"),
    [
        (CEILINGS, -4.0, -4.5, 2.5),
        (CEILINGS, -4.0, -8.0, 3.0),
        (CEILINGS, -1.0, -2.0, 0.0),
        (CEILINGS, -0.5, -8.0, -0.505),
        (CEILINGS, -1.0, -1.5, -0.505),
        ({"true_peak_max_dbtp": -1.0}, -4.0, 0.0, 3.0),
        ({}, 3.0, 3.0, 0.0),
        (CEILINGS, None, None, 0.0),
    ],
)
def test_headroom_to_the_lower_of_the_ceilings(
    requires: dict[str, float], true_peak_dbtp: float | None, sample_peak_dbfs: float | None, headroom: float
) -> None:
    """A peak above its ceiling lands half a printed hundredth below it."""
    source = master(true_peak_dbtp=true_peak_dbtp, sample_peak_dbfs=sample_peak_dbfs)
    assert headroom_db(spec(requires), source) == pytest.approx(headroom, abs=1e-9)


@pytest.mark.parametrize(
    ("requires", "changed", "headroom"),
    [
        ({}, {"sample_peak_dbfs": -3.0}, 3.0),
        ({}, {"sample_peak_dbfs": 0.0}, 0.0),
        ({}, {"sample_peak_dbfs": 0.00001, "bits": 16}, 0.0),  # within half a 16-bit step of full scale
        ({}, {"sample_peak_dbfs": 1.0}, -1.005),
        ({"container": ["m4a"]}, {"sample_peak_dbfs": -3.0}, 3.0 + 20 * math.log10(0.95)),
        ({"coding": ["float"]}, {"coding": "float", "bits": 32, "sample_peak_dbfs": 6.0}, math.inf),
        ({"container": ["mp3"]}, {"sample_peak_dbfs": 6.0}, math.inf),
        ({}, {"sample_peak_dbfs": None}, math.inf),
        ({}, {"bits": None, "sample_peak_dbfs": 1.0}, -1.005),  # a bit depth that is not known is taken as 24
        ({}, {"coding": "mp3", "sample_peak_dbfs": 6.0}, math.inf),
        (
            {"container": ["flac"], "coding": ["pcm"]},
            {"coding": "float", "bits": 32, "effective_bits": None, "sample_peak_dbfs": 1.0},
            math.inf,
        ),
    ],
)
def test_headroom_to_what_the_file_can_hold(requires: dict[str, Any], changed: dict[str, Any], headroom: float) -> None:
    found = form_headroom_db(
        spec({"coding": ["aac"], **requires} if "m4a" in str(requires) else requires), master(**changed)
    )
    assert found == pytest.approx(headroom, abs=0.002)


@pytest.mark.parametrize(
    ("window", "lufs", "gain_db"),
    [
        ({"at_least": -15, "at_most": -13, "target": -14}, -15.0, 0.0),
        ({"at_least": -15, "at_most": -13, "target": -14}, -13.0, 0.0),
        ({"at_least": -15, "at_most": -13, "target": -14}, -15.5, 1.5),
        ({"at_least": -15, "at_most": -13, "target": -14}, -12.5, -1.5),
        ({"at_most": -13, "target": -14}, -40.0, 0.0),
        ({"at_least": -15, "target": -14}, -3.0, 0.0),
        ({"at_least": -15, "at_most": -13}, -3.0, 0.0),
    ],
)
def test_gain_to_the_target_from_outside_the_window(window: dict[str, float], lufs: float, gain_db: float) -> None:
    wanted = spec({"integrated_lufs": window}, gain="to_target")
    assert gain_wanted_db(wanted, master(integrated_lufs=lufs)) == pytest.approx(gain_db)
    assert gain_wanted_db(wanted, master(integrated_lufs=None)) == 0.0
    assert gain_wanted_db(spec({"integrated_lufs": window}), master(integrated_lufs=lufs)) == 0.0


def songs(*peaks_dbtp: float | None) -> list[tuple[str, Measurement]]:
    return [(str(number), master(true_peak_dbtp=peak)) for number, peak in enumerate(peaks_dbtp, start=1)]


def test_down_to_the_ceiling_the_highest_song_decides_for_all() -> None:
    album = spec({"true_peak_max_dbtp": -1.0}, gain="down_to_ceiling", gain_scope="album")
    found = album_gain(album, songs(-3.0, 0.5, -0.5), None)
    assert found
    assert found.gain_db == pytest.approx(-1.505)
    assert found.because.startswith("true_peak_max_dbtp: down to the ceiling, as required by track 2; the same on ")
    assert album_gain(album, [], None) == AlbumGain(0.0, found.because.replace("track 2", "track "))


@pytest.mark.parametrize("conversions", [{"gain": "to_target"}, {"gain": "never", "gain_scope": "album"}])
def test_no_gain_for_the_album_unless_the_spec_permits_it(conversions: dict[str, str]) -> None:
    assert album_gain(spec({"true_peak_max_dbtp": -1.0}, **conversions), songs(0.5), -10.0) is None


ALBUM = {"gain": "to_target", "gain_scope": "album"}
WINDOW = {"at_least": -15, "at_most": -13, "target": -14}


@pytest.mark.parametrize(
    ("requires", "peaks_dbtp", "album_lufs", "gain_db", "sentences"),
    [
        (
            {"album_integrated_lufs": WINDOW, "true_peak_max_dbtp": -1.0},
            (-9.0, -6.0),
            -18.0,
            4.0,
            [
                "album_integrated_lufs: the album as one programme measures -18.00 LUFS, the spec aims at -14.00",
                "the highest peak is then -2.00 dBTP, on track 2, the ceiling is -1.00 dBTP",
            ],
        ),
        (
            {"integrated_lufs": WINDOW, "true_peak_max_dbtp": -1.0},
            (-9.0, -4.5),
            -18.0,
            3.495,
            [
                "integrated_lufs: the album as one programme measures -18.00 LUFS, the spec aims at -14.00",
                "the highest peak is then -1.00 dBTP, on track 2, limited by the ceiling of -1.00 dBTP",
            ],
        ),
        (
            # exactly at the lower edge of the window it is still held
            {"integrated_lufs": WINDOW, "true_peak_max_dbtp": -1.0},
            (-4.005,),
            -18.0,
            3.0,
            [
                "integrated_lufs: the album as one programme measures -18.00 LUFS, the spec aims at -14.00",
                "the highest peak is then -1.00 dBTP, on track 1, limited by the ceiling of -1.00 dBTP",
            ],
        ),
        (
            {"integrated_lufs": WINDOW, "sample_peak_max_dbfs": -0.1},
            (None,),
            -12.0,
            -2.0,
            ["integrated_lufs: the album as one programme measures -12.00 LUFS, the spec aims at -14.00"],
        ),
        (
            {"integrated_lufs": WINDOW},
            (-9.0,),
            -12.0,
            -2.0,
            [
                "integrated_lufs: the album as one programme measures -12.00 LUFS, the spec aims at -14.00",
                "the highest peak is then -11.00 dBTP, on track 1",
            ],
        ),
    ],
)
def test_the_albums_gain_and_its_reason(
    requires: dict[str, Any],
    peaks_dbtp: tuple[float | None, ...],
    album_lufs: float,
    gain_db: float,
    sentences: list[str],
) -> None:
    """Sums by hand."""
    found = album_gain(spec(requires, **ALBUM), songs(*peaks_dbtp), album_lufs)
    assert found
    assert found.gain_db == pytest.approx(gain_db)
    same = "the same on every track, so the balance between songs is kept"
    assert found.because.split("; ") == [*sentences, same]


@pytest.mark.parametrize(
    ("requires", "peaks_dbtp", "album_lufs"),
    [({}, (-9.0,), -18.0), ({"integrated_lufs": WINDOW}, (-9.0,), None), ({"integrated_lufs": WINDOW}, (), -18.0)],
)
def test_nothing_is_turned_without_target_loudness_or_songs(
    requires: dict[str, Any], peaks_dbtp: tuple[float, ...], album_lufs: float | None
) -> None:
    assert album_gain(spec(requires, **ALBUM), songs(*peaks_dbtp), album_lufs) == AlbumGain(0.0, "")
