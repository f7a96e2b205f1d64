"""Other programs read our tags: ffprobe, mediainfo, metaflac, sox and wavinfo share no code with us or mutagen."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest

from delivery.formats import embed
from tests.judges import needs
from tests.tags.sounds import CONTAINERS, MEASUREMENT, VALUES, copy, cover

VALUES_SEEN = VALUES | {"title": "Été à quai 🌊", "composers": "Ines Merrow"}
FILES = [*CONTAINERS.items(), ("wav", "rf64.wav"), ("wav", "odd.wav"), ("aiff", "odd.aiff")]
every_file = pytest.mark.parametrize(("container", "name"), FILES, ids=[name for _, name in FILES])
LOUDNESS = {
    "LoudnessValue": "-14.00",
    "LoudnessRange": "5.50",
    "MaxTruePeakLevel": "-1.00",
    "MaxMomentaryLoudness": "-9.88",
    "MaxShortTermLoudness": "-11.25",
}


@pytest.fixture(scope="module")
def shelf(untagged: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Every file, tagged and with a cover."""
    folder = tmp_path_factory.mktemp("shelf")
    for container, name in [*FILES, ("wav", "odd24.wav")]:
        embed(copy(untagged, name, folder), container, VALUES_SEEN, cover(), MEASUREMENT)
    return folder


def output_of(*command: str | Path) -> str:
    return subprocess.run(command, check=True, capture_output=True, encoding="utf-8", timeout=60).stdout


def ffprobe(path: Path) -> dict[str, str]:
    output = json.loads(output_of("ffprobe", "-v", "error", "-of", "json", "-show_format", "-show_streams", path))
    tags = output["format"].get("tags", {})
    for stream in output["streams"]:
        tags |= stream.get("tags", {}) if stream["codec_type"] == "audio" else {}
    return {name.upper(): text for name, text in tags.items()} | {
        "COVER": " ".join(f"{s['width']}x{s['height']}" for s in output["streams"] if s["codec_type"] == "video")
    }


@needs("ffprobe")
@every_file
def test_ffprobe_reads_the_music_fields(shelf: Path, container: str, name: str) -> None:
    found = ffprobe(shelf / name)
    number = {"wav": "3"}.get(container, found.get("TRACK"))  # of a WAV, ffprobe believes INFO
    title = VALUES_SEEN["title"] + (" (Instrumental)" if container == "wav" else "")
    assert (found["TITLE"], found["ARTIST"], found["ALBUM"]) == (title, VALUES["artist"], VALUES["album"])
    assert (found["GENRE"], found["DATE"], found["COPYRIGHT"]) == ("Folk", "2026-05-01", VALUES["c_line"])
    assert found["TRACK"] == number
    assert number in ("3", "3/9")
    assert found["COVER"] == "60x40"


@needs("ffprobe")
@pytest.mark.parametrize(
    ("name", "fields"),
    [
        ("plain.mp3", {"ALBUM_ARTIST": "album_artist", "COMPOSER": "composers", "PUBLISHER": "label", "TSRC": "isrc",
                       "TPRO": "p_line", "BARCODE": "upc", "CATALOGNUMBER": "catalogue_number", "TIT3": "version",
                       "TDOR": "original_date", "TEXT": "lyricists", "TPE4": "remixers", "LANGUAGE": "language"}),
        ("plain.flac", {"ALBUM_ARTIST": "album_artist", "COMPOSER": "composers", "ORGANIZATION": "label",
                        "LABEL": "label", "ISRC": "isrc", "PRODUCEDNOTICE": "p_line", "BARCODE": "upc",
                        "VERSION": "version", "ORIGINALDATE": "original_date", "TRACKTOTAL": "track_total",
                        "DISC": "disc_number", "CATALOGNUMBER": "catalogue_number"}),
        ("plain.opus", {"ALBUM_ARTIST": "album_artist", "ISRC": "isrc", "BARCODE": "upc"}),
        ("plain.m4a", {"ALBUM_ARTIST": "album_artist", "COMPOSER": "composers", "ISRC": "isrc", "BARCODE": "upc",
                       "LABEL": "label", "VERSION": "version", "CATALOGNUMBER": "catalogue_number"}),
        ("plain.aiff", {"ALBUM_ARTIST": "album_artist", "TSRC": "isrc", "BARCODE": "upc", "PUBLISHER": "label"}),
    ],
)  # fmt: skip
def test_ffprobe_reads_the_other_fields(shelf: Path, name: str, fields: dict[str, str]) -> None:
    found = ffprobe(shelf / name)
    assert {key: found.get(key) for key in fields} == {key: VALUES_SEEN[field] for key, field in fields.items()}


OWN_NAMES = {
    "WRITERS": "writers", "MUSICPUBLISHER": "publishers", "ISNI": "isni", "CREDITS": "credits", "SAMPLES": "samples",
    "PREVIEWSTART": "preview_start_s", "TERRITORIES": "territories", "ISWC": "iswc", "SUBGENRE": "subgenre",
    "RECORDINGCOUNTRY": "recording_country", "RECORDINGYEAR": "recording_year", "TITLELANGUAGE": "title_language",
    "BARCODE": "upc", "CATALOGNUMBER": "catalogue_number",
}  # fmt: skip


@needs("ffprobe")
@pytest.mark.parametrize(("container", "name"), [pair for pair in FILES if pair[0] != "wav"])
def test_ffprobe_reads_the_paperwork(shelf: Path, container: str, name: str) -> None:
    """What has no frame or atom of its own is in a freeform entry. Of a WAV ffprobe reads INFO and bext alone."""
    found = {key: text.replace("; ", ";") for key, text in ffprobe(shelf / name).items()}
    assert {key: found.get(key) for key in OWN_NAMES} == {
        key: VALUES_SEEN[field].replace("; ", ";") for key, field in OWN_NAMES.items()
    }
    assert container


@needs("mediainfo")
@every_file
def test_mediainfo_reads_the_paperwork_in_every_container(shelf: Path, container: str, name: str) -> None:
    general, _ = mediainfo(shelf / name)
    found = {key.upper(): str(text) for key, text in general.items()}
    wanted = [key for key in OWN_NAMES if key not in ("ISRC", "BARCODE", "CATALOGNUMBER")]
    shown = {key: found.get(key, "").replace(" / ", "; ") for key in wanted}
    assert shown == {key: VALUES_SEEN[OWN_NAMES[key]] for key in wanted}
    assert container


@needs("ffprobe")
@pytest.mark.parametrize("name", ["plain.wav", "rf64.wav", "odd.wav"])
def test_ffprobe_reads_bext(shelf: Path, name: str) -> None:
    found = ffprobe(shelf / name)
    assert found["ENCODED_BY"] == "Ostrelune Records"  # Originator
    assert found["ORIGINATOR_REFERENCE"] == "ZZOSL2600003"
    assert found["TIME_REFERENCE"] == "0"
    assert found["CODING_HISTORY"].startswith("A=PCM,F=44100,W=")


@needs("ffprobe")
@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
@pytest.mark.parametrize(("container", "name"), [*CONTAINERS.items()])
def test_ffprobe_reads_the_right_kind_of_cover(
    untagged: Path, tmp_path: Path, container: str, name: str, kind: str
) -> None:
    path = copy(untagged, name, tmp_path)
    embed(path, container, {"title": "T"}, cover(kind))
    output = output_of("ffprobe", "-v", "error", "-select_streams", "v", "-show_entries", "stream=codec_name", path)
    assert f"codec_name={'png' if kind == 'PNG' else 'mjpeg'}" in output


@needs("ffmpeg")
@every_file
def test_ffmpeg_decodes_the_same_sound_as_before(untagged: Path, shelf: Path, container: str, name: str) -> None:
    """Its own hash of the decoded samples, of the tagged file and of the one never tagged."""
    before, after = (
        output_of("ffmpeg", "-v", "error", "-i", folder / name, "-map", "0:a", "-f", "md5", "-")
        for folder in (untagged, shelf)
    )
    assert before == after
    assert before.startswith("MD5=")
    assert container


def mediainfo(path: Path) -> tuple[dict[str, str], dict[str, str]]:
    tracks = json.loads(output_of("mediainfo", "--Output=JSON", path))["media"]["track"]
    general, sound = tracks[0], next(track for track in tracks if track["@type"] == "Audio")
    flat = [{**track, **track.get("extra", {})} for track in (general, sound)]
    return flat[0], flat[1]


@needs("mediainfo")
@every_file
def test_mediainfo_reads_the_music_fields(shelf: Path, container: str, name: str) -> None:
    general, _ = mediainfo(shelf / name)
    assert general["Performer"] == VALUES["artist"]
    assert general["Album"] == VALUES["album"]
    assert general["Track_Position"] == "3"
    assert general["ISRC"] == VALUES["isrc"]
    assert general["Cover"] == "Yes"
    if container == "wav":  # of a WAV it shows INFO, which names no encoding, and takes our UTF-8 for Latin-1
        assert general["Title"].encode("latin-1").decode("utf-8") == VALUES_SEEN["title"] + " (Instrumental)"
    else:
        assert general["Title"] == VALUES_SEEN["title"]


@needs("mediainfo")
@pytest.mark.parametrize("name", ["plain.wav", "rf64.wav", "odd.wav", "odd24.wav"])
def test_mediainfo_reads_the_loudness_of_bext(shelf: Path, name: str) -> None:
    general, sound = mediainfo(shelf / name)
    assert {key: text for key, text in sound.items() if key in LOUDNESS} == LOUDNESS
    assert general["Encoded_Date"].strip() == VALUES["dated"]
    assert general["Producer_Reference"] == VALUES["isrc"]


@needs("metaflac", "flac")
def test_metaflac_reads_the_comments_and_flac_finds_the_file_sound(shelf: Path) -> None:
    """The tools of the FLAC project: comments, picture block, and the MD5 of the samples."""
    path = shelf / "plain.flac"
    comments = output_of("metaflac", "--no-utf8-convert", "--export-tags-to=-", path).splitlines()
    assert {"TITLE=Été à quai 🌊", "ISRC=ZZOSL2600003", "TRACKNUMBER=3", "LYRICIST=Ines Merrow"} <= set(comments)
    picture = output_of("metaflac", "--list", "--block-type=PICTURE", path)
    assert all(line in picture for line in ("type: 3 (Cover (front))", "width: 60", "height: 40", "depth: 24"))
    assert "ok" in subprocess.run(["flac", "-t", path], check=True, capture_output=True, text=True).stderr


@needs("metaflac")
def test_several_composers_are_several_comments(shelf: Path, tmp_path: Path) -> None:
    path = copy(shelf, "plain.flac", tmp_path)
    embed(path, "flac", {"composers": "Ines Merrow; Tomas Gale"})
    assert output_of("metaflac", "--show-tag=COMPOSER", path).split("\n")[:2] == [
        "COMPOSER=Ines Merrow", "COMPOSER=Tomas Gale",
    ]  # fmt: skip


@pytest.mark.parametrize("name", ["plain.wav", "odd.wav", "rf64.wav"])
def test_wavinfo_reads_bext_and_info(shelf: Path, name: str) -> None:
    """A Python library made for broadcast wave files, with a parser of its own."""
    wavinfo = pytest.importorskip("wavinfo", reason="outside judge not installed: wavinfo")
    found = wavinfo.WavInfoReader(str(shelf / name), info_encoding="utf-8")
    bext = found.bext.to_dict()
    assert bext["description"] == "Ete a quai (Instrumental)"
    assert (bext["originator"], bext["originator_ref"]) == ("Ostrelune Records", "ZZOSL2600003")
    assert (bext["originator_date"], bext["originator_time"], bext["version"]) == ("2026-04-01", "", 2)
    assert (bext["loudness_value"], bext["loudness_range"], bext["max_true_peak"]) == (-14.0, 5.5, -1.0)
    assert (bext["max_momentary_loudness"], bext["max_shortterm_loudness"]) == (-9.88, -11.25)
    assert bext["coding_history"].rstrip("\0").endswith("M=stereo\r\n" if name != "odd.wav" else "M=mono\r\n")
    info = found.info.to_dict()
    assert info["title"] == "Été à quai 🌊 (Instrumental)"
    assert (info["artist"], info["product"], info["copyright"]) == (VALUES["artist"], VALUES["album"], VALUES["c_line"])


TAGLIB_NAMES = {
    "title": "TITLE", "artist": "ARTIST", "album": "ALBUM", "album_artist": "ALBUMARTIST", "isrc": "ISRC",
    "lyricists": "LYRICIST", "genre": "GENRE", "language": "LANGUAGE", "original_date": "ORIGINALDATE",
    "catalogue_number": "CATALOGNUMBER", "upc": "BARCODE", "c_line": "COPYRIGHT", "bpm": "BPM", "iswc": "ISWC",
    "writers": "WRITERS", "publishers": "MUSICPUBLISHER", "isni": "ISNI", "samples": "SAMPLES",
    "credits": "CREDITS", "preview_start_s": "PREVIEWSTART", "territories": "TERRITORIES",
    "recording_country": "RECORDINGCOUNTRY", "recording_year": "RECORDINGYEAR", "subgenre": "SUBGENRE",
    "title_language": "TITLELANGUAGE",
}  # fmt: skip


@pytest.mark.parametrize(("container", "name"), [*CONTAINERS.items(), ("wav", "odd.wav"), ("aiff", "odd.aiff")])
def test_taglib_reads_the_same_texts(shelf: Path, container: str, name: str) -> None:
    """The C++ library that many players read tags with."""
    taglib = pytest.importorskip("taglib", reason="outside judge not installed: pytaglib")
    with taglib.File(shelf / name) as file:
        found = {key: "; ".join(texts) for key, texts in file.tags.items()}
    wanted = {key: VALUES_SEEN[field] for field, key in TAGLIB_NAMES.items()}
    assert {key: found.get(key) for key in wanted} == wanted
    assert found["TRACKNUMBER"] in ("3", "3/9")
    if container in ("mp3", "flac", "opus"):
        assert found["PRODUCER"] == VALUES["producers"]


@needs("soxi")
@pytest.mark.parametrize("name", ["plain.wav", "odd.wav", "odd24.wav", "plain.aiff", "odd.aiff", "plain.flac"])
def test_sox_reads_as_many_samples_as_before(untagged: Path, shelf: Path, name: str) -> None:
    """A reader that warns about chunk lengths it does not like."""
    before, after = (
        subprocess.run(["soxi", "-s", folder / name], check=True, capture_output=True, text=True)
        for folder in (untagged, shelf)
    )
    assert (after.stdout, after.stderr) == (before.stdout, "")
