"""Label copy line by line: every supplied value under its name, and nothing for what was not supplied."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from openpyxl import load_workbook

from delivery.intake.sheet.columns import field_of
from delivery.model.figure import Measurement
from delivery.model.part import Delivery, Source
from delivery.model.release import Credit, Release, Studio, Track, Writer
from delivery.report.label_copy import csv as label_copy_csv
from delivery.report.label_copy import json as label_copy_json
from delivery.report.label_copy import jsonld
from delivery.report.label_copy import text as label_copy_text
from delivery.report.label_copy import xlsx as label_copy_xlsx
from delivery.report.view.label_copy import LabelCopy, label_copy
from delivery.report.view.make import View, view_of
from tests.report.test_label_copy import FULL, PLAIN, RELEASE, view

BARE = Release(RELEASE.path, "Album", "Merrow", (Track(1, PLAIN.file, "One"),))


def unmeasured(release: Release) -> View:
    sources = tuple(Source(track, None) for track in release.tracks)
    return view_of(Delivery(release, Studio(), (), sources, ()), {})


def linked(release: Release, seen: View | None = None) -> dict[str, Any]:
    return dict(json.loads(jsonld.render(seen or view(release))))


def recording(track: Track) -> dict[str, Any]:
    return dict(linked(replace(RELEASE, tracks=(track,)))["track"]["itemListElement"][0]["item"])


def person(name: str, code: str = "") -> dict[str, Any]:
    identifier = {"identifier": {"@type": "PropertyValue", "propertyID": "ISNI", "value": code}} if code else {}
    return {"@type": "Person", "name": name} | identifier


def test_a_release_as_a_music_album() -> None:
    found = linked(RELEASE)
    assert found["@type"] == "MusicAlbum"
    assert found["genre"] == ["Folk", "Sea songs"]
    assert found["inLanguage"] == "en"
    assert found["byArtist"]["@type"] == "MusicGroup"
    assert found["byArtist"]["identifier"]["value"] == "0000000218250097"
    assert found["albumRelease"]["recordLabel"] == {"@type": "Organization", "name": "Ostrelune Records"}
    assert found["albumRelease"]["creditedTo"] == found["byArtist"]
    assert found["albumRelease"]["datePublished"] == "2026-11-27"
    assert [one["position"] for one in found["track"]["itemListElement"]] == [1, 2]
    assert found["track"]["numberOfItems"] == 2


def test_the_day_of_an_album_is_its_release_date_where_there_is_no_earlier_one() -> None:
    assert linked(replace(RELEASE, original_date=None))["datePublished"] == "2026-11-27"
    no_day = linked(replace(RELEASE, original_date=None, release_date=None))
    assert "datePublished" not in no_day
    assert "datePublished" not in no_day["albumRelease"]
    thirteen = linked(replace(RELEASE, upc="4006381333931"))["albumRelease"]["identifier"]
    assert thirteen["propertyID"] == "GTIN-13"


def test_what_was_not_supplied_is_not_in_the_linked_data() -> None:
    found = linked(BARE, unmeasured(BARE))
    assert set(found) == {"@context", "@type", "name", "byArtist", "albumRelease", "numTracks", "track"}
    assert set(found["albumRelease"]) == {"@type", "creditedTo"}
    one = found["track"]["itemListElement"][0]["item"]
    assert one == {
        "@type": "MusicRecording", "name": "One", "byArtist": [{"@type": "MusicGroup", "name": "Merrow"}],
        "recordingOf": {"@type": "MusicComposition", "name": "One"},
    }  # fmt: skip


def test_a_track_as_a_music_recording() -> None:
    found = recording(FULL)
    assert found["name"] == "Low Water (Radio Edit)"
    assert [one["name"] for one in found["byArtist"]] == ["Merrow", "The Glass Tide"]
    assert found["inLanguage"] == "pt-BR"
    assert found["locationCreated"] == {"@type": "Place", "name": "Saltmouth Chapel"}
    assert found["producer"] == [person("Tam Varrick")]
    roles = {one["roleName"]: one["contributor"] for one in found["contributor"]}
    assert roles["featured"] == person("Low Lantern")
    assert roles["violin"] == person("Bo")
    assert "producer" not in roles, "a property of its own"
    assert "main" not in roles, "byArtist"
    work = found["recordingOf"]
    assert work["composer"] == [person("Ilse Merrow", "0000000029534656"), person("Tam Varrick")]
    assert work["lyricist"] == [person("Ilse Merrow", "0000000029534656")]
    assert work["publisher"] == [{"@type": "Organization", "name": "Quayside Songs"}]
    assert work["musicalKey"] == "D minor"
    assert recording(PLAIN)["inLanguage"] == "zxx", "ISO 639-2: no linguistic content"


@pytest.mark.parametrize(("explicit", "friendly"), [("no", True), ("clean", True), ("explicit", False), ("", None)])
def test_a_recording_for_families(explicit: str, friendly: bool | None) -> None:
    assert recording(replace(FULL, explicit=explicit)).get("isFamilyFriendly") is friendly


@pytest.mark.parametrize(
    ("seconds", "period"),
    [(0.4, "PT0S"), (9, "PT9S"), (59.6, "PT1M0S"), (225, "PT3M45S"), (3600, "PT1H0M0S"), (3909, "PT1H5M9S")],
)
def test_a_length_as_a_period(seconds: float, period: str) -> None:
    """ISO 8601-1, 5.5.2: hours, minutes and seconds after 'PT'."""
    assert jsonld._period(seconds) == period


def test_notices_have_their_sign_once() -> None:
    found = linked(replace(RELEASE, p_line="(P) 2026 Ostrelune", c_line=""))
    assert found["albumRelease"]["creditText"] == "℗ 2026 Ostrelune"
    assert "copyrightNotice" not in found


def lines(release: Release, seen: View | None = None) -> list[str]:
    return label_copy_text.render(seen or view(release)).decode().splitlines()


def test_the_head_and_the_foot_of_a_mail() -> None:
    found = lines(RELEASE)
    assert found[:6] == [
        "Merrow & the Glass Tide", "Harbour Arithmetic (Deluxe)",
        "Label Ostrelune Records, Catalogue number OSL-014, UPC / EAN 036000291452",
        "℗ 2026 Ostrelune Records", "© 2026 Ostrelune Records", "",
    ]  # fmt: skip
    assert "Total 2 tracks, 11:15 without gaps" in found
    assert found[-1] == (
        "ISNI Merrow: 0000 0001 2281 955X; Ilse Merrow: 0000 0000 2953 4656; "
        "Merrow & the Glass Tide: 0000 0002 1825 0097"
    )
    assert not [line for line in lines(BARE) if line.startswith("ISNI")]


def test_writers_in_a_mail() -> None:
    def written(**names: tuple[str, ...]) -> list[str]:
        track = replace(BARE.tracks[0], **names)  # type: ignore[arg-type]
        return [line for line in lines(replace(BARE, tracks=(track,))) if line.startswith("   ")]

    assert written(composers=("Ada", "Bo"), lyricists=("Ada", "Bo")) == ["   written by Ada and Bo"]
    assert written(composers=("Ada",), lyricists=("Bo",)) == ["   music: Ada; words: Bo"]
    assert written(composers=("Ada",)) == ["   music: Ada"]
    assert written(lyricists=("Ada",)) == ["   words: Ada"]
    assert written() == []


def test_numbers_of_a_long_release_stand_below_each_other() -> None:
    tracks = tuple(
        replace(PLAIN, position=at, number=at, title=f"Song {at}", composers=("Ada",)) for at in range(1, 11)
    )
    found = lines(replace(BARE, tracks=tracks))
    first, *_, last = (line for line in found if "Song" in line)
    assert first.startswith(" 1  Song 1  ")
    assert last.startswith("10  Song 10  ")
    assert "    music: Ada" in found


def test_routes_are_listed_where_no_spec_says_who_receives_what() -> None:
    tracks = (
        replace(FULL, only_for=("cd", "lp"), credits=(Credit("Ada", "viola"), Credit("Bo", "viola"))),
        replace(PLAIN, not_for=("radio",)),
    )
    found = lines(replace(RELEASE, tracks=tracks))
    assert "   only for: cd, lp" in found
    assert "   not for: radio" in found
    assert [line for line in found if line.startswith("   viola: Ada and Bo")]
    assert not [line for line in lines(RELEASE) if " for: " in line]


def table(release: Release, seen: View | None = None) -> tuple[dict[str, str], list[dict[str, str]]]:
    """Release fields and tracks of the CSV, as a spreadsheet program reads it."""
    content = label_copy_csv.render(seen or view(release)).decode("utf-8-sig")
    rows = list(csv.reader(io.StringIO(content)))
    gap = rows.index([])
    return dict(rows[:gap]), [dict(zip(rows[gap + 1], row, strict=True)) for row in rows[gap + 2 :]]


def test_a_table_names_what_it_holds() -> None:
    head, (one, two) = table(RELEASE)
    named = ("Release title", "Release artist", "Release date", "Territories", "Label")
    assert [head[name] for name in named] == [
        "Harbour Arithmetic", "Merrow & the Glass Tide", "2026-11-27", "PT; JP", "Ostrelune Records",
    ]  # fmt: skip
    assert [one[name] for name in ("Track no.", "Title", "ISRC", "Shares % 1", "Publisher 1", "IPI 1")] == [
        "1", "Low Water", "ZZ-OSL-26-00001", "62.5", "Quayside Songs", "00014107338",
    ]  # fmt: skip
    writers = [value for name, value in one.items() if name.startswith("Writer")]
    assert writers[:2] == ["Ilse Merrow (CA)", "Tam Varrick (C)"]
    assert [value for name, value in two.items() if name.startswith("Writer")] == ["", ""]


def cells(release: Release, seen: View | None = None) -> list[dict[str, str]]:
    """Cells of each track by the field that their heading means to a reader of sheets."""
    return [
        {field_of(name): text for name, text in row.items() if not name[-1].isdigit()}
        for row in table(release, seen)[1]
    ]


def test_cells_of_a_track() -> None:
    one, two = cells(RELEASE)
    assert (one["duration"], two["duration"]) == ("3:45", "7:30")
    assert (one["bpm"], one["gap_before"], one["preview_start"]) == ("92.5", "2", "1:15")
    assert (one["composer"], one["lyricist"]) == ("", ""), "they are among the writers"
    assert (two["composer"], two["instrumental"], one["instrumental"]) == ("Ilse Merrow", "yes", "")
    assert one["other_credits"] == "violin: Bo"
    assert one["samples"] == "Low Lantern: Tally Sticks (cleared: letter of May); Ada: Buoy (not cleared)"
    assert (two["samples"], one["publisher"], one["file"]) == ("none", "", "01 Low Water.wav")
    assert one["isni"] == "Merrow: 0000 0001 2281 955X; Ilse Merrow: 0000 0000 2953 4656"
    assert (one["number"], one["disc"], two["number"]) == ("1", "1", "2")
    extra = replace(FULL, publishers=("Quayside Songs", "Buoy Music"), composers=("Ilse Merrow", "Wren"), samples=None)
    (one,) = cells(replace(RELEASE, tracks=(extra,)))
    assert (one["publisher"], one["composer"], one["samples"]) == ("Buoy Music", "Wren", "")


def test_cells_of_a_track_of_which_nothing_is_known() -> None:
    (bare,) = cells(BARE, unmeasured(BARE))
    assert {name for name, text in bare.items() if text} == {"title", "number", "disc", "file"}


def test_writers_with_every_role() -> None:
    roles = ("composer", "lyricist", "arranger", "translator")
    track = replace(FULL, writers=(Writer("Ada", roles, 33.33),))
    (one,) = table(replace(RELEASE, tracks=(track,)))[1]
    assert [text for name, text in one.items() if name[-1].isdigit()] == ["Ada (CAARTR)", "33.33", "", "", ""]


def test_routes_are_columns_only_where_a_track_has_one() -> None:
    assert not {"only_for", "not_for"} & set(cells(RELEASE)[0])
    routed = cells(replace(RELEASE, tracks=(replace(FULL, not_for=("radio", "lp")), PLAIN)))
    assert (routed[0]["not_for"], routed[1]["not_for"]) == ("radio; lp", "")
    assert "only_for" not in routed[0]


def test_the_document_for_programs_without_a_measurement() -> None:
    document = json.loads(label_copy_json.render(unmeasured(BARE)))
    assert document["tracks"][0]["duration_s"] is None
    no_length = replace(unmeasured(BARE).delivery.sources[0], measurement=Measurement({}))
    seen = view_of(Delivery(BARE, Studio(), (), (no_length,), ()), {})
    assert json.loads(label_copy_json.render(seen))["tracks"][0]["duration_s"] is None
    assert label_copy(seen).rows == label_copy(unmeasured(BARE)).rows


def test_a_workbook_to_be_filled_in() -> None:
    copy = LabelCopy((("Album", "Low"), ("Label", "")), ("Title", "No."), (("One", "007"),))
    book = load_workbook(io.BytesIO(label_copy_xlsx.as_workbook(copy, help=(("Title", "as printed"),), spare_rows=2)))
    sheet, help_sheet = book.worksheets
    assert (sheet.title, help_sheet.title) == ("Label copy", "How to fill it in")
    assert [[cell.value for cell in row] for row in sheet.iter_rows()][:5] == [
        ["Album", "Low"], ["Label", None], [None, None], ["Title", "No."], ["One", "007"],
    ]  # fmt: skip
    bold = {cell.coordinate for row in sheet.iter_rows() for cell in row if cell.font.bold}
    assert bold == {"A1", "A2", "A4", "B4"}
    assert sheet.freeze_panes == "A5", "the headings stay when the tracks are scrolled"
    assert {sheet.cell(row, column).number_format for row in (5, 6, 7) for column in (1, 2)} == {"@"}
    assert [[cell.value for cell in row] for row in help_sheet.iter_rows()] == [["Title", "as printed"]]
    assert sheet.column_dimensions["A"].width > sheet.column_dimensions["B"].width
    assert len(load_workbook(io.BytesIO(label_copy_xlsx.as_workbook(copy))).worksheets) == 1


def test_release_day_of_a_sheet_without_one() -> None:
    head, _ = table(replace(RELEASE, release_date=None, original_date=date(1998, 3, 2)))
    assert (head["Release date"], [text for text in head.values() if text == "1998-03-02"]) == ("", ["1998-03-02"])
