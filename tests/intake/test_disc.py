"""What a release file states for discs and records: index points, flags, CD-Text, bands, how to cut; and its faults."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from delivery.errors import Faulty
from delivery.intake import load_release
from delivery.intake.yaml.schema_formats import index_point_of, is_index_point
from delivery.model.release import Release

HEAD = 'title: "Harbour Arithmetic"\nartist: "Merrow & the Glass Tide"\n'


def loaded(folder: Path, track: str, head: str = "") -> Release:
    path = folder / "release.yaml"
    path.write_text(f"{HEAD}{head}tracks:\n  - {{file: a.wav, title: One, {track}}}\n", encoding="utf-8", newline="\n")
    return load_release(path)


@pytest.mark.parametrize(
    ("stated", "at_s"),
    [
        ("01:10:33", Fraction(75 * 70 + 33, 75)),  # 75 frames a second, IEC 60908
        ("1:10.44", Fraction(7044, 100)),
        ("70.44", Fraction(7044, 100)),
        ("5", Fraction(5)),
        ("99:59:74", Fraction(75 * 5999 + 74, 75)),
    ],
)
def test_places_are_exact(stated: str, at_s: Fraction) -> None:
    assert is_index_point(stated)
    assert index_point_of(stated).at_s == at_s


@pytest.mark.parametrize("stated", ["01:10:75", "01:60:00", "1:2:3", "01:02:03.5", "", "soon", "-3", "3 frames"])
def test_what_is_no_place(stated: str) -> None:
    """Of three groups the last is frames, two figures each below 75."""
    assert not is_index_point(stated)


def test_all_of_it_is_read(tmp_path: Path) -> None:
    track = (
        'index_1: "00:30:00", index_points: ["01:10:33", 182.5, "9000000 samples"], '
        "copy_permitted: true, pre_emphasis: true, band: false, "
        "cd_text: {title: One, arranger: Tam}"
    )
    head = (
        "cd_text: {genre: Folk, disc_id: OSL-014}\n"
        "pressing: {size_inch: 12, speed_rpm: 45, cut: processing_allowed, notes: 'De-ess side B.'}\n"
    )
    release = loaded(tmp_path, track, head)
    (one,) = release.tracks
    assert one.index_1 is not None
    assert (one.index_1.as_written, one.index_1.at_s) == ("00:30:00", 30)
    assert [point.as_written for point in one.index_points] == ["01:10:33", "182.5", "9000000 samples"]
    assert (one.copy_permitted, one.pre_emphasis, one.band) == (True, True, False)
    assert (one.cd_text.title, one.cd_text.arranger, release.cd_text.genre) == ("One", "Tam", "Folk")
    assert (release.pressing.speed_rpm, release.cutting.how, release.cutting.notes) == (
        45,
        "processing_allowed",
        "De-ess side B.",
    )


def test_nothing_stated_gives_no_remark(tmp_path: Path) -> None:
    release = loaded(tmp_path, "isrc: ZZOSL2600001")
    (one,) = release.tracks
    assert (one.index_points, one.copy_permitted, one.pre_emphasis, one.band) == ((), None, False, None)
    assert release.cutting.how == ""


@pytest.mark.parametrize(
    ("track", "text"),
    [
        ('index_points: ["01:10:75"]', "A minute has 60 seconds, a second 75 frames"),
        ('index_points: ["0:50", "0:40.5"]', "found 0:40.5 after 0:50, wanted each index point later"),
        ('index_points: ["00:40:00", "0:40.000"]', "found 0:40.000 after 00:40:00"),
        ('index_points: ["500 samples", "500 samples"]', "found 500 samples after 500 samples"),
        ('index_1: "0:00"', "found 0:00, wanted a position after the start of the master"),
        ('index_1: "0:50", index_points: ["0:40.5"]', "found 0:40.5 after 0:50, wanted each index point later"),
        ('index_1: "03:12:75"', "A minute has 60 seconds, a second 75 frames"),
        ("index_points: [0]", "after the start of the track, which is index 1"),
        ("index_points: [-2]", "index_points 1: found the number -2, wanted at least 0"),
        (f"index_points: {list(range(1, 100))}", "found 99 index points, wanted at most 98: index 2 to 99"),
        ("cd_text: {conductor: X}", "conductor"),
        ("pre_emphasis: maybe", "pre_emphasis"),
    ],
)
def test_faults_are_named_with_their_line(tmp_path: Path, track: str, text: str) -> None:
    with pytest.raises(Faulty) as fault:
        loaded(tmp_path, track)
    assert text in str(fault.value)
    assert "release.yaml:4" in str(fault.value)
