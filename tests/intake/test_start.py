"""A first release file from a folder of masters: it loads unchanged, and names what is missing."""

from __future__ import annotations

import io
import re
from pathlib import Path

import mutagen.flac
import mutagen.id3
import mutagen.wave
import numpy as np
import pytest
import soundfile
from PIL import Image

from delivery.errors import Unusable
from delivery.formats import embed
from delivery.intake import first_release_file, load_release
from delivery.intake.begin.first_file import RELEASE_HELP, first_release
from delivery.intake.begin.tracks import TRACK_HELP
from delivery.model.release import Credit, Release

pytestmark = pytest.mark.usefixtures("no_studio")


def master(path: Path, seconds: float = 0.5, rate_hz: int = 48_000, **tags: str) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    form = {".wav": "WAV", ".flac": "FLAC", ".aiff": "AIFF", ".mp3": "MP3"}[path.suffix.lower()]
    soundfile.write(
        path, np.zeros((round(seconds * rate_hz), 2)), rate_hz, format=form, subtype=None if form == "MP3" else "PCM_24"
    )
    if tags:
        embed(path, form.lower(), tags, None, None)
    return path


def cover(path: Path) -> None:
    made = io.BytesIO()
    Image.new("RGB", (300, 300)).save(made, "JPEG")
    path.write_bytes(made.getvalue())


def loaded(folder: Path, text: str) -> Release:
    path = folder / "release.yaml"
    path.write_text(text, encoding="utf-8", newline="\n")
    return load_release(path)


def test_order_titles_and_codes_from_file_names(tmp_path: Path) -> None:
    folder = tmp_path / "Harbour Arithmetic"
    for name in ("10 Ledger.wav", "2 Tally of Lamps.wav", "01 Low Water ZZOSL2600001.wav"):
        master(folder / name)
    cover(folder / "any.jpg")
    text = first_release_file(folder)
    release = loaded(folder, text)
    assert release.title == "Harbour Arithmetic"
    assert [track.title for track in release.tracks] == ["Low Water", "Tally of Lamps", "Ledger"]
    assert [track.number for track in release.tracks] == [1, 2, 10]
    assert [track.isrc for track in release.tracks] == ["ZZOSL2600001", "", ""]
    assert all(track.file.is_file() for track in release.tracks)
    assert release.artwork == folder / "any.jpg"
    assert release.revision == 1
    assert text.count("# 0:00.500, 48 kHz, 24 bit, 2 channels") == 3
    assert 'any.jpg"  # jpeg, 300 x 300 px, rgb' in text
    assert text == first_release_file(folder)


def test_every_empty_field_is_explained(tmp_path: Path) -> None:
    master(tmp_path / "a.wav")
    text = first_release_file(tmp_path)
    for key in (*RELEASE_HELP, *TRACK_HELP):
        line = re.search(rf"^ *{key}:(.*)$", text, re.MULTILINE)
        assert line, key
        assert "#" in line[1] or '"' in line[1], key


def test_tags_fill_in_their_fields(tmp_path: Path) -> None:
    album = {
        "album": "Harbour Arithmetic", "album_artist": "Merrow & the Glass Tide", "label": "Ostrelune Records",
        "upc": "2000000140019", "release_date": "2026-11-27", "catalogue_number": "OSL-014", "genre": "Chamber pop",
    }  # fmt: skip
    first = {
        "title": "Low: Water # 9",
        "artist": "Merrow & the Glass Tide",
        "track_number": "1",
        "isrc": "ZZOSL2600001",
    }
    second = {"title": "Tally", "artist": "Tam Varrick", "track_number": "2", "composers": "Ilse Merrow; Tam Varrick"}
    more = {"version": "Radio Edit", "explicit": "clean", "language": "deu"}
    master(tmp_path / "b.flac", **album, **first)
    master(tmp_path / "a.flac", **album, **second, **more)
    release = loaded(tmp_path, first_release_file(tmp_path))
    assert (release.title, release.artist, release.label) == tuple(
        album[key] for key in ("album", "album_artist", "label")
    )
    assert (release.upc, release.catalogue_number, release.genre) == ("2000000140019", "OSL-014", "Chamber pop")
    assert str(release.release_date) == "2026-11-27"
    one, two = release.tracks
    assert (one.file.name, one.title, one.isrc, one.artists) == ("b.flac", "Low: Water # 9", "ZZOSL2600001", ())
    assert (two.title, two.version, two.explicit, two.language) == ("Tally", "Radio Edit", "clean", "deu")
    assert (two.artists, two.composers) == ((Credit("Tam Varrick"),), ("Ilse Merrow", "Tam Varrick"))


def test_several_codes_in_one_master_are_shown_to_choose_from(tmp_path: Path) -> None:
    """The file's ID3 tag is rewritten by mutagen, its name and its axml chunk are left: no code is taken for right."""
    path = master(tmp_path / "ZZOSL2600001 Low Water.wav", isrc="ZZOSL2600001")
    tagged = mutagen.wave.WAVE(path)
    tagged.tags.add(mutagen.id3.TSRC(encoding=3, text="ZZ-OSL-26-00007"))
    tagged.save()
    text = first_release_file(tmp_path)
    assert re.search(
        r"isrc:  # the master carries several codes; write the right one here:\n"
        r"    #   ZZ-OSL-26-00007 \(id3 tag\)\n"
        r"    #   ZZ-OSL-26-00001 \((bext tag, )?axml tag, file name\)\n",
        text,
    )
    (track,) = loaded(tmp_path, text).tracks
    assert track.isrc == ""
    assert "isrc" not in track.to_confirm


def test_one_code_in_several_places_is_taken(tmp_path: Path) -> None:
    master(tmp_path / "ZZ-OSL-26-00001 Low Water.wav", isrc="ZZOSL2600001")
    (track,) = loaded(tmp_path, first_release_file(tmp_path)).tracks
    assert track.isrc == "ZZOSL2600001"


def test_two_codes_in_one_field_are_several(tmp_path: Path) -> None:
    """Vorbis comments may repeat a field, as their authors ask; written by mutagen."""
    path = master(tmp_path / "Low Water.flac")
    file = mutagen.flac.FLAC(path)
    file["isrc"] = ["ZZOSL2600001", "ZZ-OSL-26-00002"]
    file.save()
    text = first_release_file(tmp_path)
    assert "#   ZZ-OSL-26-00001 (vorbis tag)\n    #   ZZ-OSL-26-00002 (vorbis tag)\n" in text
    assert loaded(tmp_path, text).tracks[0].isrc == ""


def test_tags_that_are_no_codes_are_left_out(tmp_path: Path) -> None:
    master(tmp_path / "a.flac", title="Low\nWater", isrc="unknown", upc="n/a", release_date="2026", album="")
    release = loaded(tmp_path, first_release_file(tmp_path))
    assert (release.tracks[0].title, release.tracks[0].isrc) == ("Low Water", "")
    assert (release.upc, release.release_date) == ("", None)


def test_sub_folders_are_discs(tmp_path: Path) -> None:
    for name in ("Disc 2/1 C.wav", "CD1/02 B.wav", "CD1/01 A.wav", "Disc 2/2 D.wav", "takes/9 X.wav"):
        master(tmp_path / name)
    release = loaded(tmp_path, first_release_file(tmp_path))
    places = [(track.disc, track.number, track.title) for track in release.tracks]
    assert places == [(1, 1, "A"), (1, 2, "B"), (2, 1, "C"), (2, 2, "D")]
    assert release.tracks[2].file == tmp_path / "Disc 2" / "1 C.wav"


def test_hidden_and_system_files_are_passed_over(tmp_path: Path) -> None:
    master(tmp_path / "01 A.wav")
    for name in ("._01 A.wav", ".hidden.wav", "~01 A.wav", "Thumbs.db", "desktop.ini", "notes.txt", ".DS_Store"):
        (tmp_path / name).write_bytes(b"x")
    assert [track.title for track in loaded(tmp_path, first_release_file(tmp_path)).tracks] == ["A"]


def test_listening_copies_beside_masters_are_left_out_and_reported(tmp_path: Path) -> None:
    master(tmp_path / "01 A.wav")
    master(tmp_path / "01 A.mp3")
    text = first_release_file(tmp_path)
    assert len(loaded(tmp_path, text).tracks) == 1
    assert "# left out, because there is a lossless file of the same name: 01 A.mp3" in text


def test_a_copy_without_a_master_may_be_a_lost_song(tmp_path: Path) -> None:
    """A client sent one song as MP3: the album of the others would go out without a word."""
    master(tmp_path / "01 A.wav")
    for name in ("01 a.mp3", "02 B.mp3"):
        master(tmp_path / name)
    text, remarks = first_release(tmp_path)
    assert remarks == (
        "02 B.mp3 is left out: no lossless file has its name. If it is a song of the release, ask for its master.",
    )
    assert "# left out, because there is a lossless file of the same name: 01 a.mp3" in text
    assert "# left out, though no lossless file has its name: 02 B.mp3" in text


def test_a_file_that_does_not_open_keeps_its_place(tmp_path: Path) -> None:
    master(tmp_path / "01 A.wav")
    (tmp_path / "02 B.wav").write_bytes(b"this is text")
    text = first_release_file(tmp_path)
    assert [track.title for track in loaded(tmp_path, text).tracks] == ["A", "B"]
    assert re.search(r"# does not open: .+\n  - file: \"02 B\.wav\"", text)


def test_numbers_that_would_contradict_are_not_written(tmp_path: Path) -> None:
    for name in ("01 A.wav", "01 B.wav", "03 C.wav"):
        master(tmp_path / name)
    release = loaded(tmp_path, first_release_file(tmp_path))
    assert [(track.number, track.title) for track in release.tracks] == [(1, "A"), (2, "B"), (3, "C")]


def test_the_folder_above_gives_the_title_of_its_own_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    master(tmp_path / "Two Boats" / "01 Low Water.wav")
    (tmp_path / "Two Boats" / "notes").mkdir()
    monkeypatch.chdir(tmp_path / "Two Boats" / "notes")
    assert 'title: "Two Boats"' in first_release_file(Path(".."))


def test_a_title_may_begin_with_a_number(tmp_path: Path) -> None:
    master(tmp_path / "99 Lanterns.wav")
    master(tmp_path / "Low Water.wav")
    release = loaded(tmp_path, first_release_file(tmp_path))
    assert [track.title for track in release.tracks] == ["99 Lanterns", "Low Water"]


def test_a_word_that_ends_every_name_is_no_title(tmp_path: Path) -> None:
    for name in ("01_low_water_master.wav", "02_lamps_master.wav"):
        master(tmp_path / name)
    assert [track.title for track in loaded(tmp_path, first_release_file(tmp_path)).tracks] == ["low water", "lamps"]


def test_names_in_any_script_and_with_every_sign(tmp_path: Path) -> None:
    names = [
        "潮の計算",
        "Ελλάδα",
        "مرحبا بحر",
        'C\'est "ça"',
        "#9 - {x}: [y] & *z !",
        "👩‍🚀\u00a0go",
        "No",
        "1999",
        "null",
        "%",
    ]
    made = []
    for number, name in enumerate(names, start=1):
        try:
            made.append(master(tmp_path / f"{number:02} {name}.wav"))
        except (OSError, soundfile.LibsndfileError):
            continue  # a sign this system permits in no name
    assert len(made) > 5
    release = loaded(tmp_path, first_release_file(tmp_path))
    assert [track.file for track in release.tracks] == made
    assert [track.title for track in release.tracks] == [path.stem[3:] for path in made]


def test_a_name_that_is_no_text(tmp_path: Path) -> None:
    try:
        (tmp_path / "two\nlines.wav").write_bytes(b"x")
    except OSError:
        pytest.skip("this system permits no such name")
    with pytest.raises(Unusable, match=r"'two\\nlines\.wav': found a name with characters that are not valid text"):
        first_release_file(tmp_path)


def test_several_pictures_one_of_them_called_cover(tmp_path: Path) -> None:
    master(tmp_path / "a.wav")
    cover(tmp_path / "back.jpg")
    cover(tmp_path / "band.jpg")
    text = first_release_file(tmp_path)
    assert loaded(tmp_path, text).artwork is None
    assert "artwork:  # front cover, a picture in this folder; found: back.jpg, band.jpg" in text
    cover(tmp_path / "Front Cover.jpg")
    assert loaded(tmp_path, first_release_file(tmp_path)).artwork == tmp_path / "Front Cover.jpg"


def test_the_studios_own_specs_are_proposed(tmp_path: Path) -> None:
    master(tmp_path / "a.wav")
    (tmp_path / "studio.yaml").write_text("default_specs: [plant-a, plant-b]\n", encoding="utf-8")
    assert loaded(tmp_path, first_release_file(tmp_path)).deliver_to == ("plant-a", "plant-b")


def test_without_a_studio_a_usual_pair_is_proposed(tmp_path: Path) -> None:
    master(tmp_path / "a.wav")
    assert loaded(tmp_path, first_release_file(tmp_path)).deliver_to == ("store-master-24", "cd-rate-16")


def test_nothing_to_begin_with(tmp_path: Path) -> None:
    with pytest.raises(Unusable, match=r"found no sound file in this folder.*Name the folder of the masters"):
        first_release_file(tmp_path)
    master(tmp_path / "mixes" / "a.wav")
    with pytest.raises(Unusable, match=r"There is sound in 'mixes': name that folder"):
        first_release_file(tmp_path)
    with pytest.raises(Unusable, match=r"no way to look inside"):
        first_release_file(tmp_path / "none")


def test_versions_and_guests_of_file_names_are_fields(tmp_path: Path) -> None:
    for name in (
        "01 Low Water MASTER v2.wav",
        "02 Low Water (Instrumental) MASTER v1.wav",
        "03 Lamps feat. Ada v3.wav",
    ):
        master(tmp_path / name)
    release = loaded(tmp_path, first_release_file(tmp_path))
    assert [(track.title, track.version) for track in release.tracks] == [
        ("Low Water", ""), ("Low Water", "Instrumental"), ("Lamps", ""),
    ]  # fmt: skip
    assert release.tracks[2].artists == (Credit("Ada", "featured"),)
    assert [track.to_confirm for track in release.tracks] == [("title",), ("title", "version"), ("title", "artists")]


def test_a_tagged_title_takes_nothing_from_the_files_name(tmp_path: Path) -> None:
    master(tmp_path / "a feat. Ada (Live).flac", title="Low Water")
    (track,) = loaded(tmp_path, first_release_file(tmp_path)).tracks
    assert (track.title, track.version, track.artists, track.to_confirm) == ("Low Water", "", (), ())


def test_a_word_that_two_titles_share_stays(tmp_path: Path) -> None:
    for name in ("01 Low Water.wav", "02 High Water.wav", "03 High Water (Instrumental).wav"):
        master(tmp_path / name)
    tracks = loaded(tmp_path, first_release_file(tmp_path)).tracks
    assert [(track.title, track.version) for track in tracks] == [
        ("Low Water", ""), ("High Water", ""), ("High Water", "Instrumental"),
    ]  # fmt: skip
