"""A spec's view of a release is the release file as it would be written for that spec alone."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from delivery.intake import load_release
from delivery.model.release import Identity, LogEntry, Release, Track, Waiver
from delivery.model.release_for import never_together, received, release_for
from tests.intake.releases import release_file, with_tracks

PLACES = st.lists(st.tuples(st.booleans(), st.booleans(), st.booleans()), min_size=1, max_size=9)
"""For each track: whether it goes to the disc, begins a disc, begins a side."""


def of_places(places: list[tuple[bool, bool, bool]], *, only: bool) -> list[str]:
    """Lines of tracks; with *only*, those that do not go to the disc are not written at all."""
    disc, side, tracks = 1, 0, []
    for at, (goes, turns_disc, turns_side) in enumerate(places):
        disc += turns_disc and at > 0
        side += turns_side and at > 0
        lines = [f"disc: {disc}", f"side: {'ABCDEFGHI'[side]}"] + ([] if goes else ["not_for: [cd-master]"])
        if goes or not only:
            tracks.append("\n".join(lines))
    return tracks


def places_of(release: Release) -> list[tuple[int, int]]:
    return [(track.disc, track.number) for track in release.tracks]


@given(places=PLACES)
def test_it_is_numbered_as_if_the_others_had_never_been_written(
    places: list[tuple[bool, bool, bool]], tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Numbers by the loader, from a release file without the tracks that are left out; discs and sides close up."""
    if not any(goes for goes, _, _ in places):
        return
    folder = tmp_path_factory.mktemp("release")
    whole = load_release(release_file(folder, with_tracks(*of_places(places, only=False))))
    alone = load_release(release_file(folder, with_tracks(*of_places(places, only=True))))
    view = release_for(whole, "cd-master")
    discs = {disc: at for at, disc in enumerate(dict.fromkeys(disc for disc, _ in places_of(alone)), start=1)}
    assert places_of(view) == [(discs[disc], number) for disc, number in places_of(alone)]
    sides = list(dict.fromkeys(track.side for track in alone.tracks))
    assert [track.side for track in view.tracks] == ["ABCDEFGHI"[sides.index(track.side)] for track in alone.tracks]
    assert [track.position for track in view.tracks] == [at for at, (goes, _, _) in enumerate(places, 1) if goes]


def track(position: int, *, only: str = "", without: str = "") -> Track:
    return Track(position, Path(f"{position}.wav"), f"Song {position}", position, only_for=tuple(only.split()),
                 not_for=tuple(without.split()))  # fmt: skip


def release(*tracks: Track) -> Release:
    return Release(Path("release.yaml"), "Harbour Arithmetic", "Merrow & the Glass Tide", tracks)


def test_a_release_with_all_tracks_routed_is_unchanged() -> None:
    whole = release(track(1), track(2, only="cd-master"), track(3, without="vinyl-sides"))
    assert release_for(whole, "cd-master") is whole
    assert received(whole, ["vinyl-sides", "cd-master"]) is whole


def test_numbers_that_are_stated_close_up_too() -> None:
    """Songs 1 to 3, alternates from 11 on: the alternates alone are 1 and 2."""
    stated = [replace(track(at), number=number, only_for=("mixes",) if number > 3 else ())
              for at, number in enumerate((1, 2, 3, 11, 12), start=1)]  # fmt: skip
    songs = [replace(one, not_for=("mixes",)) if one.number <= 3 else one for one in stated]
    assert [one.number for one in release_for(release(*songs), "mixes").tracks] == [1, 2]
    assert [one.number for one in release_for(release(*songs), "cd-master").tracks] == [1, 2, 3]


def test_a_job_numbers_its_tracks_as_the_release_file_does() -> None:
    """Sheets refer to the release file, anyone who receives what."""
    whole = release(track(1, without="cd-master"), track(2), track(3))
    assert [one.number for one in received(whole, ["cd-master"]).tracks] == [2, 3]


def test_waivers_and_log_entries_of_a_removed_track_are_removed() -> None:
    waivers = tuple(Waiver("true_peak_max_dbtp", "I. Merrow", "meant", track=at) for at in (None, 1, 2))
    log = tuple(LogEntry("click", "I. Merrow", track=at) for at in (None, 1, 2))
    whole = replace(release(track(1, without="cd-master"), track(2)), waivers=waivers, qc_log=log)
    view = release_for(whole, "cd-master")
    assert [one.track for one in view.waivers] == [None, 2]
    assert [one.track for one in view.qc_log] == [None, 2]
    assert view.track(2).number == 1
    with pytest.raises(KeyError):
        view.track(1)


def test_codes_of_names_that_are_on_no_track_left_are_removed() -> None:
    """A code stays for the release's artist and for everyone on a track that is received, in the order of the file."""
    names = ("Bo Quay", "Merrow & the Glass Tide", "Ada Holm")
    gone = replace(track(1, without="cd-master"), composers=("Ada Holm",), lyricists=("Cy Lund",))
    left = replace(track(2), composers=("Bo Quay",))
    codes = tuple(Identity(name, f"{at:016}") for at, name in enumerate((*names, "Cy Lund")))
    view = release_for(replace(release(gone, left), identities=codes), "cd-master")
    assert view.identities == codes[:2]


def test_tracks_without_a_side_keep_it_so_beside_those_with_one() -> None:
    """A record with a bonus that is on no side: the sides left are renamed, the bonus stays on none."""
    bonus = track(4)
    sides = [replace(track(at), side=side, not_for=("cut",) if at == 1 else ()) for at, side in enumerate("ABC", 1)]
    assert [one.side for one in release_for(release(*sides, bonus), "cut").tracks] == ["A", "B", ""]


@pytest.mark.parametrize(
    ("one", "other", "never"),
    [
        (track(1, only="cd"), track(2, only="vinyl"), True),
        (track(1, only="cd vinyl"), track(2, only="vinyl"), False),
        (track(1, only="vinyl"), track(2, without="vinyl"), True),
        (track(1, without="vinyl"), track(2, only="vinyl"), True),
        (track(1, only="cd vinyl"), track(2, without="vinyl"), False),
        (track(1, without="cd"), track(2, without="vinyl"), False),
        (track(1), track(2, only="cd"), False),
    ],
)
def test_whether_two_tracks_can_meet(one: Track, other: Track, never: bool) -> None:
    assert never_together(one, other) is never
    ids = ["cd", "vinyl", "any other"]
    assert never is not any(one.goes_to(spec) and other.goes_to(spec) for spec in ids)
