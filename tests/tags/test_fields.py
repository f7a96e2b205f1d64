"""The table of fields, and the texts a release gives."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from delivery.model.fields.row import NOT_STORED
from delivery.model.release import Credit, Release, Track
from delivery.tags.chart import chart
from delivery.tags.fields import COLUMNS, FIELDS, from_names, held, not_stored, tag_values
from delivery.tags.values import iso_639_2, short_key

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("field", FIELDS.values(), ids=list(FIELDS))
def test_no_cell_is_empty(field: object) -> None:
    """A field without a place is marked so; an empty cell could be a forgotten field."""
    cells = [getattr(field, column) for column in COLUMNS]
    assert all(cell == NOT_STORED or (cell.strip() and " home" not in cell) for cell in cells)
    assert any(cell != NOT_STORED for cell in cells)


@pytest.mark.parametrize("column", COLUMNS)
def test_no_two_fields_share_a_place(column: str) -> None:
    places = [home for field in FIELDS.values() for home in field.places(column)]
    assert places
    assert len(places) == len(set(places))


def test_names_used_by_others_belong_to_one_field() -> None:
    """A name read for one field must not be what another field writes."""
    for field in FIELDS.values():
        others = (other for other in FIELDS.values() if other is not field)
        written = {home.rpartition(":")[2] for other in others for c in COLUMNS for home in other.places(c)}
        assert not written & set(field.also.split()), field.id


def test_the_committed_chart_is_the_table() -> None:
    """``python -m delivery.tags.chart`` makes it."""
    assert (ROOT / "specs" / "tags.md").read_text(encoding="utf-8") == chart()


def test_the_recording_code_is_not_written_to_info() -> None:
    """RIFF of 1991: INFO ISRC is the source of the item."""
    assert FIELDS["isrc"].info == NOT_STORED
    assert "ISRC" not in {home for field in FIELDS.values() for home in field.places("info")}


def album() -> tuple[Release, Track]:
    track = Track(
        3, Path("c.wav"), "Slack Water", number=1, disc=2, version="Instrumental",
        artists=(
            Credit("Merrow"), Credit("The Glass Tide"), Credit("Low Lantern", "featured"), Credit("Ada", "remixer"),
        ),
        isrc="ZZOSL2600003", explicit="no", composers=("Ines Merrow", "Tomas Gale"), language="pt-BR",
    )  # fmt: skip
    others = (Track(1, Path("a.wav"), "A", number=1), Track(2, Path("b.wav"), "B", number=2))
    release = Release(
        Path("release.yaml"), "Harbour Arithmetic", "Merrow & the Glass Tide", (*others, track), version="Deluxe",
        label="Ostrelune Records", release_date=date(2026, 5, 1), p_line="℗ 2026 Ostrelune Records",
        c_line="(C) 2026 Ostrelune Records", upc="2000000140019", language="en", dated=date(2026, 4, 1),
    )  # fmt: skip
    return release, track


def test_what_a_release_gives_one_track() -> None:
    assert tag_values(*album()) == {
        "title": "Slack Water",
        "version": "Instrumental",
        "artist": "Merrow & The Glass Tide feat. Low Lantern",
        "album": "Harbour Arithmetic (Deluxe)",
        "album_artist": "Merrow & the Glass Tide",
        "track_number": "1",
        "track_total": "1",
        "disc_number": "2",
        "disc_total": "2",
        "isrc": "ZZOSL2600003",
        "composers": "Ines Merrow; Tomas Gale",
        "remixers": "Ada",
        "language": "por",
        "explicit": "no",
        "release_date": "2026-05-01",
        "p_line": "2026 Ostrelune Records",
        "c_line": "2026 Ostrelune Records",
        "label": "Ostrelune Records",
        "upc": "2000000140019",
        "dated": "2026-04-01",
    }


def test_only_what_was_supplied() -> None:
    track = Track(1, Path("a.wav"), "A")
    release = Release(Path("release.yaml"), "", "Merrow", (track,))
    assert set(tag_values(release, track)) == {
        "title", "artist", "album_artist", "track_number", "track_total", "disc_number", "disc_total",
    }  # fmt: skip


def test_every_value_is_a_field() -> None:
    assert set(tag_values(*album())) <= set(FIELDS)


@pytest.mark.parametrize(
    ("given", "code"),
    # ISO 639-2 and 639-1 code lists: German is deu in the terminology set, ger in the bibliographic one
    [("en", "eng"), ("EN", "eng"), ("en-GB", "eng"), ("de", "deu"), ("cy", "cym"), ("eng", "eng"), ("zxx", "zxx"),
     ("", ""), ("xx", "xx"), ("Old Norse", "Old Norse")],
)  # fmt: skip
def test_language_codes(given: str, code: str) -> None:
    assert iso_639_2(given) == code


def test_an_instrumental_has_no_language() -> None:
    """ISO 639-2: zxx, no linguistic content."""
    track = Track(1, Path("a.wav"), "A", language="en", instrumental=True)
    assert tag_values(Release(Path("r.yaml"), "T", "A", (track,)), track)["language"] == "zxx"


@pytest.mark.parametrize(
    ("key", "short"),
    # ID3v2.4.0 frames, 4.2.3 (TKEY): A to G, b and #, m for minor, o for off key
    [("D minor", "Dm"), ("C#m", "C#m"), ("B♭ major", "Bb"), ("f♯ moll", "F#m"), ("G", "G"), ("A M", "A"),
     ("off key", "o"), ("H-Moll", ""), ("sad", ""), ("", "")],
)  # fmt: skip
def test_keys_as_players_write_them(key: str, short: str) -> None:
    assert short_key(key) == short


def test_who_worked_on_it_and_what_it_is() -> None:
    track = Track(
        1, Path("a.wav"), "A", iswc="T0345246801", bpm=91.6, key="D minor", texts=(("original_artist", "Low Lantern"),),
        recording_studio="Saltmouth Chapel",
        credits=tuple(
            Credit(name, role)
            for name, role in zip("PMQW", ("producer", "mixer", "producer", "mastering engineer"), strict=True)
        ),
    )  # fmt: skip
    values = tag_values(Release(Path("release.yaml"), "T", "A", (track,)), track)
    assert (values["producers"], values["mixers"], values["mastering_engineers"]) == ("P; Q", "M", "W")
    assert (values["iswc"], values["bpm"], values["key"]) == ("T0345246801", "92", "Dm")
    assert (values["original_artist"], values["recording_studio"]) == ("Low Lantern", "Saltmouth Chapel")


def test_title_takes_the_version_only_where_it_is_not_stored() -> None:
    values = {"title": "Slack Water", "version": "Instrumental", "artist": ""}
    assert held(values, "id3") == {"title": "Slack Water", "version": "Instrumental"}
    assert held(values, "info") == held(values, "bext") == {"title": "Slack Water (Instrumental)"}
    assert held(values, "axml") == {}


def test_not_stored_names_exactly_the_lost_fields() -> None:
    values = {"title": "T", "version": "V", "upc": "2000000140019", "dated": "2026-04-01", "genre": ""}
    assert not_stored(values, ("info", "bext", "axml")) == ("upc",)
    assert not_stored(values, ("vorbis",)) == ()
    assert not_stored({"version": "V"}, ("info",)) == ("version",)


def test_own_names_take_precedence_over_those_of_others() -> None:
    found = {"BARCODE": "1", "UPC": "2", "TOTALTRACKS": "9", "ALBUMARTIST": "A"}
    assert from_names(found, "vorbis", free="") == {"upc": "1", "track_total": "9", "album_artist": "A"}
    assert from_names(found, "vorbis") == {"upc": "1", "album_artist": "A"}
