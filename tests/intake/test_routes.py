"""only_for and not_for of a track: read, and refused where they are impossible."""

from __future__ import annotations

from pathlib import Path

import pytest

from delivery.errors import Faulty
from delivery.intake import load_release
from delivery.pipeline import resolve_request
from tests.intake.releases import release_file, with_tracks


def refusals(path: Path, *specs: str) -> list[str]:
    with pytest.raises(Faulty) as caught:
        resolve_request(path, specs)
    return [str(fault) for fault in caught.value.faults]


def test_they_are_read(tmp_path: Path) -> None:
    text = with_tracks("not_for: [cd-master, vinyl-sides]", "only_for: [cd-master]", "")
    first, second, third = load_release(release_file(tmp_path, text)).tracks
    assert first.not_for == ("cd-master", "vinyl-sides")
    assert second.only_for == ("cd-master",)
    assert [track.goes_to("cd-master") for track in (first, second, third)] == [False, True, True]
    assert [track.goes_to("store-master-24") for track in (first, second, third)] == [True, False, True]


def test_an_id_of_no_spec_of_the_delivery_is_refused_by_line(tmp_path: Path) -> None:
    text = with_tracks("not_for: [cd-mater]", "only_for: [sync-48-24]")
    text += "deliver_to: [cd-master, store-master-24]\n"
    assert refusals(release_file(tmp_path, text)) == [
        "release.yaml:5 tracks 1 not_for 1: found 'cd-mater', which is no spec of this delivery, wanted the id of a "
        "spec under deliver_to (cd-master, store-master-24). Write cd-master.",
        "release.yaml:8 tracks 2 only_for 1: found 'sync-48-24', which is no spec of this delivery, wanted the id of a "
        "spec under deliver_to (cd-master, store-master-24). Correct the id, or name the spec under deliver_to.",
    ]


def test_ids_of_the_whole_job_are_valid_with_a_single_spec(tmp_path: Path) -> None:
    """--spec cd-master checks one carrier of a file that serves three."""
    text = with_tracks("not_for: [vinyl-sides]", "") + "deliver_to: [cd-master, vinyl-sides, specs/own.yaml]\n"
    assert resolve_request(release_file(tmp_path, text), ("cd-master",)).specs[0].id == "cd-master"
    text = with_tracks("not_for: [own]", "") + "deliver_to: [cd-master, specs/own.yaml]\n"
    assert resolve_request(release_file(tmp_path, text), ("cd-master",)).release.tracks[0].not_for == ("own",)


def test_without_deliver_to_any_spec_that_exists_may_be_named(tmp_path: Path) -> None:
    path = release_file(tmp_path, with_tracks("not_for: [vinyl-sides]", ""))
    assert resolve_request(path, ("cd-master",)).specs
    assert (
        "Write vinyl-sides"
        in refusals(release_file(tmp_path, with_tracks("not_for: [vinyl-side]", "")), "cd-master")[0]
    )


def test_a_spec_without_tracks_is_refused(tmp_path: Path) -> None:
    path = release_file(tmp_path, with_tracks("not_for: [cd-master]", "only_for: [vinyl-sides]"))
    (refusal,) = refusals(path, "cd-master", "vinyl-sides")
    assert "no track for cd-master, wanted at least one track for each spec" in refusal


def test_both_lists_on_one_track_contradict_each_other(tmp_path: Path) -> None:
    path = release_file(tmp_path, with_tracks("not_for: [cd-master]\nonly_for: [vinyl-sides]"))
    with pytest.raises(Faulty, match="found only_for and not_for of one track, wanted one of the two"):
        load_release(path)


@pytest.mark.parametrize("stated", ["cd-master", "[]", "[cd-master, cd-master]", "[{id: cd-master}]"])
def test_anything_but_a_list_of_ids_is_refused(tmp_path: Path, stated: str) -> None:
    with pytest.raises(Faulty, match="not_for"):
        load_release(release_file(tmp_path, with_tracks(f"not_for: {stated}")))


ORDERS = """\
title: Harbour Arithmetic
tracks:
  - {{file: 01.wav, title: One, not_for: [vinyl-sides, cassette-sides]}}
  - {{file: 02.wav, title: Two, not_for: [vinyl-sides, cassette-sides]}}
  - {{file: 02.wav, title: Two, only_for: [{first}], side: A}}
  - {{file: 01.wav, title: One, only_for: [vinyl-sides], side: B}}
  - {{file: 01.wav, title: One, only_for: [cassette-sides], side: A}}
  - {{file: 02.wav, title: Two, only_for: [cassette-sides], side: B}}
"""


def test_a_carrier_may_have_a_different_order(tmp_path: Path) -> None:
    """The same masters once for each carrier, and side A again for another carrier, are no contradiction."""
    release = load_release(release_file(tmp_path, ORDERS.format(first="vinyl-sides")))
    assert [track.side for track in release.tracks] == ["", "", "A", "B", "A", "B"]


def test_one_carrier_still_has_each_master_and_each_side_once(tmp_path: Path) -> None:
    with pytest.raises(Faulty) as caught:
        load_release(release_file(tmp_path, ORDERS.format(first="vinyl-sides, cassette-sides")))
    output = "\n".join(str(fault) for fault in caught.value.faults)
    assert "tracks 6 file: found the file of track 3 again" in output
    assert len(caught.value.faults) == 1
    text = ORDERS.format(first="vinyl-sides").replace("[cassette-sides]", "[vinyl-sides]")
    with pytest.raises(Faulty, match="found side A again, after side B"):
        load_release(release_file(tmp_path, text))
