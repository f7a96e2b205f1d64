"""The conductor: a field that is one row of the table, from a client's sheet into the files and onto the sheet."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from delivery.formats import embed, read_tags
from delivery.intake.sheet.columns import field_of
from delivery.intake.sheet.read import grids_in
from delivery.intake.sheet.rows import read_copy
from delivery.intake.sheet.write import track_keys
from delivery.intake.shipped_files import shipped_schema
from delivery.model.release import Credit
from delivery.report.label_copy import csv, jsonld, text
from delivery.rules.label_copy import track_label_copy
from delivery.tags.values import tag_values
from tests.report.test_label_copy import FULL, RELEASE, view
from tests.tags.sounds import CONTAINERS, make_all

CONDUCTED = replace(FULL, credits=(*FULL.credits, Credit("Odile Merrow", "conductor"), Credit("Wren", "conductor")))
ALBUM = replace(RELEASE, tracks=(CONDUCTED,))
BOTH = [{"name": name, "role": "conductor"} for name in ("Odile Merrow", "Wren")]


@pytest.mark.parametrize(
    "heading",
    # ordinary dictionary words for the person who leads an orchestra
    ["Conductor", "Conductors:", "CONDUCTED BY", "Dirigent", "Dirigent*in", "Musikalische Leitung", "Chef d'orchestre",
     "Direttore d'orchestra", "Director de orquesta", "Regente", "Kapellimestari", "Dyrygent", "Karmester",
     "Дирижёр", "Дирижер", "指揮者", "指挥", "지휘자", "מנצח"],
)  # fmt: skip
def test_sheets_in_many_languages_name_the_conductor(heading: str) -> None:
    assert field_of(heading) == "conductor"


def test_it_is_read_from_a_sheet_and_written_into_one(tmp_path: Path) -> None:
    theirs, ours = tmp_path / "theirs.csv", tmp_path / "ours.csv"
    theirs.write_text("Nr;Titel;Interpret;Dirigent\n1;Low Water;Merrow;Odile Merrow & Wren Quay\n", encoding="utf-8")
    row = read_copy(grids_in(theirs, {})[0], {}).rows[0]
    assert [one["role"] for one in track_keys(row, "Merrow")["credits"]] == ["conductor", "conductor"]
    ours.write_bytes(csv.render(view(ALBUM)))
    again = track_keys(read_copy(grids_in(ours, {})[0], {}).rows[0], ALBUM.artist)
    assert [one for one in again["credits"] if one["role"] == "conductor"] == BOTH


def test_it_is_tagged_where_a_format_has_a_place_for_it(tmp_path: Path) -> None:
    """ID3v2.4.0 frames, 4.2.2: TPE3 is the conductor. Read here by the tag library alone, then by ourselves."""
    import mutagen
    from mutagen.id3 import ID3

    make_all(tmp_path)
    values = tag_values(ALBUM, CONDUCTED)
    assert values["conductors"] == "Odile Merrow; Wren"
    assert "conductor" not in values["credits"]
    for container, name in CONTAINERS.items():
        embed(tmp_path / name, container, values)
        assert read_tags(tmp_path / name, container)["conductors"] == "Odile Merrow; Wren", container
    assert ID3(tmp_path / "plain.mp3")["TPE3"].text == ["Odile Merrow; Wren"]
    assert mutagen.File(tmp_path / "plain.wav")["TPE3"].text == ["Odile Merrow; Wren"]
    assert mutagen.File(tmp_path / "plain.flac")["CONDUCTOR"] == ["Odile Merrow", "Wren"]
    assert mutagen.File(tmp_path / "plain.m4a")["----:com.apple.iTunes:CONDUCTOR"] == [b"Odile Merrow; Wren"]


def test_field_is_on_the_sheet_and_in_other_forms() -> None:
    """schema.org has no conductor of a MusicRecording (from memory): a contributor, with what they did as the role."""
    facts = {fact.label: fact.value for fact in view(ALBUM).tracks[0].facts}
    assert "conductor: Odile Merrow and Wren" in facts["Credits"]
    assert "conductor: Odile Merrow and Wren" in text.render(view(ALBUM)).decode("utf-8")
    recording = json.loads(jsonld.render(view(ALBUM)))["track"]["itemListElement"][0]["item"]
    conducted = [one["contributor"]["name"] for one in recording["contributor"] if one["roleName"] == "conductor"]
    assert conducted == ["Odile Merrow", "Wren"]


def test_a_spec_can_require_it() -> None:
    assert "conductors" in shipped_schema("spec.schema.json")["$defs"]["track_fields"]["items"]["enum"]
    assert "conductor" in json.dumps(shipped_schema("release.schema.json")["$defs"]["credit"])
    assert list(track_label_copy.judge(CONDUCTED, ALBUM, ["conductors"])) == []
    assert [one.wanted for one in track_label_copy.judge(FULL, RELEASE, ["conductors"])] == ["conductors"]
