"""Papers: every member keeps the contract; the track list word by word."""

from __future__ import annotations

import csv
import dataclasses
import hashlib
from itertools import pairwise
from pathlib import Path

import pytest

from delivery.model import side
from delivery.model.part import Delivery, Part
from delivery.model.spec import Spec
from delivery.pack.paper import Paper, carrier_papers, papers
from delivery.pack.papers import pq_list, side_sheet
from tests import sample_albums
from tests.pack.invented import GUEST, RELEASE, SPEC, fill


@pytest.fixture
def parts(tmp_path: Path) -> tuple[Part, ...]:
    return fill(tmp_path)


def test_presence_is_registration() -> None:
    folder = Path(__file__).parents[3] / "delivery" / "pack" / "papers"
    assert sorted([*papers(), *carrier_papers()]) == sorted(file.stem for file in folder.glob("[!_]*.py"))
    assert len({paper.file_name for paper in papers().values()}) == len(papers())


@pytest.mark.parametrize("paper", papers().values(), ids=lambda paper: paper.id)
def test_every_paper_is_the_same_for_any_order_and_without_what_was_not_shipped(
    paper: Paper, parts: tuple[Part, ...]
) -> None:
    text = paper.render(RELEASE, SPEC, parts)
    unshipped = Part(SPEC.id, 9, None, (), problem="the disk went away")
    assert text == paper.render(RELEASE, SPEC, [unshipped, *reversed(parts)])
    assert b"\r" not in text
    assert text.decode("utf-8").endswith("\n")


@pytest.mark.parametrize("algorithm", ["sha256", "md5"])
def test_checksum_lists(algorithm: str, parts: tuple[Part, ...], tmp_path: Path) -> None:
    """The format of the GNU tools: checksum, two spaces, name. Python's hashlib is the judge of the sums."""
    lines = papers()[f"checksums_{algorithm}"].render(RELEASE, SPEC, parts).decode("utf-8").splitlines()
    folder = tmp_path / "data" / SPEC.id
    names = sorted(file.name for file in folder.iterdir())
    assert lines == [f"{hashlib.new(algorithm, (folder / n).read_bytes()).hexdigest()}  {n}" for n in names]


def test_track_list(parts: tuple[Part, ...]) -> None:
    """Lengths worked by hand: 61.4, 122.8, 184.2 and 245.6 s; together 614.0 s."""
    assert papers()["track_list"].render(RELEASE, SPEC, parts).decode("utf-8") == (
        "Merrow & the Glass Tide\n"
        "Harbour Arithmetic\n"
        "Catalogue number OSL-014, UPC/EAN 2000000140019\n"
        "Revision 1, dated not stated, files for: CD rate, 16 bit\n"
        "\n"
        "  1  Slack Water          1:01  ZZOSL2600001\n"
        "  2  Número de Ébano      2:03  ZZOSL2600002\n"
        "  3  灯台                 3:04  ZZOSL2600003\n"
        "  4  50 % Neap            4:06  ZZOSL2600004\n"
        "\n"
        "Total 10:14. Lengths in min:s, rounded to the second.\n"
    )


def test_track_list_of_two_discs_with_gaps(parts: tuple[Part, ...]) -> None:
    one, two, *_ = RELEASE.tracks
    ebb = dataclasses.replace(two, disc=2, number=1, version="Ebb", artists=(GUEST,), isrc="")
    release = dataclasses.replace(RELEASE, tracks=(one, ebb), catalogue_number="", version="Deluxe")
    text = papers()["track_list"].render(release, SPEC, parts[:1]).decode("utf-8")
    assert "Harbour Arithmetic (Deluxe)\nCatalogue number not supplied" in text
    assert "Disc 1\n\n  1  Slack Water      1:01" in text
    assert "Disc 2\n\n  1  Ines Quarrel: Número de Ébano (Ebb)   no file  ISRC not supplied" in text
    assert "Total 1:01 without 1 of 2 tracks." in text


def written(spec: Spec) -> Delivery:
    """An album whose images for *spec* were written."""
    album = sample_albums.album()
    images = (dataclasses.replace(one, shipped=album.parts[0].shipped) for one in album.images if one.spec == spec.id)
    return dataclasses.replace(album, images=tuple(images))


def frames(text: str) -> int:
    """Frames of 'mm:ss:ff'; 75 are a second (IEC 60908)."""
    minutes, seconds, rest = map(int, text.split(":"))
    return (minutes * 60 + seconds) * 75 + rest


def test_the_numbers_of_a_pq_list_agree_with_each_other() -> None:
    """IEC 60908: a frame is 588 samples; the programme begins at 00:02:00 of the disc's clock."""
    (content,) = pq_list.render(written(sample_albums.DISC), sample_albums.DISC).values()
    *rows, lead_out = csv.DictReader(content.decode("utf-8-sig").splitlines())
    assert [row["track"] for row in rows] == [f"{at:02}" for at in range(1, 12)]
    assert [rows[0][key] for key in ("index_0", "index_1", "pause")] == ["00:00:00", "00:02:00", "00:02:00"]
    for row in rows:
        assert int(row["samples"]) + int(row["padding_samples"]) == 588 * frames(row["length"])
        assert frames(row["ends"]) - frames(row["index_1"]) == frames(row["length"])
        assert 588 * frames(row["index_1_in_image"]) == int(row["begins_sample"])
        assert frames(row["index_1"]) - frames(row["index_1_in_image"]) == 150
        assert (row["mark_early_samples"], row["end_late_frames"], row["further_index_points"]) == ("0", "0", "")
    for before, row in pairwise(rows):
        assert row["index_0"] == row["index_1"] == before["ends"]
    assert (lead_out["track"], lead_out["index_1"], lead_out["ends"]) == ("lead-out", rows[-1]["ends"], "")
    assert 588 * frames(lead_out["index_1_in_image"]) == int(lead_out["begins_sample"])
    assert {(row["disc"], row["image"]) for row in (*rows, lead_out)} == {("1", "OSL-014 disc 1.wav")}


def test_a_side_sheet_names_the_record_and_the_file_of_each_side() -> None:
    (content,) = side_sheet.render(written(sample_albums.VINYL), sample_albums.VINYL).values()
    lines = content.decode("utf-8").splitlines()
    for label in "AB":
        at = lines.index(f"SIDE {label}, 12-inch 33⅓ rpm")
        assert lines[at + 1] == f"File OSL-014 side {label}.wav, 24 bit, 44.1 kHz"
        assert lines[at + 2].endswith(" of good 19:30, at most 23:00")
    assert [line[:2] for line in lines if line[:1] in "AB" and line[1:2].isdigit()] == [
        *(f"A{at}" for at in range(1, 6)),
        *(f"B{at}" for at in range(1, 7)),
    ]


def test_gaps_on_a_side_sheet_are_lengths_or_words_and_empty_where_there_is_none() -> None:
    """Song 2 begins where song 1 ends, song 3 half a second later, song 4 continues from song 3."""
    album = written(sample_albums.VINYL)
    first, second, third, fourth, *_ = album.images[0].programme.songs
    half_s = sample_albums.RATE_HZ // 2
    moved = (
        first,
        second,
        dataclasses.replace(third, begins=third.begins + half_s),
        dataclasses.replace(fourth, begins=fourth.begins + half_s, joined=True),
    )
    programme = dataclasses.replace(album.images[0].programme, songs=moved)
    album = dataclasses.replace(album, images=(dataclasses.replace(album.images[0], programme=programme),))
    (content,) = side_sheet.render(album, sample_albums.VINYL).values()
    lines = content.decode("utf-8").splitlines()
    head = next(line for line in lines if "gap before" in line)
    column = slice(head.index("gap before") - 2, head.index("gap before") + len("gap before"))
    gaps = {line[:2]: line[column].strip() for line in lines if line[:1] == "A" and line[1:2].isdigit()}
    assert gaps == {"A1": "", "A2": "", "A3": "0.500 s", "A4": "continues"}


@pytest.mark.parametrize(
    ("count", "line"),
    [
        (2, "Hard-clipped in A1 at 0:02.000, 1:05.250"),
        (3, "Hard-clipped in A1 at 0:02.000, 1:05.250 and 1 more"),
        (40, "Hard-clipped in A1 at 0:02.000, 1:05.250 and 38 more"),
    ],
)
def test_a_side_sheet_counts_the_places_that_it_does_not_list(
    count: int, line: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    album = written(sample_albums.VINYL)
    song = album.images[0].programme.songs[0]
    found = (side.Spots("Hard-clipped", song, (2.0, 65.25), count),)
    monkeypatch.setattr(side, "spots", lambda *_: found)
    album = dataclasses.replace(album, images=album.images[:1])
    (content,) = side_sheet.render(album, sample_albums.VINYL).values()
    assert line in content.decode("utf-8").splitlines()


def test_flags_of_a_track_are_words_on_the_pq_list() -> None:
    """Subcode control bits of IEC 60908 that a release file states; without a statement neither is set."""
    album = written(sample_albums.DISC)
    first, second, *others = album.release.tracks
    marked = (
        dataclasses.replace(first, copy_permitted=True),
        dataclasses.replace(second, pre_emphasis=True),
        *others,
    )
    album = dataclasses.replace(album, release=dataclasses.replace(album.release, tracks=marked))
    (content,) = pq_list.render(album, sample_albums.DISC).values()
    rows = list(csv.DictReader(content.decode("utf-8-sig").splitlines()))
    assert [(row["copy_permitted"], row["pre_emphasis"]) for row in rows[:3]] == [
        ("yes", "no"),
        ("no", "yes"),
        ("no", "no"),
    ]
