"""The gain of a song or an album under a spec's rules, worked by hand, and the reason as it is printed."""

from __future__ import annotations

import math
from typing import Any

import pytest

from delivery.chain.album_gain import SAME, album_gain
from delivery.chain.gain import form_headroom_db, gain_wanted_db, headroom_db, to_target_db
from delivery.model.spec import Spec
from tests.chain.test_plan import master, spec

WINDOW = {"at_least": -15.0, "at_most": -13.0, "target": -14.0}
PEAK = {"true_peak_max_dbtp": -1.0}


def album(requires: dict[str, Any], gain: str) -> Spec:
    return spec(requires, gain=gain, gain_scope="album")


def loud(true_peak_dbtp: float | None, **more: Any) -> Any:
    return master(true_peak_dbtp=true_peak_dbtp, sample_peak_dbfs=true_peak_dbtp, **more)


@pytest.mark.parametrize(
    ("loudness", "gain_db"),
    [(-20.0, 6.0), (-15.01, 1.01), (-15.0, 0.0), (-14.4, 0.0), (-13.0, 0.0), (-12.0, -2.0)],
)
def test_gain_to_the_target_only_from_outside_the_window(loudness: float, gain_db: float) -> None:
    assert to_target_db(WINDOW, loudness) == pytest.approx(gain_db)
    assert to_target_db({"target": -14.0}, loudness) == 0.0, "a target without a window has no outside"
    assert to_target_db({"at_most": -16.0}, loudness) == 0.0, "a window without a target names none"


def test_headroom_to_the_nearer_of_two_ceilings() -> None:
    """A trim lands half of the last printed digit inside the ceiling; headroom that is there is given exactly."""
    both = {"true_peak_max_dbtp": -1.0, "sample_peak_max_dbfs": -2.0}
    peaks = master(true_peak_dbtp=-3.0, sample_peak_dbfs=-3.5)
    assert headroom_db(spec(both), peaks) == pytest.approx(1.5)
    assert headroom_db(spec(PEAK), peaks) == pytest.approx(2.0)
    assert headroom_db(spec(PEAK), master(true_peak_dbtp=-0.5)) == pytest.approx(-0.505)
    assert headroom_db(spec(PEAK), master(true_peak_dbtp=-1.0)) == 0.0
    assert headroom_db(spec({}), peaks) == 0.0
    assert headroom_db(spec(PEAK), master(true_peak_dbtp=None)) == 0.0


def test_integers_hold_no_more_than_full_scale() -> None:
    """A float master with a sample of +2 dBFS, delivered as integers; floats have no such limit."""
    over = master(coding="float", bits=32, effective_bits=None, sample_peak_dbfs=2.0, true_peak_dbtp=2.0)
    as_integers = spec({"coding": ["pcm"], "bits": [24]}, depth="lower", gain="down_to_ceiling")
    assert form_headroom_db(as_integers, over) == pytest.approx(-2.005, abs=1e-5)
    assert gain_wanted_db(as_integers, over) == pytest.approx(-2.005, abs=1e-5)
    assert form_headroom_db(spec({"coding": ["float"]}), over) == math.inf
    quiet = master(sample_peak_dbfs=-6.0)
    assert form_headroom_db(as_integers, quiet) == pytest.approx(6.0, abs=1e-5)
    assert form_headroom_db(as_integers, master(sample_peak_dbfs=None)) == math.inf
    assert form_headroom_db(as_integers, master(coding="mp3", container="mp3", bits=None)) == math.inf


def test_a_song_is_only_turned_down_to_a_ceiling() -> None:
    down = spec(PEAK, gain="down_to_ceiling")
    assert gain_wanted_db(down, loud(-3.0)) == 0.0
    assert gain_wanted_db(down, loud(-0.5)) == pytest.approx(-0.505)
    assert gain_wanted_db(spec(PEAK), loud(-0.5)) == 0.0
    to_target = spec(PEAK | {"integrated_lufs": WINDOW}, gain="to_target")
    assert gain_wanted_db(to_target, loud(-0.5, integrated_lufs=-16.0)) == pytest.approx(2.0)
    assert gain_wanted_db(to_target, loud(-0.5, integrated_lufs=None)) == 0.0
    assert gain_wanted_db(spec(PEAK, gain="to_target"), loud(-0.5)) == 0.0


@pytest.mark.parametrize("scope_and_gain", [("track", "to_target"), ("album", "never")])
def test_no_album_gain_unless_the_spec_requires_it(scope_and_gain: tuple[str, str]) -> None:
    scope, gain = scope_and_gain
    assert album_gain(spec(PEAK, gain=gain, gain_scope=scope), [("1", loud(-0.5))], -14.0) is None


def test_the_song_over_the_ceiling_the_most_decides_for_the_album() -> None:
    songs = [("1.1", loud(-0.5)), ("1.2", loud(0.25)), ("2.1", loud(-6.0))]
    found = album_gain(album(PEAK, "down_to_ceiling"), songs, None)
    assert found is not None
    assert found.gain_db == pytest.approx(-1.255)
    assert found.because == f"true_peak_max_dbtp: down to the ceiling, as required by track 1.2; {SAME}"
    none = album_gain(album(PEAK, "down_to_ceiling"), [], None)
    assert none is not None
    assert none.gain_db == 0.0


def test_an_album_is_brought_to_the_target_as_one_programme() -> None:
    """-16 LUFS to -14 is +2 dB; the song with the least headroom is named with its peak after that."""
    songs = [("1", loud(-9.0)), ("2", loud(-4.0))]
    found = album_gain(album(PEAK | {"album_integrated_lufs": WINDOW}, "to_target"), songs, -16.0)
    assert found is not None
    assert found.gain_db == pytest.approx(2.0)
    assert found.because == (
        "album_integrated_lufs: the album as one programme measures -16.00 LUFS, the spec aims at -14.00; "
        f"the highest peak is then -2.00 dBTP, on track 2, the ceiling is -1.00 dBTP; {SAME}"
    )
    by_track_key = album_gain(album({"integrated_lufs": WINDOW}, "to_target"), songs, -16.0)
    assert by_track_key is not None
    assert by_track_key.because.startswith("integrated_lufs: the album")
    assert "ceiling" not in by_track_key.because


def test_the_ceiling_holds_an_album_back_if_it_is_then_within_the_window() -> None:
    """-15.5 LUFS is 1.5 dB under the target; 0.8 dB of headroom, less half of the last digit, is inside the window."""
    requires = PEAK | {"integrated_lufs": WINDOW}
    songs = [("1", loud(-9.0)), ("2", loud(-1.8))]
    found = album_gain(album(requires, "to_target"), songs, -15.5)
    assert found is not None
    assert found.gain_db == pytest.approx(0.795)
    assert "on track 2, limited by the ceiling of -1.00 dBTP; " in found.because
    assert "peak is then -1.00 dBTP" in found.because
    outside = album_gain(album(requires, "to_target"), songs, -16.0)
    assert outside is not None
    assert outside.gain_db == pytest.approx(2.0), "0.795 dB would not reach the window: the rule about peaks refuses it"
    down = album_gain(album(requires, "to_target"), songs, -10.0)
    assert down is not None
    assert down.gain_db == pytest.approx(-4.0)


def test_no_gain_where_the_album_was_not_measured() -> None:
    requires = PEAK | {"integrated_lufs": WINDOW}
    for found in (
        album_gain(album(requires, "to_target"), [("1", loud(-9.0))], None),
        album_gain(album(requires, "to_target"), [], -16.0),
        album_gain(album(PEAK, "to_target"), [("1", loud(-9.0))], -16.0),
    ):
        assert found is not None
        assert (found.gain_db, found.because) == (0.0, "")


def test_a_peak_that_is_not_known_is_not_printed() -> None:
    found = album_gain(album({"integrated_lufs": WINDOW}, "to_target"), [("1", loud(None))], -16.0)
    assert found is not None
    assert "peak" not in found.because
    assert found.because.endswith(f"the spec aims at -14.00; {SAME}")
