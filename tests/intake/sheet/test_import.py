"""A sheet and a folder of masters give a release file; a later sheet changes only the values it contains."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from delivery.errors import Faulty, Unusable
from delivery.intake import load_release
from delivery.intake.sheet import mapping, previous_import
from delivery.model.release import Credit, Writer
from delivery.tasks.start import Started, start_from_sheet
from tests.intake.sheet.corpus import csv, table, xlsx

HEAD = ("No", "Title", "ISRC", "Composer", "Share", "Length")
ONE = ("1", "Low Water", "ZZ-OSL-26-00001", "Ilse Merrow; Tam Varrick", "60; 40", "0:02")
TWO = ("2", "Tally of Lamps", "ZZ-OSL-26-00002", "Ilse Merrow", "", "0:03")


pytestmark = pytest.mark.usefixtures("no_studio")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    masters = tmp_path / "masters"
    masters.mkdir()
    for name, seconds in (("01 Low Water.wav", 2), ("02 Tally of Lamps.wav", 3)):
        soundfile.write(masters / name, np.zeros((48_000 * seconds, 2)), 48_000, subtype="PCM_24")
    return masters


def sheet(folder: Path, *rows: tuple[object, ...], head: tuple[str, ...] = HEAD) -> Path:
    path = folder.parent / "copy.csv"
    path.write_bytes(csv(*rows, head=head))
    return path


def imported(folder: Path, *rows: tuple[object, ...], **options: object) -> Started:
    return start_from_sheet(folder, sheet(folder, *rows), **options)  # type: ignore[arg-type]


def test_a_release_in_one_step(folder: Path) -> None:
    started = imported(folder, ONE, TWO)
    assert started.release
    one, two = started.release.tracks
    assert (one.title, one.isrc, one.file.name) == ("Low Water", "ZZOSL2600001", "01 Low Water.wav")
    assert one.writers == (Writer("Ilse Merrow", ("composer",), 60.0), Writer("Tam Varrick", ("composer",), 40.0))
    assert one.composers == ("Ilse Merrow", "Tam Varrick")
    assert (two.composers, two.writers) == (("Ilse Merrow",), ())
    assert started.changes is None
    assert load_release(folder / "release.yaml") == started.release


def test_the_second_import_lists_changes_and_waits_for_consent(folder: Path) -> None:
    imported(folder, ONE, TWO)
    before = (folder / "release.yaml").read_bytes()
    changed = ("2", "Tally of Lamps", "ZZ-OSL-26-00012", "Ilse Merrow", "", "0:03")
    started = imported(folder, ONE, changed)
    assert started.release is None
    assert started.changes == ("'Tally of Lamps', ISRC: was 'ZZOSL2600002', now 'ZZOSL2600012'.",)
    assert (folder / "release.yaml").read_bytes() == before
    again = imported(folder, ONE, changed)  # nothing was taken over, so it is still to be told
    assert again.changes == started.changes
    replaced = imported(folder, ONE, changed, replace=True)
    assert replaced.release
    assert replaced.release.tracks[1].isrc == "ZZOSL2600012"
    assert imported(folder, ONE, changed).changes == ()


def test_what_was_added_by_hand_is_kept_by_the_next_sheet(folder: Path) -> None:
    imported(folder, ONE, TWO)
    path = folder / "release.yaml"
    text = path.read_text(encoding="utf-8") + 'approved_by: "I. Merrow"\n'
    text = text.replace('    title: "Tally of Lamps"', '    title: "Tally of Lamps"\n    gap_before_s: 0')
    text += 'waivers:\n  - {rule: "tail_s", track: 2, by: "I. Merrow", why: "It runs on."}\n'
    path.write_text(text, encoding="utf-8", newline="\n")
    started = imported(folder, ONE, ("2", "Tally of Lamps", "ZZ-OSL-26-00002", "Ada Quay", "", "0:03"), replace=True)
    assert started.release
    assert (started.release.approved_by, started.release.tracks[1].gap_before_s) == ("I. Merrow", 0.0)
    assert started.release.tracks[1].composers == ("Ada Quay",)
    assert [(waiver.rule, waiver.track) for waiver in started.release.waivers] == [("tail_s", 2)]


def test_values_removed_from_the_sheet_are_removed(folder: Path) -> None:
    imported(folder, ONE, TWO)
    started = imported(folder, ONE, ("2", "Tally of Lamps", "", "Ilse Merrow", "", "0:03"), replace=True)
    assert started.changes == ("'Tally of Lamps', ISRC: was 'ZZOSL2600002', now not supplied.",)
    assert started.release
    assert started.release.tracks[1].isrc == ""


def test_another_order_is_reported_and_positions_follow(folder: Path) -> None:
    imported(folder, ONE, TWO)
    path = folder / "release.yaml"
    path.write_text(
        path.read_text(encoding="utf-8") + 'waivers:\n  - {rule: "tail_s", track: 2, by: "I", why: "It is."}\n',
        encoding="utf-8",
    )
    started = imported(folder, ("2", *ONE[1:]), ("1", *TWO[1:]), replace=True)
    assert started.changes
    assert started.changes[-1] == "The order is different: Tally of Lamps, Low Water."
    assert started.release
    assert [track.title for track in started.release.tracks] == ["Tally of Lamps", "Low Water"]
    assert [waiver.track for waiver in started.release.waivers] == [1]


def test_all_faults_together_and_nothing_written(folder: Path) -> None:
    with pytest.raises(Faulty) as caught:
        imported(folder, ("1", "Low Water", "ZZOSL1", "A B; C D", "60; 30", ""), ("3", "Nobody's", "", "", "", ""))
    reported = str(caught.value)
    assert "copy.csv C2 ISRC: found 'ZZOSL1'" in reported
    assert "60 + 30 = 90 %" in reported
    assert 'row 3 ("Nobody\'s"): found no matching file' in reported
    assert sorted(path.name for path in folder.iterdir()) == ["01 Low Water.wav", "02 Tally of Lamps.wav"]


def test_cells_with_faults_may_be_left_out_as_comments(folder: Path) -> None:
    started = imported(folder, ("1", "Low Water", "ZZOSL1", "", "", ""), TWO, leave_out=True)
    assert started.release
    assert started.release.tracks[0].isrc == ""
    assert "# left out of the label copy: copy.csv C2 ISRC: found 'ZZOSL1'" in (folder / "release.yaml").read_text(
        encoding="utf-8"
    )
    assert any(remark.startswith("Left out: copy.csv C2 ISRC") for remark in started.remarks)


def test_a_master_on_no_row_is_reported(folder: Path) -> None:
    started = imported(folder, ONE)
    assert started.release
    assert len(started.release.tracks) == 1
    assert "02 Tally of Lamps.wav is in no row of the sheet." in started.remarks
    assert "# not on the label copy: 02 Tally of Lamps.wav" in (folder / "release.yaml").read_text(encoding="utf-8")


def test_a_master_longer_than_stated_on_the_sheet(folder: Path) -> None:
    started = imported(folder, (*ONE[:5], "0:09"), TWO)
    assert (
        "row 2 ('Low Water') lasts 0:09.0 in the sheet, 01 Low Water.wav 0:02.0: the right master?" in started.remarks
    )


def test_headers_of_a_clients_own_are_remembered(folder: Path) -> None:
    path = sheet(folder, ("1", "Low Water", "x"), ("2", "Tally of Lamps", "y"), head=("No", "Liedname", "Farbe"))
    with pytest.raises(Unusable, match=r"the fullest row has 'No', 'Liedname', 'Farbe'"):
        start_from_sheet(folder, path)
    started = start_from_sheet(folder, path, columns=("Liedname=title", "Farbe=ignore"))
    assert started.release
    assert [track.title for track in started.release.tracks] == ["Low Water", "Tally of Lamps"]
    assert mapping.known_headers(folder) == {"liedname": "title", "farbe": "ignore"}
    once_more = start_from_sheet(folder, path, replace=True)
    assert once_more.release
    assert not [remark for remark in once_more.remarks if "not read" in remark]


def test_a_mapping_beside_the_sheet_counts_before_the_studios(folder: Path) -> None:
    mapping.remember(mapping.stated_headers(["Zeit=ignore"]))
    (folder.parent / mapping.NAME).write_text('columns:\n  - {header: "Zeit", field: duration}\n', encoding="utf-8")
    assert mapping.known_headers(folder.parent) == {"zeit": "duration"}


@pytest.mark.parametrize(
    ("column", "sentence"),
    [
        ("Liedname", "'Liedname', wanted HEADER=FIELD"),
        ("Liedname=titel", "the field 'titel', wanted a field of label copy. Did you mean title"),
        ("=title", "HEADER=FIELD"),
    ],
)
def test_an_empty_mapping(folder: Path, column: str, sentence: str) -> None:
    with pytest.raises(Unusable, match=sentence.replace("(", r"\(")):
        imported(folder, ONE, columns=(column,))


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("columns: [Liedname]\n", r"label-copy\.yaml:1 columns 1: found something else"),
        ("columns:\n  - {header: A, field: tittle}\n", r"label-copy\.yaml:2 columns 1: found the field 'tittle'"),
        ("headers: []\n", "no list under 'columns'"),
    ],
)
def test_a_mapping_file_with_faults_is_refused_with_its_line(folder: Path, text: str, sentence: str) -> None:
    (folder.parent / mapping.NAME).write_text(text, encoding="utf-8")
    with pytest.raises(Faulty, match=sentence):
        imported(folder, ONE, TWO)


def test_two_sheets_with_tracks_must_be_named(folder: Path) -> None:
    def make(first: object) -> None:
        for sheet in (first, first.parent.create_sheet("Old")):  # type: ignore[attr-defined]
            for row in (HEAD, ONE, TWO):
                sheet.append(row)
        first.title = "New"  # type: ignore[attr-defined]

    path = folder.parent / "copy.xlsx"
    path.write_bytes(xlsx(make))
    with pytest.raises(Unusable, match=r"2 sheets with tracks \(New, Old\), wanted one"):
        start_from_sheet(folder, path)
    assert start_from_sheet(folder, path, worksheet="new").release
    with pytest.raises(Unusable, match="no sheet called 'other'"):
        start_from_sheet(folder, path, worksheet="other")


def test_ambiguity_is_a_question_on_a_terminal(folder: Path) -> None:
    (folder / "01 Low Water.wav").rename(folder / "bounce A.wav")
    (folder / "02 Tally of Lamps.wav").rename(folder / "bounce B.wav")
    path = sheet(folder, ("Low Water",), ("Lamps",), head=("Title", "Version"))
    with pytest.raises(Faulty, match="no matching file"):
        start_from_sheet(folder, path)
    started = start_from_sheet(folder, path, ask=lambda _question, choices: len(choices) - 2)
    assert started.release
    assert [(track.title, track.file.name) for track in started.release.tracks] == [
        ("Low Water", "bounce B.wav"),
        ("Lamps", "bounce A.wav"),
    ]


def test_the_last_import_may_be_damaged_or_gone(folder: Path) -> None:
    imported(folder, ONE, TWO)
    for content in ("", "[]", '{"form": 99}', '{"form": 1, "release": [], "tracks": {}}'):
        (folder / previous_import.NAME).write_text(content, encoding="utf-8")
        assert imported(folder, ONE, TWO).changes == ()  # file and sheet agree, whatever came before


def test_many_discs(folder: Path) -> None:
    rows = (("1", "1", "Low Water"), ("2", "1", "Tally of Lamps"))
    started = start_from_sheet(folder, sheet(folder, *rows, head=("Disc", "No", "Title")))
    assert started.release
    assert [(track.disc, track.number) for track in started.release.tracks] == [(1, 1), (2, 1)]


def test_artists_that_differ_from_the_releases(folder: Path) -> None:
    path = folder.parent / "copy.xlsx"
    path.write_bytes(table((1, "Low Water", "Merrow", "", ""), (2, "Tally of Lamps", "Merrow; Low Lantern", "", "")))
    started = start_from_sheet(folder, path)
    assert started.release
    assert started.release.tracks[1].artists == (Credit("Merrow"), Credit("Low Lantern"))


def test_an_answered_question_does_not_come_again(folder: Path) -> None:
    """Two files that look alike give one question; its answer is kept as long as code, or title and number, stay."""
    for name in ("01 Low Water.wav", "02 Tally of Lamps.wav"):
        (folder / name).rename(folder / f"Track {'B' if name[1] == '1' else 'A'}.wav")
    rows = (("1", "Low Water", "", "", "", ""), ("2", "Tally of Lamps", "", "", "", ""))
    with pytest.raises(Faulty, match="a file for each row"):
        imported(folder, *rows)
    requested: list[str] = []

    def answer(question: str, choices: object) -> int:
        requested.append(question)
        return len(list(choices)) - 2  # type: ignore[call-overload]

    started = imported(folder, *rows, ask=answer)
    assert requested[0] == "Which file is row 2 ('Low Water')?"
    assert started.release
    pairs = {track.title: track.file.name for track in started.release.tracks}
    assert pairs == {"Low Water": "Track B.wav", "Tally of Lamps": "Track A.wav"}
    again = imported(folder, *rows, replace=True)
    assert again.release
    assert {track.title: track.file.name for track in again.release.tracks} == pairs


ARTISTS = ("No", "Title", "Artist", "ISNI", "Composer")


def test_isni_of_names_are_written_once_in_the_release(folder: Path) -> None:
    """What was written by hand is kept while its name is unchanged; several main artists stay apart for their codes."""
    one = ("1", "Low Water", "Ada; Bo", "0000 0001 2281 955X; 0000 0002 1825 0097", "Ilse Merrow")
    two = ("2", "Tally of Lamps", "Ada; Bo", "", "Tam Varrick")
    started = start_from_sheet(folder, sheet(folder, one, two, head=ARTISTS))
    assert started.release
    assert [(who.name, who.isni) for who in started.release.identities] == [
        ("Ada", "000000012281955X"), ("Bo", "0000000218250097"),
    ]  # fmt: skip
    file = folder / "release.yaml"
    by_hand = '{name: "Ilse Merrow", code: "0000000029534656"}, {name: "Tam Varrick", code: "0000000218250097"}'
    text = file.read_text(encoding="utf-8")
    file.write_text(
        text.replace('code: "0000000218250097"}]', f'code: "0000000218250097"}}, {by_hand}]'), encoding="utf-8"
    )
    later = (two[0], two[1], *two[2:4], "Somebody Else")
    again = start_from_sheet(folder, sheet(folder, one, later, head=ARTISTS), replace=True)
    assert again.release
    assert [who.name for who in again.release.identities] == ["Ada", "Bo", "Ilse Merrow"]


def test_the_clients_sides_are_written_and_none_are_proposed(folder: Path) -> None:
    """A record's sides are the artist's decision: a proposal is in for one that was not made."""
    head, rows = ("No", "Title"), (("A1", "Low Water"), ("B1", "Tally of Lamps"))
    started = start_from_sheet(folder, sheet(folder, *rows, head=head), specs=("vinyl-sides",))
    assert started.release
    assert [(track.side, track.number) for track in started.release.tracks] == [("A", 1), ("B", 2)]
    assert not [remark for remark in started.remarks if "ides proposed" in remark]
    silent = sheet(folder, ("1", "Low Water"), ("2", "Tally of Lamps"), head=head)
    (folder / "release.yaml").unlink()
    proposed = start_from_sheet(folder, silent, specs=("vinyl-sides",))
    assert [remark for remark in proposed.remarks if "ides proposed" in remark]


def test_the_meaning_of_a_cell_is_a_question_on_a_terminal(folder: Path) -> None:
    rows = (("1", "Low Water", "A/B"), ("2", "Tally of Lamps", "dito"))
    path = sheet(folder, *rows, head=("No", "Title", "Composer"))
    with pytest.raises(Faulty, match=r"copy\.csv C2 Composers: found 'A/B', wanted one person or 2 names"):
        start_from_sheet(folder, path)
    started = start_from_sheet(folder, path, ask=lambda _question, _choices: 0)
    assert started.release
    assert [track.composers for track in started.release.tracks] == [("A", "B")] * 2


def test_notes_are_printed_beside_faults(folder: Path) -> None:
    with pytest.raises(Faulty) as caught:
        imported(folder, (*ONE[:2], "ZZOSL1", *ONE[3:5], "0:09"), TWO)
    lines = str(caught.value).splitlines()
    assert lines[0].startswith("row 2 ('Low Water') lasts 0:09.0 in the sheet")
    assert lines[1].startswith("copy.csv C2 ISRC: found 'ZZOSL1'")


def test_a_row_without_a_file_is_left_out_and_takes_no_track_away(folder: Path) -> None:
    imported(folder, ONE, TWO)
    (folder / "02 Tally of Lamps.wav").rename(folder.parent / "away.wav")
    with pytest.raises(Faulty, match="row 3 \\('Tally of Lamps'\\): found no file left"):
        imported(folder, ONE, TWO, replace=True)
    started = imported(folder, ("1", "Low Waters", *ONE[2:]), TWO, replace=True, leave_out=True)
    assert started.changes == ("'Low Water', Title: was 'Low Water', now 'Low Waters'.",)
    assert any(remark.startswith("Left out: ") for remark in started.remarks)
    assert started.release
    assert [track.title for track in started.release.tracks] == ["Low Waters", "Tally of Lamps"]


def test_no_row_with_a_file_is_refused(folder: Path) -> None:
    with pytest.raises(Faulty, match="no matching file"):
        imported(folder, ("7", "Elsewhere", "", "", "", ""), leave_out=True)
    assert not (folder / "release.yaml").exists()
