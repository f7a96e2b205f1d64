"""Label copy in the forms others read: nothing in it acts, and a sheet reads back as the release it was made of."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from delivery.intake.sheet.read import grids_in
from delivery.intake.sheet.rows import Copy, read_copy
from delivery.intake.sheet.write import release_keys, track_keys
from delivery.model.figure import Measurement, Reading
from delivery.model.part import Delivery, Source
from delivery.model.release import Credit, Identity, Release, Sample, Studio, Track, Writer
from delivery.report.label_copy import csv as label_copy_csv
from delivery.report.label_copy import json as label_copy_json
from delivery.report.label_copy import jsonld
from delivery.report.label_copy import text as label_copy_text
from delivery.report.label_copy import xlsx as label_copy_xlsx
from delivery.report.view.make import View, view_of

FULL = Track(
    1, Path("01 Low Water.wav"), "Low Water", version="Radio Edit", isrc="ZZOSL2600001", iswc="T0345246801",
    artists=(Credit("Merrow"), Credit("The Glass Tide"), Credit("Low Lantern", "featured"), Credit("Ada", "remixer")),
    explicit="clean", language="pt-BR", title_language="en",
    writers=(
        Writer("Ilse Merrow", ("composer", "lyricist"), 62.5, "Quayside Songs", "SALT", "00014107338"),
        Writer("Tam Varrick", ("composer",), 37.5),
    ),
    composers=("Ilse Merrow", "Tam Varrick"), lyricists=("Ilse Merrow",), publishers=("Quayside Songs",),
    credits=(Credit("Tam Varrick", "producer"), Credit("Ada", "mixer"), Credit("Wren", "mastering engineer"),
             Credit("Bo", "violin")),
    bpm=92.5, key="D minor", texts=(("original_artist", "Low Lantern"),), recording_studio="Saltmouth Chapel",
    recording_country="PT", recording_year=2025, preview_start_s=75.0, gap_before_s=2.0,
    samples=(Sample("Low Lantern: Tally Sticks", True, "letter of May"), Sample("Ada: Buoy", False)),
)  # fmt: skip
PLAIN = Track(2, Path("02 潮.wav"), "潮の計算", number=2, instrumental=True, composers=("Ilse Merrow",), samples=())
RELEASE = Release(
    Path("release.yaml"), "Harbour Arithmetic", "Merrow & the Glass Tide", (FULL, PLAIN), version="Deluxe",
    label="Ostrelune Records", catalogue_number="OSL-014", upc="036000291452", release_date=date(2026, 11, 27),
    original_date=date(1998, 3, 2), p_line="2026 Ostrelune Records", c_line="© 2026 Ostrelune Records", genre="Folk",
    subgenre="Sea songs", territories=("PT", "JP"), client="Production office", language="en",
    identities=(Identity("Merrow", "000000012281955X"), Identity("Ilse Merrow", "0000000029534656"),
                Identity("Merrow & the Glass Tide", "0000000218250097")),
)  # fmt: skip


def view(release: Release = RELEASE) -> View:
    sources = tuple(Source(t, Measurement({"duration_s": Reading(225.0 * t.position)})) for t in release.tracks)
    return view_of(Delivery(release, Studio(), (), sources, ()), {})


def read_back(content: bytes, folder: Path) -> Copy:
    path = folder / "copy"
    path.write_bytes(content)
    grid, *_ = grids_in(path, {})
    return read_copy(grid, {})


SHEETS = pytest.mark.parametrize("form", [label_copy_csv, label_copy_xlsx], ids=["csv", "xlsx"])


@SHEETS
def test_a_sheet_reads_back_as_the_release_it_was_made_of(form: Any, tmp_path: Path) -> None:
    """Every field of the release file that a sheet can hold, through another file format and back."""
    copy = read_back(form.render(view()), tmp_path)
    assert copy.faults == ()
    reported = release_keys(copy)
    assert reported == {
        "title": "Harbour Arithmetic", "artist": "Merrow & the Glass Tide", "version": "Deluxe",
        "label": "Ostrelune Records", "catalogue_number": "OSL-014", "upc": "036000291452",
        "release_date": "2026-11-27", "original_date": "1998-03-02", "p_line": "2026 Ostrelune Records",
        "c_line": "© 2026 Ostrelune Records", "genre": "Folk", "subgenre": "Sea songs", "territories": ("PT", "JP"),
        "client": "Production office", "language": "en",
        "isni": (
            {"name": "Merrow", "code": "000000012281955X"}, {"name": "Ilse Merrow", "code": "0000000029534656"},
            {"name": "Merrow & the Glass Tide", "code": "0000000218250097"},
        ),
    }  # fmt: skip
    one, two = (track_keys(row, RELEASE.artist) for row in copy.rows)
    assert two == {
        "disc": 1,
        "number": 2,
        "title": "潮の計算",
        "instrumental": True,
        "composers": ("Ilse Merrow",),
        "samples": (),
    }
    writers = one.pop("writers")
    assert writers == (
        {"name": "Ilse Merrow", "roles": ("composer", "lyricist"), "share_percent": 62.5, "publisher": "Quayside Songs",
         "society": "SALT", "ipi": "00014107338"},
        {"name": "Tam Varrick", "roles": ("composer",), "share_percent": 37.5},
    )  # fmt: skip
    assert one.pop("artists") == tuple({"name": a.name, "role": a.role} for a in FULL.artists)
    assert one.pop("credits") == tuple({"name": c.name, "role": c.role} for c in FULL.credits)
    assert one.pop("samples") == (
        {"of": "Low Lantern: Tally Sticks", "cleared": True, "by": "letter of May"},
        {"of": "Ada: Buoy", "cleared": False},
    )
    assert one == {
        "disc": 1, "number": 1, "title": "Low Water", "version": "Radio Edit", "isrc": "ZZOSL2600001",
        "iswc": "T0345246801", "explicit": "clean", "language": "pt-BR", "title_language": "en", "bpm": 92.5,
        "key": "D minor", "original_artist": "Low Lantern", "recording_studio": "Saltmouth Chapel",
        "recording_country": "PT", "recording_year": 2025, "preview_start_s": 75.0, "gap_before_s": 2.0,
    }  # fmt: skip
    assert [row["duration"] for row in copy.rows] == [225.0, 450.0]


@pytest.mark.parametrize(
    "title", ["=1+1", "+1", "-1", "@SUM(A1)", '=HYPERLINK("http://invalid","x")', "\t=1", "'quoted'"]
)
@SHEETS
def test_no_cell_is_a_formula_and_titles_come_back(form: Any, title: str, tmp_path: Path) -> None:
    """OWASP, 'CSV Injection': cells that begin with =, +, -, @, tab or return may act."""
    content = form.render(view(replace(RELEASE, tracks=(replace(FULL, title=title),))))
    if form is label_copy_csv:
        cells = [cell for row in csv.reader(io.StringIO(content.decode("utf-8-sig"))) for cell in row]
        assert not [cell for cell in cells if cell.startswith(("=", "+", "-", "@", "\t", "\r"))]
    else:
        sheet = load_workbook(io.BytesIO(content)).active
        kinds = {cell.data_type for row in sheet.iter_rows() for cell in row if cell.value is not None}
        assert kinds == {"s"}
    (row,) = read_back(content, tmp_path).rows
    assert row["title"] == title.strip()


def test_a_workbook_is_the_same_bytes_every_time(monkeypatch: pytest.MonkeyPatch) -> None:
    import time

    first = label_copy_xlsx.render(view())
    monkeypatch.setattr(time, "time", lambda: 2_000_000_000.0)
    time.sleep(1.1)
    assert label_copy_xlsx.render(view()) == first


def test_signs_that_no_workbook_can_hold(tmp_path: Path) -> None:
    """XML 1.0, 2.2: most control characters cannot be written at all."""
    odd = replace(RELEASE, tracks=(replace(FULL, title="a\x01b\ud800c" + "x" * 40_000),))
    (row,) = read_back(label_copy_xlsx.render(view(odd)), tmp_path).rows
    assert row["title"].startswith("a b\ufffdc")
    assert len(row["title"]) <= 32_767


def terms(node: Any, under: str = "") -> list[tuple[str, str, str]]:
    """Type, property and the property it is under, of everything in the document."""
    if isinstance(node, list):
        return [term for item in node for term in terms(item, under)]
    if not isinstance(node, dict):
        return []
    kind = node["@type"]
    own = [(kind, key, under) for key in node if not key.startswith("@")]
    return own + [term for key, value in node.items() for term in terms(value, key)]


def test_every_type_and_property_is_schema_orgs() -> None:
    """Held against classes that others generate from the published vocabulary."""
    models = pytest.importorskip("msgspec_schemaorg.models", reason="outside judge not installed: msgspec-schemaorg")
    document = json.loads(jsonld.render(view()))
    assert document["@context"] == "https://schema.org"
    found = terms(document)
    assert len(found) > 40
    for kind, name, under in found:
        repeated = kind == "Role" and name == under  # schema.org/Role: it repeats the property it stands for
        assert repeated or name in getattr(models, kind).__struct_fields__, (kind, name)


def test_content_of_the_linked_data() -> None:
    document = json.loads(jsonld.render(view()))
    release, one = document["albumRelease"], document["track"]["itemListElement"][0]["item"]
    assert (document["name"], document["numTracks"], document["datePublished"]) == (
        "Harbour Arithmetic (Deluxe)",
        2,
        "1998-03-02",
    )
    assert release["identifier"] == {"@type": "PropertyValue", "propertyID": "GTIN-12", "value": "036000291452"}
    assert (release["catalogNumber"], release["creditText"]) == ("OSL-014", "℗ 2026 Ostrelune Records")
    assert document["copyrightNotice"] == "© 2026 Ostrelune Records"
    assert (one["isrcCode"], one["duration"], one["recordingOf"]["iswcCode"]) == (
        "ZZOSL2600001",
        "PT3M45S",
        "T0345246801",
    )
    assert one["isFamilyFriendly"] is True
    assert one["byArtist"][0]["identifier"] == {
        "@type": "PropertyValue", "propertyID": "ISNI", "value": "000000012281955X",
    }  # fmt: skip
    assert one["recordingOf"]["composer"][0]["identifier"]["value"] == "0000000029534656"
    assert "identifier" not in one["byArtist"][1]


def test_the_machine_document() -> None:
    content = label_copy_json.render(view()).decode("utf-8")
    document = json.loads(content)
    assert content == json.dumps(document, ensure_ascii=False, indent=2, sort_keys=True) + "\n"
    assert (document["form"], document["release"]["territories"]) == (1, ["PT", "JP"])
    assert document["tracks"][0]["isrc_printed"] == "ZZ-OSL-26-00001"
    assert document["tracks"][0]["iswc_printed"] == "T-034.524.680-1"
    assert [track["duration_s"] for track in document["tracks"]] == [225.0, 450.0]
    assert not {"sha256", "problem", "measured"}.intersection(key for track in document["tracks"] for key in track)
    assert document["tracks"][0]["writers"][0]["share_percent"] == 62.5
    assert [track["samples"] for track in document["tracks"]][1] == []
    assert not {"waivers", "accepted", "qc_log", "approval"} & set(document["release"])
    assert document["release"]["isni"][0] == {
        "name": "Merrow", "code": "000000012281955X", "printed": "0000 0001 2281 955X",
    }  # fmt: skip


def test_the_running_order_for_a_mail() -> None:
    text = label_copy_text.render(view()).decode("utf-8")
    assert text.splitlines()[:2] == ["Merrow & the Glass Tide", "Harbour Arithmetic (Deluxe)"]
    assert "1  Low Water (Radio Edit), Merrow & The Glass Tide feat. Low Lantern  3:45  ZZ-OSL-26-00001\n" in text
    assert "   music: Ilse Merrow and Tam Varrick; words: Ilse Merrow\n" in text
    worked = "producer: Tam Varrick; mixer: Ada; mastering engineer: Wren; violin: Bo"
    assert f"{worked}; First recorded by: Low Lantern\n" in text


@pytest.mark.parametrize("form", [label_copy_csv, label_copy_json, jsonld, label_copy_text])
def test_two_renders_are_equal(form: Any) -> None:
    assert form.render(view()) == form.render(view())
