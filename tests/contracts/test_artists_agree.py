"""One artist text for a track: every tag format, disc, paper and file name has it, whatever the credits."""

from __future__ import annotations

import csv
import io
import json
import subprocess
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import mutagen
import pytest
from openpyxl import load_workbook

from delivery.pipeline import Built
from tests.albums import Song, write_album, write_spec
from tests.judges import needs
from tests.pipeline.test_images import edited, made

MAIN = "Merrow & the Glass Tide"
ARTISTS: tuple[tuple[list[tuple[str, str]], str], ...] = (
    ([], MAIN),
    ([("Oona Vail", "featured")], f"{MAIN} feat. Oona Vail"),
    ([("Tam Varrick", "main"), ("Low Lantern", "main"), ("Ilse Bo", "main")], "Tam Varrick, Low Lantern & Ilse Bo"),
    (
        [("Wren", "remixer"), ("Oona Vail", "featured"), ("Tam Varrick", "main"), ("Ilse Bo", "featured")],
        "Tam Varrick feat. Oona Vail & Ilse Bo",
    ),
)
"""Credits of each track, and its artist in one line. Common practice, no source."""
SHOWN = tuple(shown for _, shown in ARTISTS)
TITLES = ("One", "Two", "Three", "Four")

P_LINE, C_LINE = "2026 Ostrelune Records", "2025 Wren Sleeves"
"""Owners of the recording and of artwork and texts: often one, and not here."""

CODINGS = {"wav": "pcm", "aiff": "pcm", "flac": "pcm", "m4a": "pcm", "mp3": "mp3", "opus": "opus"}
EXPORTS = "label_copy_xlsx, label_copy_csv, label_copy_json, label_copy_jsonld, label_copy_text"


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Built:
    folder = tmp_path_factory.mktemp("artists")
    (folder / "masters").mkdir()
    for container, coding in CODINGS.items():
        requires = f"{{container: {{must: [{container}]}}, coding: {{must: [{coding}]}}}}"
        requires = f"{requires[:-1]}, rate_hz: {{must: [48000]}}}}" if container == "opus" else requires
        spec = write_spec(folder / "masters", container, requires, "{rate: any}")
        more = "encode: {bitrate_kbps: 192}\n" if coding in ("mp3", "opus") else ""
        more += 'name: "{disc_track} {artist} - {title}"\n'
        more += f"papers: [track_list, {EXPORTS}]\n" if container == "wav" else ""
        spec.write_text(spec.read_text(encoding="utf-8") + more, encoding="utf-8")
    songs = [Song(title, 44_100, 4.3, -18.0, "PCM_16", seed=at) for at, title in enumerate(TITLES, 1)]
    album = write_album(
        folder / "masters", songs, ["cd-master", "vinyl-sides", *CODINGS], p_line=f"℗ {P_LINE}", c_line=f"© {C_LINE}"
    )

    def credited(data: dict[str, Any]) -> None:
        for track, (own, _) in zip(data["tracks"], ARTISTS, strict=True):
            track["side"] = "A"
            if own:
                track["artists"] = [{"name": name, "role": role} for name, role in own]

    result = made(edited(album, credited), folder / "out")
    assert result.package, [part.problem for part in result.delivery.parts]
    return result


def inside(built: Built, path: str) -> Path:
    assert built.package
    return built.package / "data" / path


def tagged(container: str, field: str) -> Callable[[Built], list[str]]:
    def read(built: Built) -> list[str]:
        files = sorted(inside(built, container).glob(f"*.{container}"))
        tags = [mutagen.File(file).tags for file in files]  # type: ignore[attr-defined]
        return [str(one[field][0] if isinstance(one[field], list) else one[field]) for one in tags]

    return read


def file_names(built: Built) -> list[str]:
    files = sorted(inside(built, "flac").glob("*.flac"))
    return [file.stem[3:].rpartition(" - ")[0] for file in files]


def cd_text(built: Built) -> list[str]:
    (cue,) = inside(built, "cd-master").glob("*.cue")
    _, *tracks = cue.read_text(encoding="utf-8").split("  TRACK ")
    return [text.partition('PERFORMER "')[2].partition('"')[0] for text in tracks]


def pq_list(built: Built) -> list[str]:
    rows = csv.DictReader(io.StringIO(inside(built, "cd-master/pq-list.csv").read_text(encoding="utf-8-sig")))
    return [row["performer"] for row in rows if row["track"] != "lead-out"]


def track_list(built: Built) -> list[str]:
    lines = inside(built, "wav/track-list.txt").read_text(encoding="utf-8").splitlines()
    rows = [line[5:] for line in lines if line[:3].strip().isdecimal()]
    return [row.partition(": ")[0] if ": " in row else MAIN for row in rows]


def titled_lines(built: Built, path: str) -> list[str]:
    """What is behind 'Title, ' in a paper of lines; the release's artist where nothing does."""
    text = inside(built, path).read_text(encoding="utf-8")
    found = []
    for title in TITLES:
        (line,) = (line for line in text.splitlines() if f"  {title}, " in line or f"  {title}  " in line)
        after = line.partition(f"  {title}")[2]
        found.append(after.removeprefix(", ").partition("  ")[0] if after.startswith(", ") else MAIN)
    return found


def copy_rows(rows: list[Mapping[str, Any]]) -> list[str]:
    """Label copy has a column for each role; the release's artist is above the table, once."""
    return [_in_one_line(str(row["Artist"] or MAIN), str(row["Featured artists"] or "")) for row in rows]


def _in_one_line(main: str, featured: str) -> str:
    def together(text: str) -> str:
        *head, last = text.split("; ")
        return f"{', '.join(head)} & {last}" if head else last

    return together(main) + (f" feat. {together(featured)}" if featured else "")


def csv_copy(built: Built) -> list[str]:
    text = inside(built, "wav/label-copy.csv").read_text(encoding="utf-8-sig")
    return copy_rows(list(csv.DictReader(io.StringIO(text.partition("\n\n")[2]))))


def xlsx_copy(built: Built) -> list[str]:
    rows = [list(row) for row in load_workbook(inside(built, "wav/label-copy.xlsx")).worksheets[0].values]
    at = next(at for at, row in enumerate(rows) if "Featured artists" in row)
    return copy_rows([dict(zip(map(str, rows[at]), row, strict=True)) for row in rows[at + 1 :]])


def json_copy(built: Built) -> list[str]:
    return [one["display_artist"] for one in read_json(built, "wav/label-copy.json")["tracks"]]


def data(built: Built) -> list[str]:
    return [one["display_artist"] for one in read_json(built, "delivery-data.json")["sources"]]


def jsonld(built: Built) -> list[str]:
    items = [one["item"] for one in read_json(built, "wav/label-copy.jsonld")["track"]["itemListElement"]]
    guests = [
        [one["contributor"]["name"] for one in item.get("contributor", ()) if one["roleName"] == "featured"]
        for item in items
    ]
    return [
        _in_one_line("; ".join(one["name"] for one in item["byArtist"]), "; ".join(named))
        for item, named in zip(items, guests, strict=True)
    ]


def read_json(built: Built, path: str) -> Any:
    return json.loads(inside(built, path).read_text(encoding="utf-8"))


READERS: Mapping[str, Callable[[Built], list[str]]] = {
    "ID3 in MP3": tagged("mp3", "TPE1"),
    "ID3 in WAV": tagged("wav", "TPE1"),
    "ID3 in AIFF": tagged("aiff", "TPE1"),
    "Vorbis comment in FLAC": tagged("flac", "artist"),
    "Vorbis comment in Opus": tagged("opus", "artist"),
    "MP4": tagged("m4a", "\xa9ART"),
    "file names": file_names,
    "cue sheet": cd_text,
    "PQ list": pq_list,
    "track list": track_list,
    "side sheet": lambda built: titled_lines(built, "vinyl-sides/side-sheet.txt"),
    "label copy, text": lambda built: titled_lines(built, "wav/label-copy.txt"),
    "label copy, CSV": csv_copy,
    "label copy, XLSX": xlsx_copy,
    "label copy, JSON": json_copy,
    "label copy, JSON-LD": jsonld,
    "data document": data,
}


@pytest.mark.parametrize("reader", READERS)
def test_every_form_names_the_same_artists(built: Built, reader: str) -> None:
    """Read back without our own code; a guest who is a track's only credit is beside the release's artist."""
    assert READERS[reader](built) == list(SHOWN)


def pages(built: Built) -> Iterator[tuple[str, str]]:
    for path in ("delivery-sheet.html", "delivery-sheet.pdf", "cd-master/pq-sheet.pdf", "vinyl-sides/side-sheet.pdf"):
        file = inside(built, path)
        if file.suffix == ".pdf":
            text = subprocess.run(
                ["pdftotext", "-layout", file, "-"], capture_output=True, check=True, text=True
            ).stdout
        else:
            text = file.read_text(encoding="utf-8").replace("&amp;", "&")
        yield path, text


@needs("pdftotext")
def test_every_page_names_each_guest(built: Built) -> None:
    """Poppler's text of each page, word for word in any order of lines: cells are wrapped."""
    for path, text in pages(built):
        for words in ("feat. Oona Vail", "Low Lantern & Ilse Bo"):
            assert all(word in text for word in words.split()), (path, words)


def notices_in_tags(built: Built, container: str, p_line: str, c_line: str) -> set[tuple[str, str]]:
    return set(zip(tagged(container, p_line)(built), tagged(container, c_line)(built), strict=True))


@pytest.mark.parametrize(
    ("container", "p_line", "c_line"),
    [
        ("mp3", "TPRO", "TCOP"),
        ("wav", "TPRO", "TCOP"),
        ("aiff", "TPRO", "TCOP"),
        ("flac", "producednotice", "copyright"),
        ("opus", "producednotice", "copyright"),
    ],
)
def test_tags_distinguish_the_two_notices(built: Built, container: str, p_line: str, c_line: str) -> None:
    """ID3v2.4, 4.2.3 and 4.2.5: TCOP is the copyright of the recording's work, TPRO the produced notice (℗)."""
    assert notices_in_tags(built, container, p_line, c_line) == {(P_LINE, C_LINE)}


def test_mp4_and_riff_distinguish_the_two_notices(built: Built) -> None:
    for file in inside(built, "m4a").glob("*.m4a"):
        tags = mutagen.File(file).tags  # type: ignore[attr-defined]
        assert tags["cprt"] == [C_LINE]
        (produced,) = (value for key, value in tags.items() if key.endswith("PRODUCEDNOTICE"))
        assert bytes(produced[0]).decode() == P_LINE
    for file in inside(built, "wav").glob("*.wav"):
        content = file.read_bytes()
        at = content.index(b"ICOP") + 8
        assert content[at:].startswith(C_LINE.encode())


def test_documents_distinguish_the_two_notices(built: Built) -> None:
    """Sheets, label copy and data: each line behind its own sign, or under its own name."""
    copy = inside(built, "wav/label-copy.csv").read_text(encoding="utf-8-sig")
    text = inside(built, "wav/label-copy.txt").read_text(encoding="utf-8").splitlines()
    linked = read_json(built, "wav/label-copy.jsonld")
    assert (f"℗ {P_LINE}" in text, f"© {C_LINE}" in text) == (True, True)
    assert (linked["albumRelease"]["creditText"], linked["copyrightNotice"]) == (f"℗ {P_LINE}", f"© {C_LINE}")
    for document in (read_json(built, "delivery-data.json"), read_json(built, "wav/label-copy.json")):
        assert (document["release"]["p_line"], document["release"]["c_line"]) == (f"℗ {P_LINE}", f"© {C_LINE}")
    above = dict(row for row in csv.reader(io.StringIO(copy.partition("\n\n")[0])))
    values = list(above.values())
    assert values.count(f"℗ {P_LINE}") == values.count(f"© {C_LINE}") == 1
    page = inside(built, "delivery-sheet.html").read_text(encoding="utf-8")
    for sign, line in (("℗", P_LINE), ("©", C_LINE)):
        assert f"<dt>{sign}</dt><dd><bdi>{line}</bdi>" in page
