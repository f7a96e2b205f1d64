"""A release file becomes a Release, or all its faults at once."""

from __future__ import annotations

import unicodedata
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from delivery.errors import Faulty
from delivery.intake import load_release
from delivery.intake.yaml.quoting import quoted
from delivery.model.release import Credit, Release, Waiver
from tests.intake.releases import WHOLE, release_file, with_tracks


def faults(folder: Path, text: str) -> list[str]:
    with pytest.raises(Faulty) as caught:
        load_release(release_file(folder, text))
    return [str(fault) for fault in caught.value.faults]


def test_every_key_of_a_release_file(tmp_path: Path) -> None:
    path = release_file(tmp_path, WHOLE)
    release = load_release(path)
    assert release.path == path
    assert (release.title, release.artist, release.label) == (
        "Harbour Arithmetic", "Merrow & the Glass Tide", "Ostrelune Records",
    )  # fmt: skip
    assert (release.catalogue_number, release.upc, release.genre) == ("OSL-014", "2000000140019", "Chamber pop")
    assert (release.release_date, release.dated, release.original_date) == (date(2026, 11, 27), date(2026, 10, 5), None)
    assert (release.revision, release.approved_by, release.language) == (2, "I. Merrow", "en")
    assert release.notes == "Tracks 1 and 2 run into each other.\nThe hiss is meant.\n"
    assert release.artwork == tmp_path / "cover.jpg"
    assert release.deliver_to == ("cd-rate-16", "specs/own.yaml")
    assert release.waivers == (
        Waiver("true_peak_max_dbtp", "I. Merrow", "The distortion is the arrangement.", 3, "cd-rate-16"),
    )
    first, second, third = release.tracks
    assert (first.file, first.isrc, first.explicit) == (tmp_path / "01 Low Water.wav", "ZZOSL2600001", "no")
    assert first.artists == (Credit("Merrow & the Glass Tide"), Credit("Tam Varrick", "featured"))
    assert first.composers == ("Ilse Merrow",)
    assert (second.version, second.isrc, second.explicit) == ("Radio Edit", "ZZOSL2600002", "clean")
    assert (second.lyricists, second.language, second.gap_before_s) == (("Ilse Merrow", "Tam Varrick"), "pt-BR", 0.0)
    assert (third.title, third.instrumental, third.gap_before_s) == ("潮の計算", True, None)
    assert [(track.position, track.disc, track.number) for track in release.tracks] == [(1, 1, 1), (2, 1, 2), (3, 2, 1)]


def test_places_point_at_lines_of_the_file(tmp_path: Path) -> None:
    release = load_release(release_file(tmp_path, WHOLE))
    lines = WHOLE.splitlines()
    for pointer, word in (
        ("upc", "upc:"),
        ("tracks/1/isrc", "zzosl2600002"),
        ("tracks/2", "cd2/01"),
        ("waivers/0", "rule"),
    ):
        line = int(release.place(pointer).rpartition(":")[2])
        assert word in lines[line - 1]
    assert release.place("tracks/2/isrc") == release.place("tracks/2")


def test_only_title_and_tracks_are_needed(tmp_path: Path) -> None:
    release = load_release(release_file(tmp_path, "title: A\ntracks: [{file: a.wav, title: B}]\n"))
    assert release == Release(
        path=tmp_path / "release.yaml", title="A", artist="", tracks=release.tracks, lines=release.lines, track_count=1
    )


def test_keys_without_value_are_not_supplied(tmp_path: Path) -> None:
    track = "{file: a.wav, title: B, isrc: , gap_before_s: }"
    text = f'title: A\nlabel:\nupc: ~\nversion: ""\nwaivers:\ntracks:\n  - {track}\n'
    release = load_release(release_file(tmp_path, text))
    assert (release.label, release.upc, release.version, release.waivers) == ("", "", "", ())
    assert (release.tracks[0].isrc, release.tracks[0].gap_before_s) == ("", None)


@pytest.mark.parametrize("title", ["1999", "007", "1.50", "true", "No", "2026-11-25", "0x1F", "12e3", "+1"])
def test_titles_that_look_like_numbers_are_the_text_they_are(tmp_path: Path, title: str) -> None:
    track = f"{{file: a.wav, title: {title}, composers: [{title}], artists: [{title}]}}"
    text = f"title: {title}\nartist: {title}\ntracks: [{track}]\n"
    release = load_release(release_file(tmp_path, text))
    track = release.tracks[0]
    assert [release.title, release.artist, track.title, track.composers, track.artists] == [
        title, title, title, (title,), (Credit(title),),
    ]  # fmt: skip


def test_a_title_called_null_needs_quotes(tmp_path: Path) -> None:
    assert faults(tmp_path, "title: Null\ntracks: [{file: a.wav, title: B}]\n") == [
        "release.yaml:1 title: found nothing, wanted text. Fill it in, or delete the line. Example: Harbour Arithmetic"
    ]


@pytest.mark.parametrize("key", ["upc", "catalogue_number"])
def test_codes_without_quotes_are_refused_with_their_zeros(tmp_path: Path, key: str) -> None:
    """A reader that takes 036000291452 (UPC of the worked example of GS1) for a number drops its zero."""
    (output,) = faults(tmp_path, f"title: A\n{key}: 036000291452\ntracks: [{{file: a.wav, title: B}}]\n")
    assert output == (
        f"release.yaml:2 {key}: found the number 036000291452, wanted text. "
        f'Put it in quotes, so that every program reads it as text: {key}: "036000291452"'
    )


def test_all_faults_are_reported_together_in_file_order(tmp_path: Path) -> None:
    text = """\
titel: Harbour Arithmetic
title: ""
upc: 123
release_date: 27.11.2026
tracks:
  - file: 01.wav
    title: Song #9
    isrc: ZZ-OSL-26-0001
    explicit: maybe
    gap_before_s: -2
  - file: ./01.wav
    title: B
    number: 1
    artists: [{name: C, role: feat}]
  - D
waivers:
  - {rule: true_peak_max_dbtp, track: 4, by: I. Merrow, why: " "}
  - {rule: true_peak_max_dbtp}
"""
    output = faults(tmp_path, text)
    assert [one.partition(", wanted")[0] for one in output] == [
        "release.yaml:1 titel: found the unknown key 'titel'",
        "release.yaml:2 title: found an empty text",
        "release.yaml:3 upc: found the number 123",
        "release.yaml:4 release_date: found '27.11.2026'",
        "release.yaml:7 tracks 1 title: found '#9' after the text, which YAML takes for a comment",
        "release.yaml:8 tracks 1 isrc: found 'ZZ-OSL-26-0001'",
        "release.yaml:9 tracks 1 explicit: found 'maybe'",
        "release.yaml:10 tracks 1 gap_before_s: found the number -2",
        "release.yaml:11 tracks 2 file: found the file of track 1 again (./01.wav, line 6)",
        "release.yaml:13 tracks 2 number: found number 1 of disc 1 after number 1 of disc 1",
        "release.yaml:14 tracks 2 artists 1 role: found the role 'feat'",
        "release.yaml:15 tracks 3: found 'D'",
        "release.yaml:17 waivers 1 track: found track 4",
        "release.yaml:17 waivers 1 why: found ' '",
        "release.yaml:18 waivers 2: found no 'by'",
        "release.yaml:18 waivers 2: found no 'why'",
    ]
    assert "Did you mean 'title'?" in output[0]
    assert 'quotes: "Song #9"' in output[4]
    assert "1 is missing" in output[5]


@pytest.mark.parametrize(
    ("typo", "meant"),
    [
        ("catalog_number", "catalogue_number"), ("Title", "title"), ("release-date", "release_date"),
        ("artst", "artist"), ("deliver", "deliver_to"), ("cline", "c_line"), ("waiver", "waivers"),
        ("UPC", "upc"),
    ],
)  # fmt: skip
def test_a_mistyped_key_gets_the_nearest_one(tmp_path: Path, typo: str, meant: str) -> None:
    (output,) = faults(tmp_path, f"{typo}: x\ntitle: A\ntracks: [{{file: a.wav, title: B}}]\n")
    assert f"release.yaml:1 {typo}: found the unknown key '{typo}'" in output
    assert output.endswith(f"Did you mean '{meant}'?")


@pytest.mark.parametrize(
    ("tracks", "places"),
    [
        (("", "", ""), [(1, 1), (1, 2), (1, 3)]),
        (("number: 4", ""), [(1, 4), (1, 5)]),
        (("", "disc: 2", "", "disc: 3\nnumber: 7", ""), [(1, 1), (2, 1), (2, 2), (3, 7), (3, 8)]),
        (("number: 1.0", "disc: 2.0"), [(1, 1), (2, 1)]),
    ],
)
def test_numbers_count_within_their_disc(
    tmp_path: Path, tracks: tuple[str, ...], places: list[tuple[int, int]]
) -> None:
    release = load_release(release_file(tmp_path, with_tracks(*tracks)))
    assert [(track.disc, track.number) for track in release.tracks] == places
    assert all(type(track.number) is int and type(track.disc) is int for track in release.tracks)


@pytest.mark.parametrize(
    ("tracks", "message"),
    [
        (
            ("number: 2", "number: 2"),
            "release.yaml:8 tracks 2 number: found number 2 of disc 1 after number 2 of disc 1",
        ),
        (
            ("number: 3", "number: 1"),
            "release.yaml:8 tracks 2 number: found number 1 of disc 1 after number 3 of disc 1",
        ),
        (("disc: 2", "disc: 1"), "release.yaml:8 tracks 2 disc: found number 1 of disc 1 after number 1 of disc 2"),
        (("number: 0",), "release.yaml:5 tracks 1 number: found the number 0, wanted at least 1"),
    ],
)
def test_numbers_that_contradict_the_order(tmp_path: Path, tracks: tuple[str, ...], message: str) -> None:
    assert any(output.startswith(message) for output in faults(tmp_path, with_tracks(*tracks)))


def test_a_missing_master_is_no_fault_of_the_text(tmp_path: Path) -> None:
    assert load_release(release_file(tmp_path, with_tracks(""))).tracks[0].file == tmp_path / "01.wav"


def test_one_file_under_two_names(tmp_path: Path) -> None:
    (tmp_path / "01.wav").write_bytes(b"x")
    try:
        (tmp_path / "02.wav").symlink_to(tmp_path / "01.wav")
    except OSError:
        pytest.skip("this system permits no links")
    (output,) = faults(tmp_path, with_tracks("", ""))
    assert output.startswith("release.yaml:5 tracks 2 file: found the file of track 1 again (02.wav, line 3)")


@pytest.mark.parametrize(("on_disk", "in_text"), [("NFD", "NFC"), ("NFC", "NFD")])
def test_accents_spelled_one_way_on_disk_and_another_in_the_text(tmp_path: Path, on_disk: str, in_text: str) -> None:
    """Unicode Annex 15: 'é' is one character or two; some disks store the second whatever was typed."""
    folder = tmp_path / unicodedata.normalize(on_disk, "Café")  # type: ignore[arg-type]
    folder.mkdir()
    (folder / unicodedata.normalize(on_disk, "Été.wav")).write_bytes(b"x")  # type: ignore[arg-type]
    named = unicodedata.normalize(in_text, "Café/Été.wav")  # type: ignore[arg-type]
    text = f"title: {unicodedata.normalize('NFD', 'Café')}\ntracks: [{{file: {named}, title: B}}]\n"
    release = load_release(release_file(tmp_path, text))
    assert release.tracks[0].file.is_file()
    assert release.tracks[0].file.name in {entry.name for entry in folder.iterdir()}
    assert release.title == unicodedata.normalize("NFC", "Café")


def test_the_other_systems_slash(tmp_path: Path) -> None:
    (tmp_path / "cd1").mkdir()
    (tmp_path / "cd1" / "01.wav").write_bytes(b"x")
    release = load_release(release_file(tmp_path, "title: A\ntracks: [{file: 'cd1\\01.wav', title: B}]\n"))
    assert release.tracks[0].file.is_file()


@pytest.mark.parametrize("name", ["a" * 5000, "../" * 2000 + "x", "con:\\?*", "x/" * 500])
def test_impossible_names_are_missing_files(tmp_path: Path, name: str) -> None:
    release = load_release(release_file(tmp_path, f"title: A\ntracks: [{{file: '{name}', title: B}}]\n"))
    assert release.tracks[0].title == "B"


@pytest.mark.parametrize("text", ["two\\nlines", "a\\0b", "tab\\there", "end\\n", " ", "\\u2028x"])
def test_control_characters_and_blanks_are_no_titles(tmp_path: Path, text: str) -> None:
    (output,) = faults(tmp_path, f'title: "{text}"\ntracks: [{{file: a.wav, title: B}}]\n')
    assert output.startswith("release.yaml:1 title: found '")
    assert "wanted Title of the release, without its version" in output or "one line of text" in output.lower()


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[]\n", "release.yaml:1: found an empty list, wanted a group of keys"),
        ("just words\n", "release.yaml:1: found 'just words', wanted a group of keys"),
        ("title: A\ntracks: []\n", "release.yaml:2 tracks: found an empty list, wanted at least 1 item"),
        ("title: A\ntracks:\n", "release.yaml:2 tracks: found nothing, wanted a list"),
        ("title: A\n", "release.yaml:1: found no 'tracks', wanted the key 'tracks'"),
        ("title: A\ntracks: {file: a}\n", "release.yaml:2 tracks: found a group of keys (file), wanted a list"),
        ("title: A\ntracks:\n  -\n", "release.yaml:3 tracks 1: found nothing, wanted a group of keys"),
    ],
)
def test_shapes_that_are_no_release(tmp_path: Path, text: str, message: str) -> None:
    assert faults(tmp_path, text)[0].startswith(message)


TITLES = st.text(
    st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp", "Cn"], exclude_characters="\ufeff"), min_size=1
).filter(str.strip)


@settings(max_examples=150)
@given(titles=st.lists(TITLES, min_size=1, max_size=4), name=TITLES)
def test_any_text_is_written_and_read_back(tmp_path: Path, titles: list[str], name: str) -> None:
    """Titles in any script are read back as typed, composed (NFC), and nothing else about them changes."""
    tracks = "".join(f"  - {{file: {n}.wav, title: {quoted(title)}}}\n" for n, title in enumerate(titles))
    release = load_release(release_file(tmp_path, f"title: {quoted(name)}\ntracks:\n{tracks}"))
    composed = [unicodedata.normalize("NFC", title) for title in (name, *titles)]
    assert [release.title, *(track.title for track in release.tracks)] == composed


def test_two_hundred_tracks(tmp_path: Path) -> None:
    text = with_tracks(*(f"isrc: ZZOSL26{n:05}\ncomposers: [Ilse Merrow, Tam Varrick]" for n in range(1, 201)))
    release = load_release(release_file(tmp_path, text))
    assert len(release.tracks) == 200
    assert release.tracks[199].isrc == "ZZOSL2600200"
    broken = text.replace("    title: Song", "    titel: Song")
    assert len(faults(tmp_path, broken)) == 400


def test_same_text_same_release(tmp_path: Path) -> None:
    path = release_file(tmp_path, WHOLE)
    assert load_release(path) == load_release(path)
