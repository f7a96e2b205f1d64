"""Values from folder and file names are marked, and confirming removes only the marks."""

from __future__ import annotations

from pathlib import Path

import pytest

from delivery.errors import Faulty, Unusable
from delivery.intake import confirm_values, first_release_file, load_release
from delivery.intake.release.confirm import HINT, without
from delivery.model.unconfirmed import Unconfirmed, in_short, unconfirmed
from tests.intake.test_start import cover, loaded, master

pytestmark = pytest.mark.usefixtures("no_studio")


def addresses(found: tuple[Unconfirmed, ...]) -> list[str]:
    return [one.address for one in found]


def test_names_are_guesses(tmp_path: Path) -> None:
    folder = tmp_path / "Harbour Arithmetic"
    for name in ("Merrow - 01 - Low Water.wav", "Merrow - 03 - Lamps ZZOSL2600002.wav"):
        master(folder / name)
    cover(folder / "front.jpg")
    found = unconfirmed(loaded(folder, first_release_file(folder)))
    assert addresses(found) == ["title", "artist", "artwork", "tracks", "title:1", "title:2", "isrc:2", "number:2"]
    assert [one.value for one in found][:4] == ["Harbour Arithmetic", "Merrow", "front.jpg", "Low Water, Lamps"]
    assert found[-1].pointer == "tracks/1/number"


def test_values_from_tags_count_as_stated(tmp_path: Path) -> None:
    album = {"album": "Harbour Arithmetic", "album_artist": "Merrow"}
    master(tmp_path / "03 x ZZOSL2600009.flac", **album, title="Low Water", track_number="3", isrc="ZZOSL2600001")
    master(tmp_path / "04 y.flac", **album, title="Lamps", track_number="4")
    assert unconfirmed(loaded(tmp_path, first_release_file(tmp_path))) == ()


def test_folders_of_discs_are_guesses(tmp_path: Path) -> None:
    for name in ("CD1/1 A.wav", "CD2/1 B.wav"):
        master(tmp_path / name)
    found = addresses(unconfirmed(loaded(tmp_path, first_release_file(tmp_path))))
    assert found == ["title", "tracks", "title:1", "disc:1", "title:2", "disc:2"]


def test_a_mark_without_its_value_is_none(tmp_path: Path) -> None:
    """Who takes a guess out need not look for its mark."""
    master(tmp_path / "A ZZOSL2600001.wav")
    text = first_release_file(tmp_path).replace('isrc: "ZZOSL2600001"', "isrc:")
    assert addresses(unconfirmed(loaded(tmp_path, text))) == ["title", "title:1"]


def test_a_mistyped_mark_is_a_fault(tmp_path: Path) -> None:
    master(tmp_path / "A.wav")
    text = first_release_file(tmp_path).replace("to_confirm: [title]\n", "to_confirm: [titel]\n")
    with pytest.raises(Faulty, match="titel"):
        loaded(tmp_path, text)


FILE = f"""\
to_confirm: [title, tracks]  {HINT}
title: "masters"  # ask Ada
artist: "Merrow"
tracks:
  - file: "a.wav"
    # by ear: in C
    title: "A"
    to_confirm:   # look twice
      - title  # 'A' or 'Ah'?
      - isrc
    isrc: "ZZOSL2600001"
  - {{file: "b.wav", title: "B", to_confirm: [title]}}
  - to_confirm: [title]
    file: "c.wav"
    title: "C"
"""


def test_confirming_leaves_every_other_byte() -> None:
    assert without(FILE, {("title", None)}) == FILE.replace("[title, tracks]", "[tracks]")
    gone = without(FILE, {("title", None), ("tracks", None)})
    assert gone == FILE.split("\n", 1)[1]
    assert without(FILE, {("title", 2)}) == FILE.replace('"B", to_confirm: [title]', '"B", to_confirm: []')
    assert without(FILE, {("title", 3)}) == FILE.replace("- to_confirm: [title]", "- to_confirm: []")
    windows = FILE.replace("\n", "\r\n")
    assert without(windows, {("title", None), ("tracks", None)}) == gone.replace("\n", "\r\n")


def test_comments_are_kept_in_a_shorter_list() -> None:
    one_less = without(FILE, {("title", 1)})
    assert "    # look twice\n    # 'A' or 'Ah'?\n    to_confirm: [isrc]\n    isrc:" in one_less
    none = without(FILE, {("title", 1), ("isrc", 1)})
    assert "    # look twice\n    # 'A' or 'Ah'?\n    isrc:" in none
    assert "# by ear: in C" in none


def test_nothing_is_written_into_what_cannot_be_edited(tmp_path: Path) -> None:
    path = tmp_path / "release.yaml"
    text = (
        'title: "M"\nartist: "Mo"\ntracks:\n  - {file: a.wav, title: A, to_confirm: &it [title]}\n'
        "  - {file: b.wav, title: B, to_confirm: *it}\n"
    )
    path.write_text(text, encoding="utf-8")
    with pytest.raises((Unusable, Faulty)):
        confirm_values(path, {("title", 1)})
    assert path.read_text(encoding="utf-8") == text


def test_a_byte_order_mark_stays(tmp_path: Path) -> None:
    path = tmp_path / "release.yaml"
    path.write_text("\ufeff" + FILE, encoding="utf-8")
    confirm_values(path, {(one.key, one.track) for one in unconfirmed(load_release(path))})
    assert path.read_text(encoding="utf-8").startswith("\ufefftitle:")
    assert unconfirmed(load_release(path)) == ()


def test_one_sentence_for_many(tmp_path: Path) -> None:
    for number in range(1, 8):
        master(tmp_path / f"{number:02} Song {number}.wav", seconds=0.1)
    reported = in_short(unconfirmed(loaded(tmp_path, first_release_file(tmp_path))))
    assert reported.endswith(
        "; order of the tracks; title of tracks 1, 2, 3, 4, 5, 6, 7 "
        "('Song 1', 'Song 2', 'Song 3', 'Song 4', 'Song 5' and 2 more)"
    )
