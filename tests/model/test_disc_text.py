"""Texts and control bits of a disc: what was stated for discs alone, else label copy."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from pathlib import Path

import pytest

from delivery.model.carrier import Carrier
from delivery.model.cd_text import Flags, disc_text, flags, media_number, track_text
from delivery.model.copy_marks import copy_marks
from delivery.model.release import Credit, Release, Track, Writer
from delivery.model.subcode import CdText

TRACK = Track(
    1, Path("1.wav"), "Low  Water", version="Live", composers=("Ada", "Bo", "Ada"), lyricists=("Bo",),
    writers=(Writer("Wren", ("arranger",)), Writer("Ada", ("composer",))), credits=(Credit("Tam", "arranger"),),
)  # fmt: skip
RELEASE = Release(
    Path("release.yaml"), "Album", "Merrow", (TRACK,), version="Deluxe", genre="Folk", catalogue_number="OSL-014",
    upc="036000291452",
)  # fmt: skip


def test_texts_from_label_copy() -> None:
    """No message is made up: label copy has none."""
    assert disc_text(RELEASE) == CdText("Album (Deluxe)", "Merrow", genre="Folk", disc_id="OSL-014")
    assert track_text(TRACK, RELEASE) == CdText("Low Water (Live)", "Merrow", "Bo", "Ada, Bo", "Wren, Tam")


def test_texts_stated_for_the_disc_come_first() -> None:
    stated = CdText(title="ALBUM", performer="MERROW", message="Play it loud")
    release = replace(RELEASE, cd_text=stated)
    assert disc_text(release) == CdText("ALBUM", "MERROW", message="Play it loud", genre="Folk", disc_id="OSL-014")
    assert track_text(TRACK, release).performer == "MERROW"
    assert track_text(replace(TRACK, cd_text=CdText(composer="A. Quay")), release).composer == "A. Quay"


@pytest.mark.parametrize(
    ("upc", "number"), [("036000291452", "0036000291452"), ("4006381333931", "4006381333931"), ("", ""), ("12345", "")]
)
def test_the_number_of_the_medium(upc: str, number: str) -> None:
    """GS1: a UPC-A is the EAN-13 of the same digits with a leading zero."""
    assert media_number(replace(RELEASE, upc=upc)) == number


@pytest.mark.parametrize(("stated", "of_spec", "permitted"), [(None, True, True), (None, False, False),
                                                            (True, False, True), (False, True, False)])  # fmt: skip
def test_a_tracks_own_copy_flag_comes_before_the_specs(stated: bool | None, of_spec: bool, permitted: bool) -> None:
    track = replace(TRACK, copy_permitted=stated, pre_emphasis=True)
    assert flags(track, Carrier("cd", copy_permitted=of_spec)) == Flags(permitted, True)


def test_an_approval_stores_a_mark_for_each_supplied_field_only() -> None:
    """Else every approval given before a field existed would be about other label copy. No samples is a statement.

    A mark is the SHA-256 of the value as JSON: approvals in release files stay valid as long as that does not change.
    """
    of_release, of_track = copy_marks(RELEASE)
    assert set(of_release.fields) == {"artist", "catalogue_number", "genre", "upc"}
    assert set(of_track.fields) == {"artists", "composers", "credits", "lyricists", "writers"}
    assert (of_release.title, of_track.title) == ("Album (Deluxe)", "Low  Water (Live)")
    assert of_release.fields["genre"] == hashlib.sha256(b'"Folk"').hexdigest()[:12]
    (accented, _) = copy_marks(replace(RELEASE, genre="Fölk"))
    assert accented.fields["genre"] == hashlib.sha256('"Fölk"'.encode()).hexdigest()[:12]
    (_, none_sampled) = copy_marks(replace(RELEASE, tracks=(replace(TRACK, samples=()),)))
    assert set(none_sampled.fields) - set(of_track.fields) == {"samples"}


@pytest.mark.parametrize(
    ("copies", "emphasised", "text"),
    [(False, False, "copy prohibited"), (True, False, "copy permitted"), (False, True, "copy prohibited, pre-emphasis"),
     (True, True, "copy permitted, pre-emphasis")],
)  # fmt: skip
def test_control_bits_in_words(copies: bool, emphasised: bool, text: str) -> None:
    assert Flags(copies, emphasised).text == text
