"""A disc with all that may be stated for it, through the whole pipeline: its papers agree, and cut it is the songs."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from delivery.meters import figures
from delivery.pipeline import Built
from delivery.report.view.make import view_of
from tests.pipeline.test_images import edited, inside, made, read, write_programme

SPEC = """\
title: CD with marks
about: A CD master whose marks stand early and late.
checked: 2026-11-25
based_on: cd-master
source: common practice, no source
carrier: {kind: cd, frame_samples: 588, first_pause_s: 2.0, mark_early_frames: 12, mark_late_frames: 30}
"""


def stated(data: dict[str, Any]) -> None:
    one, two, _, four = data["tracks"]
    one.update(index_points=["00:01:20", 2.5, "150000 samples"], copy_permitted=True, lyricists=["Ilse Merrow"])
    two.update(cd_text={"title": "Two, for players", "arranger": "Tam Varrick"})
    four.update(gap_before_s=3, pre_emphasis=True)
    data.update(cd_text={"message": "Recorded at low tide"}, genre="Folk")


@pytest.fixture(scope="module")
def disc(tmp_path_factory: pytest.TempPathFactory) -> Built:
    folder = tmp_path_factory.mktemp("disc")
    release = write_programme(folder / "masters", 44_100, "PCM_16", ["cd-master", "cd-marks.yaml"])
    (folder / "masters" / "cd-marks.yaml").write_text(SPEC, encoding="utf-8")
    return made(edited(release, stated), folder / "out")


def rows(built: Built, spec: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(inside(built, spec, "pq-list.csv").read_text(encoding="utf-8-sig"))))


def programme(built: Built, spec: str) -> dict[str, Any]:
    assert built.package
    document = json.loads((built.package / "data" / "delivery-data.json").read_text(encoding="utf-8"))
    (found,) = [image["programme"] for image in document["images"] if image["spec"] == spec]
    return dict(found)


def frames(msf: str) -> int:
    minutes, seconds, rest = map(int, msf.split(":"))
    return 75 * (60 * minutes + seconds) + rest


def test_marks_move_no_sample(disc: Built) -> None:
    name = disc.delivery.images[0].name
    assert np.array_equal(read(inside(disc, "cd-master", name)), read(inside(disc, "cd-marks", name)))


def test_an_image_cut_at_its_marks_gives_the_songs(disc: Built) -> None:
    """From the papers alone, by another reader of sound: index 1 in the image, and the samples it stands early."""
    image = read(inside(disc, "cd-marks", disc.delivery.images[0].name))
    moved = 0
    for row, source in zip(rows(disc, "cd-marks"), disc.delivery.sources, strict=False):
        begins = 588 * frames(row["index_1_in_image"]) + int(row["mark_early_samples"])
        assert np.array_equal(image[begins : begins + int(row["samples"])], read(source.track.file))
        moved += int(row["mark_early_samples"]) == 12 * 588
        assert not image[588 * frames(row["index_1_in_image"]) : begins].any() or row["index_0"] == row["index_1"]
    assert moved == 1  # the song behind a gap; the others run on, and the first has no silence before it


def test_index_points_are_placed_as_requested(disc: Built) -> None:
    """00:01:20 is frame 95; 2.5 s is 187.5 frames; 150 000 samples are 255.1: each mark in the frame of its place."""
    first = programme(disc, "cd-master")["songs"][0]
    assert [(p["number"], p["in_image"], p["early_samples"]) for p in first["index_points"]] == [
        (2, "00:01:20", 0),
        (3, "00:02:37", 294),
        (4, "00:03:30", 60),
    ]
    assert [p["at"] for p in first["index_points"]] == ["00:03:20", "00:04:37", "00:05:30"]


@pytest.mark.parametrize("spec", ["cd-master", "cd-marks"])
def test_list_sheet_and_data_agree(disc: Built, spec: str) -> None:
    from pypdf import PdfReader

    text = "".join(page.extract_text() for page in PdfReader(inside(disc, spec, "pq-sheet.pdf")).pages)
    reported = programme(disc, spec)
    for row, song in zip(rows(disc, spec), reported["songs"], strict=False):
        assert row["further_index_points"] == " ".join(f"{p['number']:02}={p['at']}" for p in song["index_points"])
        assert [row["copy_permitted"], row["pre_emphasis"]] == [
            "yes" if song[flag] else "no" for flag in ("copy_permitted", "pre_emphasis")
        ]
        assert int(row["end_late_frames"]) == song["end_late_frames"]
        for field in ("title", "performer", "songwriter", "composer", "arranger", "message"):
            assert row[field] == song["cd_text"][field]
        for wanted in (*(p["at"] for p in song["index_points"]), song["cd_text"]["title"]):
            assert wanted in text
    assert rows(disc, spec)[0]["disc_message"] == reported["cd_text"]["message"] == "Recorded at low tide"
    assert reported["media_catalogue_number"] == "2000000140018"
    assert "copy permitted" in text
    assert "pre-emphasis" in text


def test_offsets_are_printed_with_their_origin(disc: Built) -> None:
    from pypdf import PdfReader

    text = " ".join(
        "".join(p.extract_text() for p in PdfReader(inside(disc, "cd-marks", "pq-sheet.pdf")).pages).split()
    )
    assert "Required: 12 frames from index 1 to the sound (common practice, no source)" in text
    assert "silence allowed: track 4 by 12 frames. No sample was moved." in text
    assert "silence allowed: track 3 by 30 frames." in text


def test_emphasis_that_changes_without_a_pause_is_named_before_any_work(tmp_path: Path) -> None:
    release = write_programme(tmp_path / "masters", 44_100, "PCM_16", ["cd-master"])
    built = made(edited(release, lambda data: data["tracks"][1].update(pre_emphasis=True)), tmp_path / "out")
    assert built.package is None
    assert {f.rule for f in built.delivery.findings if f.answer == "not met" and f.must} == {
        "emphasis_changes_in_pauses"
    }


def test_a_hidden_song_before_track_one(tmp_path: Path) -> None:
    """2 s and 10 frames of the first master are in the pause: all papers report it, and no sample is lost."""
    release = write_programme(tmp_path / "masters", 44_100, "PCM_16", ["cd-master"], length_s=8.0)
    disc = made(edited(release, lambda data: data["tracks"][0].update(index_1="00:02:10")), tmp_path / "out")
    first = programme(disc, "cd-master")["songs"][0]
    assert (first["index_0"], first["index_1"], first["index_0_in_image"], first["index_1_in_image"]) == (
        "00:00:00",
        "00:04:10",
        "00:00:00",
        "00:02:10",
    )
    assert (first["begins_sample"], first["pregap_samples"], first["mark_early_samples"]) == (0, 160 * 588, 0)
    row = rows(disc, "cd-master")[0]
    assert (row["index_1_in_image"], row["pause"], row["mark_early_samples"]) == ("00:02:10", "00:04:10", "0")
    cue = inside(disc, "cd-master", disc.delivery.images[0].name.replace(".wav", ".cue")).read_text(encoding="utf-8")
    assert "INDEX 00 00:00:00\n    INDEX 01 00:02:10\n" in cue
    (sheet,) = view_of(disc.delivery, figures()).carriers
    (note,) = [note for note in sheet.parts[0].notes if "hidden" in note]
    assert note.startswith("The first 0:02.133 of track 1's sound are before its index 1, in the pause: hidden before")
    masters = [read(source.track.file) for source in disc.delivery.sources[:3]]
    image = read(inside(disc, "cd-master", disc.delivery.images[0].name))
    joined = np.concatenate(masters)
    assert np.array_equal(image[: len(joined)], joined)
