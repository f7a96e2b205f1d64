"""A revised sheet is merged: what the client changed goes in, what the engineer typed stays, comments too."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest

from delivery.errors import Faulty
from delivery.intake.sheet import previous_import
from delivery.model.release import Credit
from delivery.tasks.start import Started, start_bare, start_from_sheet
from tests.intake.sheet.corpus import csv
from tests.intake.test_start import master

HEAD = ("No", "Title", "Version", "ISRC", "Composer", "Artist", "Label")
ONE = ("1", "Low Water", "", "ZZ-OSL-26-00001", "Ilse Merrow", "Merrow", "Ostrelune")
TWO = ("2", "Lamps", "", "ZZ-OSL-26-00002", "Ilse Merrow; Tam Varrick", "Merrow", "Ostrelune")
THREE = ("3", "Ledger", "", "ZZ-OSL-26-00003", "Ada Quay", "Merrow", "Ostrelune")


pytestmark = pytest.mark.usefixtures("no_studio")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    masters = tmp_path / "masters"
    for name in ("01 Low Water.wav", "02 Lamps.wav", "03 Ledger.wav"):
        master(masters / name, seconds=0.1)
    return masters


WAIVERS = """\
  - {rule: "a", track: 2, by: "I", why: "x"}  # call
  - {rule: "b", track: 3, by: "I", why: "y"}
"""


def imported(folder: Path, *rows: tuple[str, ...], head: tuple[str, ...] = HEAD, **options: object) -> Started:
    path = folder.parent / "copy.csv"
    path.write_bytes(csv(*rows, head=head))
    return start_from_sheet(folder, path, **{"replace": True, **options})  # type: ignore[arg-type]


def text_of(folder: Path) -> str:
    return (folder / "release.yaml").read_text(encoding="utf-8")


def by_hand(folder: Path, *changes: tuple[str, str]) -> str:
    """A person edits the release file."""
    text = text_of(folder)
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    (folder / "release.yaml").write_text(text, encoding="utf-8", newline="")
    return text


def with_cell(row: tuple[str, ...], column: str, new: str) -> tuple[str, ...]:
    at = HEAD.index(column)
    return (*row[:at], new, *row[at + 1 :])


def test_the_same_sheet_again_changes_no_byte(folder: Path) -> None:
    imported(folder, ONE, TWO, THREE)
    text = by_hand(folder, ('title: "Lamps"', 'title: "Lämps"  # as on the sleeve'))
    for _ in range(2):
        again = imported(folder, ONE, TWO, THREE)
        assert again.changes == ()
        assert again.kept == ("'Lämps', Title stays 'Lämps'; the sheet has 'Lamps'.",)
        assert text_of(folder) == text


def test_only_what_the_client_changed_changes_in_the_text(folder: Path) -> None:
    imported(folder, ONE, TWO, THREE)
    before = by_hand(
        folder,
        ('isrc: "ZZOSL2600002"', "isrc: ZZ-OSL-26-00002   # checked by telephone"),
        ('label: "Ostrelune"', "label: Ostrelune Records # in full"),
        ('title: "Ledger"', 'title: "Ledger"\n    gap_before_s: 0'),
    )
    started = imported(folder, ONE, with_cell(TWO, "ISRC", "ZZOSL2600012"), THREE)
    assert started.changes == ("'Lamps', ISRC: was 'ZZ-OSL-26-00002', now 'ZZOSL2600012'.",)
    assert text_of(folder) == before.replace("isrc: ZZ-OSL-26-00002 ", 'isrc: "ZZOSL2600012" ')


def test_a_value_deleted_by_hand_stays_deleted(folder: Path) -> None:
    imported(folder, ONE, TWO, THREE)
    text = by_hand(folder, ('isrc: "ZZOSL2600002"', "isrc:  # of another recording!"))
    assert imported(folder, ONE, TWO, THREE).changes == ()
    assert text_of(folder) == text


def test_both_changed_is_refused_with_both_values(folder: Path) -> None:
    imported(folder, ONE, TWO, THREE)
    text = by_hand(folder, ('title: "Lamps"', 'title: "Lämps"'), ('label: "Ostrelune"', 'label: "Ostrelune Ltd"'))
    rows = (with_cell(ONE, "Label", "Ostrelune Records"), with_cell(TWO, "Label", "Ostrelune Records"))
    rows = (rows[0], with_cell(rows[1], "Title", "Lampes"), with_cell(THREE, "Label", "Ostrelune Records"))
    with pytest.raises(Faulty) as caught:
        imported(folder, *rows)
    reported = str(caught.value)
    assert "label: found Label: 'Ostrelune Ltd' here and 'Ostrelune Records' on the sheet" in reported
    assert "tracks 2 title: found 'Lämps', Title: 'Lämps' here and 'Lampes' on the sheet" in reported
    assert "--conflicts sheet or --conflicts file" in reported
    assert text_of(folder) == text
    ours = imported(folder, *rows, prefer="file")
    assert (ours.changes, text_of(folder)) == ((), text)
    assert imported(folder, *rows).changes == ()  # decided once, and not asked again
    by_hand(folder, ("Lämps", "Lämpchen"))
    later = tuple(with_cell(row, "Title", "Lanterns") if row[1] == "Lampes" else row for row in rows)
    requested: list[tuple[str, tuple[str, ...]]] = []

    def sheets(question: str, choices: object) -> int:
        requested.append((question, tuple(choices)))  # type: ignore[arg-type]
        return 0

    theirs = imported(folder, *later, ask=sheets)
    assert requested == [
        (
            "'Lämpchen', Title: both have changed. Which is right?",
            ("sheet: 'Lanterns'", "release file: 'Lämpchen'"),
        )
    ]
    assert theirs.release
    assert theirs.release.tracks[1].title == "Lanterns"


def test_a_removed_track_becomes_comments_and_positions_follow(folder: Path) -> None:
    imported(folder, ONE, TWO, THREE)
    by_hand(
        folder,
        ('title: "Lamps"', 'title: "Lamps"\n    # tail edited twice\n    gap_before_s: 1.5'),
        ("\n# An exception", f"\nwaivers:\n{WAIVERS}# An exception"),
    )
    started = imported(folder, ONE, ("2", *THREE[1:]))
    assert started.release
    assert [track.title for track in started.release.tracks] == ["Low Water", "Ledger"]
    assert [(waiver.rule, waiver.track) for waiver in started.release.waivers] == [("b", 2)]
    text = text_of(folder)
    assert '  # - file: "02 Lamps.wav"' in text
    assert "    # tail edited twice\n  #   gap_before_s: 1.5\n" in text
    assert '  # - {rule: "a", track: 2, by: "I", why: "x"}  # call\n' in text
    assert imported(folder, ONE, ("2", *THREE[1:])).changes == ()
    assert text_of(folder) == text


def test_waivers_in_one_line_of_a_removed_track_become_a_comment(folder: Path) -> None:
    """The other waiver stays in its line, and follows its track to the new position."""
    imported(folder, ONE, TWO, THREE)
    gone = '{rule: "a", track: 2, by: "I", why: "x"}'
    line = f'waivers: [{gone}, {{rule: "b", track: 3, by: "I", why: "y"}}]'
    by_hand(folder, ("\n# An exception", f"\n{line}\n# An exception"))
    started = imported(folder, ONE, ("2", *THREE[1:]))
    assert started.release
    assert [(waiver.rule, waiver.track) for waiver in started.release.waivers] == [("b", 2)]
    kept = 'waivers: [{rule: "b", track: 2, by: "I", why: "y"}]'
    assert f"\n# of a removed track: {gone}\n{kept}\n# An exception" in text_of(folder)


def test_a_track_taken_out_by_hand_is_not_brought_back(folder: Path) -> None:
    imported(folder, ONE, TWO, THREE)
    text = text_of(folder)
    start, end = text.index("  # 0:00.100", text.index("01 Low")), text.index("  # 0:00.100", text.index("02 Lamps"))
    (folder / "release.yaml").write_text(text[:start] + text[end:], encoding="utf-8")
    started = imported(folder, ONE, with_cell(TWO, "ISRC", "ZZOSL2600012"), with_cell(THREE, "Title", "Ledgers"))
    assert started.release
    assert [track.title for track in started.release.tracks] == ["Low Water", "Ledgers"]
    assert "'Lamps' (02 Lamps.wav) stays out: it was removed from the release file by hand." in started.kept


def test_a_track_added_by_hand_stays(folder: Path) -> None:
    imported(folder, ONE, THREE)
    by_hand(folder, ("tracks:\n", 'tracks:\n  - file: "02 Lamps.wav"\n    title: "Hidden"\n'))
    started = imported(folder, with_cell(ONE, "Title", "Low Waters"), THREE)
    assert started.release
    assert [track.title for track in started.release.tracks] == ["Hidden", "Low Waters", "Ledger"]


def test_a_new_row_is_inserted_at_its_place_on_the_sheet(folder: Path) -> None:
    imported(folder, ONE, ("2", *THREE[1:]))
    started = imported(folder, ONE, TWO, THREE)
    assert started.changes == ("'Lamps' (02 Lamps.wav) is new.",)
    assert started.release
    assert [track.title for track in started.release.tracks] == ["Low Water", "Lamps", "Ledger"]
    assert started.release.tracks[1].isrc == "ZZOSL2600002"


def test_a_new_row_without_a_title_is_refused(folder: Path) -> None:
    """Left out of the sheet, the empty cell is still no title. The cell is named, and not a line never written."""
    imported(folder, ONE)
    before = text_of(folder)
    with pytest.raises(Faulty) as refused:
        imported(folder, ONE, with_cell(TWO, "Title", ""), with_cell(THREE, "ISRC", "none"), leave_out=True)
    assert [(fault.place, fault.found) for fault in refused.value.faults] == [("copy.csv B3 Title", "nothing")]
    assert text_of(folder) == before


def test_a_known_track_keeps_its_title_where_the_cell_is_left_out(folder: Path) -> None:
    imported(folder, ONE, TWO)
    imported(folder, ONE, with_cell(TWO, "Title", ""), leave_out=True)
    assert 'title: "Lamps"' in text_of(folder)


def test_the_users_order_is_kept_until_the_client_changes_theirs(folder: Path) -> None:
    imported(folder, ONE, TWO, THREE)
    text = text_of(folder)
    starts = [text.index("  # 0:00.100", text.index("tracks:"))]
    starts += [text.index("  # 0:00.100", starts[0] + 1)]
    starts += [text.index("  # 0:00.100", starts[1] + 1), text.index("\n# An exception")]
    one, two, three = (text[a:b] for a, b in pairwise(starts))
    (folder / "release.yaml").write_text(text[: starts[0]] + two + one + three + text[starts[3] :], encoding="utf-8")
    again = imported(folder, ONE, TWO, THREE)
    assert again.changes == ()
    assert "The order of the tracks is kept from the release file." in again.kept
    with pytest.raises(Faulty, match="Order of the tracks: Lamps, Low Water, Ledger here and Ledger, Low Water, Lamps"):
        imported(folder, ("2", *ONE[1:]), ("3", *TWO[1:]), ("1", *THREE[1:]))
    started = imported(folder, ("2", *ONE[1:]), ("3", *TWO[1:]), ("1", *THREE[1:]), prefer="sheet")
    assert started.release
    assert [track.title for track in started.release.tracks] == ["Ledger", "Low Water", "Lamps"]


def test_names_are_compared_one_by_one(folder: Path) -> None:
    """A composer added by the engineer and one added by the client do not contradict; one spelled twice again does."""
    imported(folder, ONE, TWO, THREE)
    by_hand(folder, ('["Ilse Merrow", "Tam Varrick"]', '["Ilse Merrow", "Tam Varrick", "Ada Quay"]'))
    started = imported(folder, ONE, with_cell(TWO, "Composer", "Ilse Merrow; Bo Lind"), THREE)
    assert started.release
    assert started.release.tracks[1].composers == ("Ilse Merrow", "Ada Quay", "Bo Lind")
    by_hand(folder, ('"Bo Lind"]', '"Bo Lindt"]'))
    with pytest.raises(Faulty, match="Composers"):
        imported(folder, ONE, with_cell(TWO, "Composer", "Ilse Merrow; Bo Linde"), THREE)


def test_a_column_that_is_gone_takes_nothing_away(folder: Path) -> None:
    imported(folder, ONE, TWO, THREE)
    text = text_of(folder)
    short = tuple(row[:3] for row in (ONE, TWO, THREE))
    assert imported(folder, *short, head=HEAD[:3]).changes == ()
    assert text_of(folder) == text


def test_a_cell_that_is_emptied_takes_its_value_away_and_leaves_the_comment(folder: Path) -> None:
    imported(folder, ONE, TWO, THREE)
    by_hand(folder, ('isrc: "ZZOSL2600002"', 'isrc: "ZZOSL2600002"  # from the label'))
    started = imported(folder, ONE, with_cell(TWO, "ISRC", ""), THREE)
    assert started.changes == ("'Lamps', ISRC: was 'ZZOSL2600002', now not supplied.",)
    assert "    isrc:  # from the label\n" in text_of(folder)


def test_a_cell_that_cannot_be_read_takes_nothing_away(folder: Path) -> None:
    imported(folder, ONE, TWO, THREE)
    started = imported(folder, ONE, with_cell(TWO, "ISRC", "ZZOSL1"), THREE, leave_out=True)
    assert started.changes == ()
    assert started.release
    assert started.release.tracks[1].isrc == "ZZOSL2600002"


def test_a_new_bounce_of_a_track_keeps_what_was_done_to_it(folder: Path) -> None:
    imported(folder, ONE, TWO, THREE)
    by_hand(folder, ('title: "Lamps"', 'title: "Lämps"\n    gap_before_s: 0  # by ear'))
    (folder / "02 Lamps.wav").rename(folder / "02 Lamps v2.wav")
    started = imported(folder, ONE, TWO, THREE)
    assert started.changes == ("'Lämps', File: was '02 Lamps.wav', now '02 Lamps v2.wav'.",)
    assert started.release
    track = started.release.tracks[1]
    assert (track.file.name, track.title, track.gap_before_s) == ("02 Lamps v2.wav", "Lämps", 0.0)
    assert "gap_before_s: 0  # by ear" in text_of(folder)


def test_a_first_sheet_settles_guesses_and_meets_what_was_typed(folder: Path) -> None:
    """After a bare start: guesses give way and are confirmed, what was typed since is a conflict where it differs."""
    start_bare(folder, replace=False)
    by_hand(folder, ("label:  # label", 'label: "Ostrelune Records"'), ("artist:  #", 'artist: "Merrow"  #'))
    with pytest.raises(Faulty, match="'Ostrelune Records' here and 'Ostrelune' on the sheet"):
        imported(folder, ONE, TWO, with_cell(THREE, "Title", "Ledgers"))
    started = imported(folder, ONE, TWO, with_cell(THREE, "Title", "Ledgers"), prefer="file")
    assert started.release
    assert started.release.label == "Ostrelune Records"
    assert [track.title for track in started.release.tracks] == ["Low Water", "Lamps", "Ledgers"]
    assert started.release.to_confirm == ("title",)
    assert [track.to_confirm for track in started.release.tracks] == [(), (), ()]
    assert started.changes
    assert started.changes[-1].startswith("4 values from file names are settled by the sheet: Order of the tracks, ")


def test_shares_and_composers_are_one_statement(folder: Path) -> None:
    head = ("No", "Title", "Composer", "Share")
    one, two = ("1", "Low Water", "Ada; Bo", "60; 40"), ("2", "Lamps", "Ada", "")
    imported(folder, one, two, head=head)
    assert imported(folder, ("1", "Low Water", "Ada; Bo", "50; 50"), two, head=head).changes == (
        "'Low Water', Writers: was 'Ada' (composer, 60 %); 'Bo' (composer, 40 %), "
        "now 'Ada' (composer, 50 %); 'Bo' (composer, 50 %).",
    )
    started = imported(folder, ("1", "Low Water", "Ada", ""), two, head=head)
    assert started.release
    assert (started.release.tracks[0].writers, started.release.tracks[0].composers) == ((), ("Ada",))


def test_artists_as_text_or_with_a_role_are_the_same(folder: Path) -> None:
    rows = (with_cell(ONE, "Artist", "Merrow feat. Low Lantern"), TWO, THREE)
    imported(folder, *rows)
    by_hand(folder, ('{name: "Merrow", role: "main"}', '"Merrow"'))
    started = imported(folder, *rows)
    assert started.changes == started.kept == ()
    assert started.release
    assert started.release.tracks[0].artists == (Credit("Merrow"), Credit("Low Lantern", "featured"))


def test_a_release_file_in_braces_stays_one(folder: Path) -> None:
    import json

    imported(folder, ONE, TWO)
    tracks = [{"file": "02 Lamps.wav", "title": "Lamps"}, {"file": "01 Low Water.wav", "title": "Low Water", "bpm": 90}]
    (folder / "release.yaml").write_text(json.dumps({"title": "A", "artist": "Merrow", "tracks": tracks}))
    started = imported(folder, with_cell(ONE, "Title", "Low Waters"), with_cell(TWO, "Version", "Live"), THREE)
    assert started.release
    read = json.loads(text_of(folder))
    assert [(track["title"], track.get("version"), track.get("bpm")) for track in read["tracks"]] == [
        ("Lamps", "Live", None), ("Ledger", None, None), ("Low Waters", None, 90),
    ]  # fmt: skip


def test_windows_line_ends_stay(folder: Path) -> None:
    imported(folder, ONE, TWO, THREE)
    path = folder / "release.yaml"
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    imported(folder, ONE, with_cell(TWO, "Version", "Live"), ("3", "Ledger", "Dub", *THREE[3:]))
    read = path.read_bytes()
    assert read.count(b"\r\n") == read.count(b"\n") > 20


def test_the_remembered_import_of_an_older_form_is_understood(folder: Path) -> None:
    import json

    imported(folder, ONE, TWO, THREE)
    by_hand(folder, ('title: "Lamps"', 'title: "Lämps"'))
    fields = [
        {"file": name, "number": at, "title": title, "isrc": f"ZZOSL260000{at}", "duration": 4}
        for at, (name, title) in enumerate(
            (("01 Low Water.wav", "Low Water"), ("02 Lamps.wav", "Lamps"), ("03 Ledger.wav", "Ledger")), start=1
        )
    ]
    old = {"form": 1, "release": {"album_artist": "Merrow", "label": "Ostrelune"}, "tracks": fields}
    (folder / previous_import.NAME).write_text(json.dumps(old), encoding="utf-8")
    assert imported(folder, ONE, TWO, THREE).changes == ()


def test_starting_anew_keeps_the_old_file(folder: Path) -> None:
    start_bare(folder, replace=False)
    text = by_hand(folder, ("label:  # label", 'label: "Typed"'))
    started = start_bare(folder, replace=True)
    assert started.moved == folder / "release.old.yaml"
    assert started.moved.read_text(encoding="utf-8") == text
    assert start_bare(folder, replace=True).moved == folder / "release.old-2.yaml"
