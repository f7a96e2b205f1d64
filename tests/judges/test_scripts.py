"""Tags in seven scripts, in every container, read back by independent programs: at least two for each."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest

from delivery.formats import containers, embed
from tests.judges import needs
from tests.tags.sounds import CONTAINERS, copy

SCRIPTS = {
    "latin": ("Łódź, ærø ðing", "Ængus Ó Súilleabháin"),
    "greek": ("Αριθμητική του λιμανιού", "Χαμηλό Φανάρι"),
    "cyrillic": ("Портовая арифметика", "Низкий фонарь"),
    "hebrew": ("חשבון הנמל", "פנס נמוך"),
    "arabic": ("حساب الميناء", "فانوس منخفض"),
    "japanese": ("港の算術", "低い灯"),
    "devanagari": ("बंदरगाह का गणित", "धीमी लालटेन"),
}
"""Title and artist, invented."""


every_script = pytest.mark.parametrize("script", list(SCRIPTS))
every_container = pytest.mark.parametrize(("container", "name"), list(CONTAINERS.items()))


def tagged(untagged: Path, folder: Path, container: str, name: str, script: str) -> Path:
    title, artist = SCRIPTS[script]
    path = copy(untagged, name, folder)
    values = {"title": title, "artist": artist, "album": title, "isrc": "ZZOSL2600003", "p_line": f"2026 {artist}"}
    report = embed(path, container, values)
    assert [line for line in report.differs if "(bext)" not in line] == []
    return path


def output_of(*command: object) -> str:
    done = subprocess.run(list(map(str, command)), check=True, capture_output=True, encoding="utf-8", timeout=60)
    return done.stdout


def test_every_container_with_tags_is_tried() -> None:
    assert {name for name, container in containers().items() if container.tag_formats} == set(CONTAINERS)


@pytest.mark.thorough(9)
@needs("ffprobe")
@every_script
@every_container
def test_ffprobe_reads_them(untagged: Path, tmp_path: Path, container: str, name: str, script: str) -> None:
    path = tagged(untagged, tmp_path, container, name, script)
    output = json.loads(output_of("ffprobe", "-v", "error", "-of", "json", "-show_format", "-show_streams", path))
    tags = {**output["streams"][0].get("tags", {}), **output["format"].get("tags", {})}
    found = {key.lower(): text for key, text in tags.items()}
    title, artist = SCRIPTS[script]
    assert (found["title"], found["artist"], found["album"]) == (title, artist, title)


@every_script
@every_container
def test_taglib_reads_them(untagged: Path, tmp_path: Path, container: str, name: str, script: str) -> None:
    taglib = pytest.importorskip("taglib", reason="outside judge not installed: pytaglib")
    with taglib.File(tagged(untagged, tmp_path, container, name, script)) as file:
        title, artist = SCRIPTS[script]
        assert (file.tags["TITLE"], file.tags["ARTIST"], file.tags["ALBUM"]) == ([title], [artist], [title])


@needs("mediainfo")
@every_script
@pytest.mark.parametrize(("container", "name"), [one for one in CONTAINERS.items() if one[0] != "wav"])
def test_mediainfo_reads_them(untagged: Path, tmp_path: Path, container: str, name: str, script: str) -> None:
    """Of a WAV it shows INFO, which names no encoding; that is below."""
    path = tagged(untagged, tmp_path, container, name, script)
    (general, *_) = json.loads(output_of("mediainfo", "--Output=JSON", path))["media"]["track"]
    title, artist = SCRIPTS[script]
    assert (general["Title"], general["Performer"], general["Album"]) == (title, artist, title)


@needs("mediainfo")
def test_mediainfo_reads_latin_1_in_info(untagged: Path, tmp_path: Path) -> None:
    """A reader that takes INFO for Latin-1: letters of western Europe come out right."""
    path = copy(untagged, "plain.wav", tmp_path)
    embed(path, "wav", {"title": "Été à quai, straße", "artist": "Ængus Ó Súilleabháin"})
    (general, *_) = json.loads(output_of("mediainfo", "--Output=JSON", path))["media"]["track"]
    assert (general["Title"], general["Performer"]) == ("Été à quai, straße", "Ængus Ó Súilleabháin")


@needs("metaflac")
@every_script
def test_metaflac_reads_them(untagged: Path, tmp_path: Path, script: str) -> None:
    path = tagged(untagged, tmp_path, "flac", "plain.flac", script)
    lines = output_of("metaflac", "--no-utf8-convert", "--export-tags-to=-", path).splitlines()
    assert {f"TITLE={SCRIPTS[script][0]}", f"ARTIST={SCRIPTS[script][1]}"} <= set(lines)


@every_script
def test_wavinfo_reads_what_bext_and_info_hold(untagged: Path, tmp_path: Path, script: str) -> None:
    """INFO is in UTF-8 where Latin-1 has not the letters; bext spells European alphabets and else has the code."""
    wavinfo = pytest.importorskip("wavinfo", reason="outside judge not installed: wavinfo")
    path = tagged(untagged, tmp_path, "wav", "plain.wav", script)
    read = wavinfo.WavInfoReader(str(path), info_encoding="utf-8")
    spelt = {"latin": "Lodz, aero ding", "greek": "Arithmitiki toy limanioy", "cyrillic": "Portovaya arifmetika"}
    assert read.info.to_dict()["title"] == SCRIPTS[script][0]
    assert read.bext.description == spelt.get(script, "ZZOSL2600003")
