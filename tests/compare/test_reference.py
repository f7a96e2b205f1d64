"""Medians, quartiles, tone at matched loudness, marks and the opening, on kept figures made up here."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest
import scipy.stats

from delivery.compare.reference import COMPARED, PLAIN, SIDE_MID, beside, marks_of, side_mid_db, spread, together
from delivery.model.reference import Beside, Doubt, Reference, ReferenceComparison, ReferenceTrack
from delivery.report.view import reference as view
from delivery.report.view.reference_opening import nominal_hz, opening

MIDDLES = tuple(round(1000 * 10 ** (k / 10), 2) for k in range(-16, 14))


def figures(lufs: float = -10.0, tone: Sequence[float] | None = None, **changes: Any) -> dict[str, Any]:
    """A stereo FLAC of four minutes, pink where *tone* does not differ."""
    numbers = dict.fromkeys((*PLAIN, *COMPARED, SIDE_MID), 1.0)
    levels = tone if tone is not None else [0.0] * len(MIDDLES)
    return {
        **numbers,
        "duration_s": 240.0,
        "bits": 24,
        "coding": "pcm",
        "channels": 2,
        "integrated_lufs": lufs,
        "true_peak_dbtp": -1.0,
        "third_octave_hz": MIDDLES,
        "third_octave_re_loudness_db": tuple(levels),
        "clip_run_count": 0,
        "identical_channels": False,
        "nearly_mono": False,
        "lossy_coder": "none",
        **changes,
    }


def playlist(*songs: dict[str, Any]) -> Reference:
    tracks = (ReferenceTrack(f"{at:02} Peer.flac", f"hash{at}", "m", one) for at, one in enumerate(songs, 1))
    return Reference("folk", tuple(tracks))


def peers(count: int, tilt: float = 0.5) -> list[dict[str, Any]]:
    """Loudness from -12 LUFS up by 1 LU, all bands from the median by *tilt* dB a song."""
    middle = (count - 1) / 2
    return [figures(-12.0 + at, [tilt * (at - middle)] * len(MIDDLES)) for at in range(count)]


def boosted(low_hz: float, high_hz: float, db: float) -> list[float]:
    return [db if low_hz <= hz <= high_hz else 0.0 for hz in MIDDLES]


@pytest.mark.parametrize("count", [3, 4, 7, 50])
def test_quartiles_are_those_of_scipy(count: int) -> None:
    """Linear interpolation between ranks: scipy.stats.scoreatpercentile, another implementation than ours."""
    values = np.random.default_rng(count).normal(-10, 2, count).tolist()
    found = spread(-9.0, values)
    wanted = [scipy.stats.scoreatpercentile(values, percent) for percent in (25, 50, 75)]
    assert (found.q25, found.median, found.q75) == pytest.approx(wanted)
    assert found.difference == pytest.approx(-9.0 - wanted[1])


@pytest.mark.parametrize("count", [1, 2])
def test_fewer_than_three_have_single_values_and_no_quartiles(count: int) -> None:
    song = beside("Song", figures(-10.0), playlist(*peers(count)))
    loudness = song.figures["integrated_lufs"]
    assert (loudness.q25, loudness.q75, loudness.outside) == (None, None, None)
    assert loudness.values == tuple(-12.0 + at for at in range(count))
    assert opening(song)[-1] == "Fewer than three tracks: single values, no middle half."
    assert view.rows(song, ["integrated_lufs"])[0].middle_half == ", ".join(f"{-12.0 + at:.1f}" for at in range(count))


def test_a_missing_value_is_left_out_of_the_median_and_never_zero() -> None:
    found = spread(None, [1.0, None, 3.0, 5.0])
    assert found.values == (1.0, 3.0, 5.0)
    assert (found.median, found.difference, found.outside) == (3.0, None, None)


def test_outside_is_the_distance_to_the_nearer_quartile() -> None:
    assert [spread(song, [0.0, 1.0, 2.0, 3.0, 4.0]).outside for song in (0.5, 1.0, 2.0, 3.0, 3.75)] == [
        -0.5,
        0.0,
        0.0,
        0.0,
        0.75,
    ]


@pytest.mark.parametrize("share", [0.0, 0.1, 0.5, 0.9])
def test_side_over_mid_follows_from_the_loss_in_mono(share: float) -> None:
    """By the definition, on noise: S = L - R, M = L + R."""
    chance = np.random.default_rng(1)
    mid, side = chance.standard_normal(200_000), share * chance.standard_normal(200_000)
    left, right = mid + side, mid - side
    kept = np.mean((left + right) ** 2) / (2 * np.mean(left**2 + right**2))
    wanted = 10 * np.log10(max(np.mean((left - right) ** 2) / np.mean((left + right) ** 2), 1e-12))
    assert side_mid_db(-10 * np.log10(kept)) == pytest.approx(wanted, abs=0.01)


def test_the_opening_states_loudness_low_end_and_outliers() -> None:
    song = beside("Song", figures(-12.1, boosted(3000, 5100, 1.8)), playlist(*peers(5)))
    assert opening(song) == (
        "2.1 LU below the median of the reference playlist.",
        "Low end, 80 to 160 Hz, inside the middle half.",
        "3 to 5 kHz is 1.8 dB above the median, outside the middle half.",
    )


def test_the_opening_states_when_no_change_is_needed() -> None:
    song = beside("Song", figures(-10.3), playlist(*peers(5)))
    assert opening(song)[-1] == (
        "Loudness and tone lie in the middle half of the reference playlist; no change is suggested."
    )
    near = beside("Song", figures(-10.3, boosted(5900, 10100, 0.8)), playlist(*peers(5)))
    assert opening(near)[-1] == (
        "Loudness and tone lie in the middle half of the reference playlist or within 0.5 dB of it; "
        "no change is suggested."
    )
    for changed in (figures(-7.5), figures(-10.3, boosted(80, 160, -2)), figures(-10.3, boosted(5900, 10100, 1.2))):
        sentences = opening(beside("Song", changed, playlist(*peers(5))))
        assert len(sentences) <= 3
        assert not any("change is suggested" in sentence for sentence in sentences)


def test_no_sentence_grades_or_corrects() -> None:
    chance = np.random.default_rng(5)
    for _ in range(40):
        song = figures(chance.normal(-10, 2), chance.normal(0, 2, len(MIDDLES)))
        sentences = opening(beside("Song", song, playlist(*peers(int(chance.integers(1, 8))))))
        assert 1 <= len(sentences) <= 3
        text = " ".join(sentences).lower()
        assert not any(word in text for word in ("good", "bad", "too ", "should", "score", "cut", "boost", "recommend"))


def test_an_octave_adds_up_the_power_of_three_third_octaves() -> None:
    song = beside("Song", figures(tone=[0.0] * 30), playlist(*peers(3)))
    at_1k = next(band for band in song.octaves if 790 < band.low_hz < 800)
    assert (round(at_1k.low_hz), round(at_1k.high_hz)) == (794, 1259)
    assert at_1k.level.song == pytest.approx(10 * np.log10(3))


def test_bands_a_lower_rate_does_not_have_are_compared_with_the_rest() -> None:
    low_rate = figures(third_octave_hz=MIDDLES[:27], third_octave_re_loudness_db=(0.0,) * 27)
    song = beside("Song", figures(), playlist(*peers(3), low_rate))
    assert len(song.third_octaves[0].level.values) == 4
    assert len(song.third_octaves[-1].level.values) == 3


def test_playback_at_one_loudness_is_gain_alone() -> None:
    song = beside("Song", figures(-9.0, true_peak_dbtp=-0.5), playlist(*peers(3)))
    assert [each.target_lufs for each in song.playback] == [-14, -16, -18, -23]
    assert [each.gain_db.song for each in song.playback] == [-5, -7, -9, -14]
    assert [each.peak_dbtp.song for each in song.playback] == [-5.5, -7.5, -9.5, -14.5]
    assert song.playback[0].gain_db.median == pytest.approx(-3.0)


def test_songs_of_one_loudness_are_marked_as_normalised() -> None:
    alike = [figures(-14.0 + 0.05 * at) for at in range(5)]
    marks = marks_of(playlist(*alike, figures(-9.0), figures(-11.0)).tracks)
    assert list(marks) == [f"{at:02} Peer.flac" for at in range(1, 6)]
    assert {mark.doubt for own in marks.values() for mark in own} == {Doubt.NORMALISED}
    assert marks["01 Peer.flac"][0].reason == "5 of 7 tracks lie within 0.3 LU of each other, about -13.9 LUFS"


@pytest.mark.parametrize("levels", [(-10.0, -10.1), (-9.0, -10.0, -11.0, -12.0), (-10.0, -10.1, -11.0, -12.0)])
def test_usual_spreads_of_loudness_are_not_normalised(levels: tuple[float, ...]) -> None:
    assert marks_of(playlist(*map(figures, levels)).tracks) == {}


@pytest.mark.parametrize(
    ("changes", "doubt"),
    [
        ({"bits": None, "coding": "mp3"}, Doubt.LOSSY),
        ({"lossy_coder": "AAC"}, Doubt.LOSSY),
        ({"clip_run_count": 12}, Doubt.CLIPPED),
        ({"channels": 1, "identical_channels": None}, Doubt.MONO),
        ({"identical_channels": True}, Doubt.MONO),
        ({"nearly_mono": True}, Doubt.MONO),
        ({"duration_s": 45.0}, Doubt.EDITED_DOWN),
        ({"duration_s": 90.0}, Doubt.EDITED_DOWN),
    ],
)
def test_doubtful_tracks_are_marked_with_the_reason(changes: dict[str, Any], doubt: Doubt) -> None:
    marks = marks_of(playlist(figures(-9.0, **changes), *peers(4)).tracks)
    assert list(marks) == ["01 Peer.flac"]
    assert [mark.doubt for mark in marks["01 Peer.flac"]] == [doubt]
    assert marks["01 Peer.flac"][0].reason


def test_marks_follow_the_tracks_that_are_left() -> None:
    """Without the rest of its group a track no longer looks normalised."""
    tracks = playlist(*[figures(-14.0)] * 3, figures(-9.0)).tracks
    assert len(marks_of(tracks)) == 3
    assert marks_of(tracks[2:]) == {}


def test_an_album_has_its_own_loudness_and_the_medians_of_its_songs() -> None:
    songs = [figures(-9.0, plr_db=8.0), figures(-11.0, plr_db=10.0, true_peak_dbtp=-0.2), figures(-10.0, plr_db=12.0)]
    whole = together(songs, -9.8)
    assert (whole["integrated_lufs"], whole["plr_db"], whole["true_peak_dbtp"]) == (-9.8, 10.0, -0.2)
    assert beside("Album", whole, playlist(*peers(3))).third_octaves[5].level.song == 0.0


def found(song: Beside, **changes: Any) -> ReferenceComparison:
    reference = playlist(*peers(3))
    return ReferenceComparison(**{"reference": reference, "marks": {}, "left_out": (), "older": (), "songs": (song,),
                                  **changes})  # fmt: skip


def test_remarks_name_doubtful_and_older_tracks_with_the_remedy() -> None:
    song = beside("Song", figures(), playlist(*peers(3)))
    marks = marks_of(playlist(*[figures(-9.0 - at, clip_run_count=1) for at in range(5)]).tracks)
    reported = view.remarks(found(song, marks=marks, older=("a.flac", "b.flac")))
    assert reported[0] == "5 reference tracks clipped: 01 Peer.flac, 02 Peer.flac, 03 Peer.flac and 2 more."
    assert "delivery reference show folk" in reported[1]
    assert reported[2].startswith("2 tracks of folk measured by another version of the meters. Measure again: ")


@pytest.mark.parametrize(
    ("middle_hz", "name"), [(25.12, 25), (31.62, 31.5), (79.43, 80), (158.49, 160), (3162.28, 3150), (19952.62, 20000)]
)
def test_bands_have_their_nominal_names(middle_hz: float, name: float) -> None:
    """IEC 61260-1:2014, Annex E, from memory; 31.5 is rounded there, and so it is here."""
    assert nominal_hz(middle_hz) == name
