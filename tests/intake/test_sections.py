"""Sections of a track and versions of another one, as a release file states them."""

from __future__ import annotations

from pathlib import Path

import pytest

from delivery.errors import Faulty
from delivery.intake import load_release
from delivery.model.release import Release
from delivery.model.sections import Section, SectionStart, stated_sections


def released(folder: Path, *tracks: str) -> Release:
    """A release whose tracks have these further lines."""
    text = "title: T\nartist: A\ntracks:\n"
    for number, lines in enumerate(tracks, 1):
        text += f"  - file: {number}.wav\n    title: Song {number}\n"
        text += "".join(f"    {line}\n" for line in lines.splitlines())
    (folder / "release.yaml").write_text(text, encoding="utf-8")
    return load_release(folder / "release.yaml")


def test_sections_are_read_with_their_times(tmp_path: Path) -> None:
    release = released(
        tmp_path, 'sections: [{name: verse, from: 0:14.0}, {name: chorus, from: "1:02.25"}, {name: verse, from: 90}]'
    )
    assert release.tracks[0].sections == (
        SectionStart("verse", 14.0), SectionStart("chorus", 62.25), SectionStart("verse", 90.0),
    )  # fmt: skip


def test_a_section_ends_where_the_next_begins_and_names_are_counted() -> None:
    starts = [SectionStart("verse", 14.0), SectionStart("chorus", 62.0), SectionStart("verse", 90.0)]
    assert stated_sections(starts, 120.0) == (
        Section("verse", 14.0, 62.0), Section("chorus", 62.0, 90.0), Section("verse 2", 90.0, 120.0),
    )  # fmt: skip
    assert [each.end_s for each in stated_sections(starts, 70.0)] == [62.0, 70.0]


@pytest.mark.parametrize(
    ("stated", "fault"),
    [
        ("sections: [{name: a, from: 20}, {name: b, from: 10}]", r"release\.yaml:6 tracks 1 sections 2 from: found 10"),
        ("sections: [{name: a, from: 1:75}]", "wanted a time such as"),
        ("sections: [{name: a}]", "from"),
        ("sections: [{name: a, from: 0, to: 5}]", "to"),
        ("version_of: 1", "found track 1, which is the track itself"),
        ("version_of: 3", "found track 3, wanted the position of the main version, 1 to 2"),
    ],
)  # fmt: skip
def test_faults_are_reported_with_file_and_line(tmp_path: Path, stated: str, fault: str) -> None:
    with pytest.raises(Faulty, match=fault):
        released(tmp_path, stated, "")


def test_a_version_of_a_version_is_refused(tmp_path: Path) -> None:
    assert released(tmp_path, "", "version_of: 1").tracks[1].version_of == 1
    with pytest.raises(Faulty, match="which is a version of track 1 itself"):
        released(tmp_path, "", "version_of: 1", "version_of: 2")
