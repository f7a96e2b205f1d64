"""One album through three revisions: what changed is on every paper, and nothing else is; compared word by word."""

from __future__ import annotations

import json
import re
import subprocess
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from delivery.__main__ import run
from delivery.meters import identify
from tests.albums import Song, write_album, write_song, write_spec
from tests.judges import needs
from tests.pipeline.test_images import edited, made

TITLES = ("Tally of Lamps", "Zebra of Brass", "Quill of Thorn")
"""Of track 2, by revision: of one length, so that no size changes with them, and of words that are nowhere else."""
NAME, DAY = "Imke Sandvoort", "2026-05-12"
EXPORTS = "label_copy_xlsx, label_copy_csv, label_copy_json, label_copy_jsonld, label_copy_text"
APPROVED = f"These masters are approved: {NAME}, {DAY}. Audio hashes approved: "
REPORTING = ("data/delivery-sheet.pdf", "data/delivery-sheet.html", "data/mail.txt", "data/delivery-data.json")
"""Papers that state the approval."""

SONGS = [
    Song(title, 44_100, 4.3, -18.0, "PCM_16", seed=at)
    for at, title in enumerate(("Low Water", TITLES[0], "Salt Ledger"), start=1)
]


@dataclass(frozen=True)
class Revision:
    folder: Path
    texts: Mapping[str, str]
    """What each paper prints besides the changes, by path; the title of track 2 in a path is 'TITLE'."""
    changes: tuple[str, ...]
    """The sentences about them, which each of the reporting papers prints."""
    title: str
    audio_hash: str
    """Of the master of track 2."""


@pytest.fixture(scope="module")
def revisions(tmp_path_factory: pytest.TempPathFactory) -> tuple[Revision, ...]:
    folder = tmp_path_factory.mktemp("revisions")
    masters = folder / "masters"
    masters.mkdir()
    spec = write_spec(masters, "files", "{container: {must: [wav]}, bits: {must: [16]}}", "{}")
    more = f'name: "{{disc_track}} {{title}}"\npapers: [track_list, checksums_md5, checksums_sha256, {EXPORTS}]\n'
    spec.write_text(spec.read_text(encoding="utf-8") + more, encoding="utf-8")
    album = write_album(masters, SONGS, ["cd-master", "vinyl-sides", "files"])

    def placed(data: dict[str, Any]) -> None:
        for track, side in zip(data["tracks"], "AAB", strict=True):
            track["side"] = side

    edited(album, placed)
    approve(album)
    first = built(album, folder, 1)
    write_song(masters, 2, Song(TITLES[0], 44_100, 4.3, -18.3, "PCM_16", seed=2))
    second = built(album, folder, 2)
    titled(album, 3)
    approve(album)
    return first, second, built(album, folder, 3)


def approve(album: Path) -> None:
    assert run(["approve", str(album), "--by", NAME, "--date", DAY]) == 0


def titled(album: Path, revision: int) -> None:
    """The title that track 2 has in that revision; the second one is built without an approval: that of the first was
    given for other audio, and nothing else than what is approved would be built."""

    def revised(data: dict[str, Any]) -> None:
        data["revision"] = revision
        data["tracks"][1]["title"] = TITLES[revision - 1]
        if revision == 2:
            del data["approved"]

    edited(album, revised)


def built(album: Path, folder: Path, revision: int) -> Revision:
    title = TITLES[revision - 1]
    titled(album, revision)
    package = made(album, folder / "out").package
    assert package
    audio_hash = str(identify(album.parent / f"02 {TITLES[0]}.wav").value("audio_hash"))
    paths = sorted(path for path in package.rglob("*") if path.is_file())
    texts = {
        path.relative_to(package).as_posix().replace(title, "TITLE"): READERS.get(path.suffix, plain)(path)
        for path in paths
        if path.suffix != ".wav"
    }
    said = (json.loads(texts["data/delivery-data.json"])["changes"] or {"says": ()})["says"]
    texts |= {path: without(texts[path], path, said) for path in REPORTING}
    return Revision(package, texts, tuple(said), title, audio_hash)


def without(text: str, path: str, sentences: Sequence[str]) -> str:
    """The paper without its sentences about changes, each of which must be there, and what answers an approval.

    The form that asks for an approval is on the page only until one is given, and so is the mail's way to answer.
    """
    if path.endswith(".json"):
        data = json.loads(text)
        unlike = {"changes": None, "findings": [one for one in data["findings"] if one["rule"] != "approved"]}
        return json.dumps(data | unlike, indent=2, ensure_ascii=False, sort_keys=True)
    text = re.sub(r"[\s\u00a0]+", " ", text).replace("\u2212", "-")
    for sentence in sentences:
        assert sentence in text, (path, sentence)
        text = text.replace(sentence, "")
    for heading in ("Changes. ", "Changes "):
        text = text.replace(heading, "")
    return re.sub(r"To answer, reply in plain words.*? makes a file to send back\.", "", text)


def plain(path: Path) -> str:
    """Without the size of all files together, which a PDF's own bytes change."""
    return re.sub(r"(?m)^Payload-Oxum: .*$", "", path.read_text(encoding="utf-8-sig"))


def page(path: Path) -> str:
    text = re.sub(r'<section id="answer".*?</section>|<li><a href="#answer".*?</li>', " ", plain(path), flags=re.DOTALL)
    text = re.sub(r"<(script|style).*?</\1>", " ", text, flags=re.DOTALL)
    return re.sub(r"<[^>]+>", " ", text).replace("&#34;", '"').replace("&#39;", "'").replace("&amp;", "&")


def pdf(path: Path) -> str:
    return subprocess.run(["pdftotext", path, "-"], capture_output=True, check=True, text=True).stdout


def workbook(path: Path) -> str:
    rows = (row for sheet in load_workbook(path).worksheets for row in sheet.values)
    return "\n".join(" ".join(str(cell or "") for cell in row) for row in rows)


READERS: Mapping[str, Callable[[Path], str]] = {".html": page, ".pdf": pdf, ".xlsx": workbook}


def words(text: str) -> Counter[str]:
    return Counter(each for each in re.findall(r"\w+", text) if not re.search(r"\d", each))


def figures(text: str) -> Counter[str]:
    """Numbers and codes without checksums and hashes, which change with every byte of a tag, and without what an
    approval adds: a check for each spec, and lines to the release file."""
    text = re.sub(r"release\.yaml:\d+|\d+ checks: \d+ met", "", text)
    found = re.findall(r"\b\w*\d\w*\b", text)
    return Counter(each for each in found if not re.fullmatch(r"[0-9a-f]{8}|[0-9a-f]{32}|[0-9a-f]{64}", each))


DATA = "approval audio_hashes by date holds label_copy_hash says null true false"
"""What the data document states about an approval, or its absence."""
STATED = words(f"{APPROVED} Approval. Label copy approved with them. {DATA}")


def changed(before: str, after: str, count: Callable[[str], Counter[str]]) -> tuple[set[str], set[str]]:
    """What went and what came, by how often it is there."""
    then, now = count(before), count(after)
    return set(then - now), set(now - then)


pytestmark = needs("pdftotext")


def test_every_revision_has_the_same_papers(revisions: tuple[Revision, ...]) -> None:
    first, second, third = (set(revision.texts) for revision in revisions)
    assert first == second == third
    papers = {Path(path).name for path in first}
    assert papers >= {
        "delivery-sheet.pdf", "delivery-sheet.html", "mail.txt", "delivery-data.json", "parts.csv", "pq-sheet.pdf",
        "pq-list.csv", "side-sheet.pdf", "side-sheet.txt", "track-list.txt", "label-copy.csv", "label-copy.xlsx",
        "label-copy.json", "label-copy.jsonld", "label-copy.txt", "bag-info.txt", "manifest-sha256.txt",
    }  # fmt: skip
    assert any(path.endswith(".cue") for path in first)


NAMED_NOWHERE = ("bag-info.txt", "bagit.txt", "tagmanifest-md5.txt", "tagmanifest-sha256.txt")
"""Papers that name no track; lists of a carrier's checksums name the image alone."""


@pytest.mark.parametrize("at", range(3))
def test_the_new_title_is_everywhere_and_the_old_ones_nowhere(revisions: tuple[Revision, ...], at: int) -> None:
    """In tags and chunks of the sound files too."""
    revision = revisions[at]
    others = [word for title in TITLES if title != revision.title for word in title.split() if word != "of"]
    for path, text in revision.texts.items():
        output = re.sub(r"\s+", " ", text).replace("%20", " ")
        carrier_list = path.endswith(".md5") and "/files/" not in path
        assert (revision.title in output) is not (path in NAMED_NOWHERE or carrier_list), path
        assert not [word for word in others if word in output.replace(f"02 {TITLES[0]}.wav", "")], path
    for file in revision.folder.rglob("*.wav"):
        content = file.read_bytes()
        assert not [title for title in TITLES if title != revision.title and title.encode() in content], file


@pytest.mark.parametrize("at", range(3))
def test_every_paper_prints_its_revision(revisions: tuple[Revision, ...], at: int) -> None:
    for path, text in revisions[at].texts.items():
        stated = set(re.findall(r"[Rr]evision[\":,\s]+(\d)", text))
        assert stated <= {str(at + 1)}, path
        if Path(path).suffix in (".pdf", ".html") or Path(path).name in (
            "mail.txt",
            "side-sheet.txt",
            "track-list.txt",
        ):
            assert stated, path


def test_the_approval_is_printed_beside_its_audio_only(revisions: tuple[Revision, ...]) -> None:
    """Revision 1 as approved; 2 with other audio: none; 3 with the audio of 2, approved since."""
    first, second, third = revisions
    assert first.audio_hash != second.audio_hash == third.audio_hash
    for path in REPORTING:
        one, two, three = (re.sub(r"\s+", " ", each.texts[path]).replace('\\"', '"') for each in revisions)
        assert APPROVED in one
        assert f", 2 {first.audio_hash[:8]}," in one
        assert APPROVED not in two
        assert NAME not in two
        assert APPROVED in three
        assert f", 2 {third.audio_hash[:8]}," in three
        assert first.audio_hash[:8] not in three
    for revision in revisions:
        others = {path for path, text in revision.texts.items() if NAME in text} - set(REPORTING)
        assert others == set(), "no other paper speaks of the approval"


def test_each_revision_states_what_it_changes(revisions: tuple[Revision, ...]) -> None:
    """Figures as they were made: track 2 was written 0.3 dB quieter for revision 2."""
    first, second, third = revisions
    assert first.changes == ()
    assert second.changes == (
        "Compared with revision 1: 1 track with new audio and 2 other changes.",
        f"Track 2, {TITLES[1]}: 0.3 dB quieter.",
        "Tracks 1, 3: same samples.",
        f"Track 2, {TITLES[1]}: Title now {TITLES[1]} (was {TITLES[0]}).",
        f"Approval: none (was: {NAME}, {DAY}, of these masters).",
    )
    assert third.changes == (
        "Compared with revision 2: same audio, 2 changes.",
        f"Track 2, {TITLES[2]}: Title now {TITLES[2]} (was {TITLES[1]}).",
        f"Approval: {NAME}, {DAY}, of these masters (was: none).",
    )


def test_new_audio_and_a_new_title_change_the_texts(revisions: tuple[Revision, ...]) -> None:
    first, second, _ = revisions
    for path in first.texts:
        gone, come = changed(first.texts[path], second.texts[path], words)
        stated = set(STATED) if path in REPORTING else set()
        assert gone - stated <= {"Tally", "Lamps"}, path
        assert come - stated <= {"Zebra", "Brass"}, path
    for path in ("data/delivery-sheet.pdf", "data/delivery-sheet.html", "data/delivery-data.json"):
        assert first.audio_hash in first.texts[path]
        assert second.audio_hash in second.texts[path]


def test_a_new_title_alone_changes_no_figure(revisions: tuple[Revision, ...]) -> None:
    """Levels, lengths, places and codes of revision 3 are those of revision 2, on every paper."""
    _, second, third = revisions
    for path in second.texts:
        gone, come = changed(second.texts[path], third.texts[path], words)
        stated = set(STATED) if path in REPORTING else set()
        assert gone - stated <= {"Zebra", "Brass"}, path
        assert come - stated <= {"Quill", "Thorn"}, path
        fewer, more = changed(second.texts[path], third.texts[path], figures)
        if path in REPORTING:
            assert fewer | more <= {"1", "2", "3", *DAY.split("-")}, "revision, day and tracks of the approval"
        else:
            assert (fewer, more) in (({"2"}, {"3"}), (set(), set())), path
