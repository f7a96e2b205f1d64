"""The demo's album through three revisions with every kind of change: each paper states it, and nothing old is left."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile as sf

from delivery.__main__ import run
from delivery.pipeline import Options, build, check, resolve_request
from delivery.pipeline.earlier import in_folder
from delivery.report.data.document import document
from demo.artwork import draw_cover
from tests.albums import write_spec
from tests.judges import needs
from tests.pipeline.test_images import edited
from tests.pipeline.test_revisions import EXPORTS, READERS, REPORTING, plain, without

pytestmark = [pytest.mark.slow, pytest.mark.thorough, needs("pdftotext")]
Samples = np.ndarray[tuple[int, ...], np.dtype[np.float64]]
RATE_HZ = 96_000
QUIETER_DB, LONGER_S, LATER_S = 0.8, 1.5, 0.25


def quieter(samples: Samples) -> Samples:
    return samples * 10 ** (-QUIETER_DB / 20)


def longer(samples: Samples) -> Samples:
    return np.concatenate([samples, np.zeros((round(LONGER_S * RATE_HZ), 2))])


def later(samples: Samples) -> Samples:
    return np.concatenate([np.zeros((round(LATER_S * RATE_HZ), 2)), samples])


def darker(samples: Samples) -> Samples:
    """Half of each sample and a quarter of the ones before: some 9 dB less at 20 kHz, nothing lost in the bass."""
    dark = 0.5 * samples
    dark[1:] += 0.25 * samples[:-1]
    dark[2:] += 0.25 * samples[:-2]
    return dark


AUDIO = {"01_": quieter, "02_": longer, "03_": later, "04_": darker}
"""By the beginning of the master's name; the fifth song keeps its samples."""


def second(data: dict[str, Any]) -> None:
    """Titles, credits, codes, order, gaps; the audio is changed beside."""
    data["revision"] = 2
    data["title"] = "Harbour Algebra"
    data["upc"] = "2000000140025"
    data["tracks"][4]["title"] = "Register for the Ebb"
    data["tracks"][1]["composers"] = ["Ilse Merrow", "Tam Varrick", "Odile Quern"]
    data["tracks"][2]["isrc"] = "ZZOSL2600033"
    data["tracks"][3]["gap_before_s"] = 3.0
    data["tracks"][0], data["tracks"][1] = data["tracks"][1], data["tracks"][0]


def third(data: dict[str, Any]) -> None:
    """Specs, waivers, other label copy, the QC log; cover and approval are changed beside."""
    data["revision"] = 3
    data["deliver_to"] = ["files", "cd-master", "cd-rate-16"]
    data["waivers"] = [{"rule": "cd_text_latin", "track": 4, "by": "I. Merrow", "why": "the plant prints it"}]
    data["p_line"] = "2026 Ostrelune Recordings"
    data["notes"] = "Replaces the parcel of July."
    data["qc_log"] = [{"what": "breath before the chorus", "track": 3, "at": "0:12", "by": "T. Wrenfield"}]


@dataclass(frozen=True)
class Revision:
    package: Path
    papers: Mapping[str, str]
    """Text of every paper by its path, the reporting ones without their sentences about changes."""
    changes: Mapping[str, Any] | None
    predicted: Mapping[str, Any] | None
    """What `check` stated before."""

    @property
    def says(self) -> tuple[str, ...]:
        return tuple(self.changes["says"]) if self.changes else ()


@pytest.fixture(scope="module")
def revisions(corrected: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Revision, Revision, Revision]:
    folder = tmp_path_factory.mktemp("revisions")
    masters = folder / "masters"
    shutil.copytree(corrected, masters)
    spec = write_spec(masters, "files", "{container: {must: [wav]}}", "{}")
    papers = f"papers: [track_list, checksums_md5, checksums_sha256, {EXPORTS}]\n"
    spec.write_text(spec.read_text(encoding="utf-8") + papers, encoding="utf-8")
    album = masters / "release.yaml"
    edited(album, lambda data: data.update(revision=1, deliver_to=["files", "cd-master"]))
    one = built(album, folder / "out")
    edited(album, second)
    for start, change in AUDIO.items():
        (file,) = masters.glob(f"{start}*.wav")
        samples, rate_hz = sf.read(file, always_2d=True)
        assert rate_hz == RATE_HZ
        sf.write(file, change(samples), rate_hz, subtype="PCM_24")
    two = built(album, folder / "out")
    edited(album, third)
    draw_cover(masters / "cover.jpg", 3_000, "Merrow & the Glass Tide", "Harbour Algebra")
    assert run(["approve", str(album), "--by", "Ada Fenn", "--date", "2026-08-10"]) == 0
    return one, two, built(album, folder / "out")


def built(album: Path, into: Path) -> Revision:
    into.mkdir(exist_ok=True)
    request = resolve_request(album)
    predicted = document(check(request, Options(earlier=in_folder(into, request.release))))["changes"]
    package = build(request, into, Options()).package
    assert package
    texts = {
        path.relative_to(package).as_posix(): READERS.get(path.suffix, plain)(path)
        for path in sorted(package.rglob("*"))
        if path.is_file() and path.suffix not in (".wav", ".jpg", ".png")
    }
    changes = json.loads(texts["data/delivery-data.json"])["changes"]
    texts |= {path: without(texts[path], path, changes["says"] if changes else ()) for path in REPORTING}
    return Revision(package, texts, changes, predicted)


Revisions = tuple[Revision, Revision, Revision]


def test_the_first_delivery_states_no_changes_and_check_agrees_with_build(revisions: Revisions) -> None:
    assert revisions[0].changes is None
    for revision in revisions:
        assert revision.predicted == revision.changes


def test_the_second_states_audio_titles_credits_codes_order_and_gaps(revisions: Revisions) -> None:
    """Word by word, as the masters were changed; the tone by its bands."""
    says = list(revisions[1].says)
    (tone,) = (line for line in says if line.startswith("Track 4, 潮の計算 Tide Sums: ") and "other tone" in line)
    assert re.search(r"other tone at equal loudness \(.*-\d+\.\d dB above 10 kHz\)\.$", tone.replace("\u2212", "-"))
    says.remove(tone)
    assert says == [
        "Compared with revision 1: 4 tracks with new audio, 2 tracks with another number and 6 other changes.",
        "Track 1, Café of the Drowned Clocks: 1.500 s longer, 1.50 s more silence at the end.",
        "Track 2, Sounding Line: 0.8 dB quieter.",
        "Track 3, Tally of Lamps: 0.250 s longer, 0.25 s more silence at the beginning.",
        "Track 5: same samples.",
        "Track numbers: 1 Café of the Drowned Clocks (was 2), 2 Sounding Line (was 1).",
        "Title now Harbour Algebra (was Harbour Arithmetic).",
        "Track 5, Register for the Ebb (Long Shore Version): Title now Register for the Ebb (was Ledger for the Ebb).",
        "Track 1, Café of the Drowned Clocks: Composers: added Odile Quern.",
        "UPC / EAN now 2000000140025 (was 2000000140018).",
        "Track 3, Tally of Lamps: ISRC now ZZ-OSL-26-00033 (was ZZ-OSL-26-00003).",
        "Track 4, 潮の計算 Tide Sums: Gap before now 3 s (was not stated).",
    ]


def test_the_third_states_specs_waivers_label_copy_approval_and_cover(revisions: Revisions) -> None:
    *says, cover = revisions[2].says
    assert re.fullmatch(
        r"Artwork: 3000 × 3000 px, jpeg, [0-9a-f]{8} \(was: 3000 × 3000 px, jpeg, [0-9a-f]{8}\)\.", cover
    )
    assert says == [
        "Compared with revision 2: same audio, 7 changes.",
        "℗ now 2026 Ostrelune Recordings (was 2026 Ostrelune Records).",
        "Spec cd-rate-16: new in this delivery (CD rate, 16 bit).",
        "Waiver added: track 4, cd_text_latin, I. Merrow, the plant prints it.",
        "Approval: Ada Fenn, 2026-08-10, of these masters (was: none).",
        "Notes now Replaces the parcel of July. (was not stated).",
        "QC log entry added: track 3, breath before the chorus, T. Wrenfield.",
    ]


def test_the_command_states_the_same_for_two_packages(revisions: Revisions, capsys: pytest.CaptureFixture[str]) -> None:
    for before, after in pairwise(revisions):
        capsys.readouterr()
        assert run(["changes", str(before.package), str(after.package)]) == 0
        head, *lines_of_changes = after.says
        expected = " ".join([head, *(f"- {line}" for line in lines_of_changes)])
        assert " ".join(capsys.readouterr().out.split()) == " ".join(expected.split())


REPLACED = (
    ("Harbour Arithmetic", "Harbour Algebra"),
    ("Ledger for the Ebb", "Register for the Ebb"),
    ("ZZOSL2600003", "ZZOSL2600033"),
    ("ZZ-OSL-26-00003", "ZZ-OSL-26-00033"),
    ("2000000140018", "2000000140025"),
)
"""Values of revision 1 and those of revision 2."""


def lines(text: str) -> str:
    """One line, so that a value that a page breaks is found; a URL's blanks are blanks."""
    return re.sub(r"\s+", " ", text).replace("%20", " ")


def renamed(path: str) -> str:
    """A path of revision 1 in revision 2."""
    for old, new in REPLACED:
        path = path.replace(old, new)
    return path


@pytest.mark.parametrize(("old", "new"), REPLACED)
def test_a_new_value_replaces_the_old_one_everywhere(revisions: Revisions, old: str, new: str) -> None:
    """In every paper; in names, tags and chunks of the sound files as well."""
    first, *others = revisions
    held = {path for path, text in first.papers.items() if old in lines(text)}
    assert held, "it is printed somewhere"
    for revision in others:
        assert {renamed(path) for path in held} <= {
            path for path, text in revision.papers.items() if new in lines(text)
        }
        assert not [path for path, text in revision.papers.items() if old in lines(text)]
        files = [path for path in revision.package.rglob("*") if path.is_file()]
        assert not [path for path in files if old in path.name]
        assert not [path for path in files if path.suffix == ".wav" and old.encode() in path.read_bytes()]


def test_every_revision_has_the_papers_of_the_first(revisions: Revisions) -> None:
    first, two, three = ({renamed(path) for path in revision.papers} for revision in revisions)
    assert first == two
    assert two <= three
    assert {path.split("/")[1] for path in three - two} == {"cd-rate-16"}
    assert {Path(path).suffix for path in two} >= {".cue", ".csv", ".pdf", ".html", ".txt", ".xlsx", ".json", ".jsonld"}


def test_new_label_copy_is_in_the_papers_that_print_its_kind(revisions: Revisions) -> None:
    """The composers and the line of the recordings: wherever the others are printed."""
    _, two, three = revisions
    for revision, printed, new in (
        (two, "Tam Varrick", "Odile Quern"),
        (three, "Ostrelune Records", "Ostrelune Recordings"),
    ):
        where = {path for path, text in revision.papers.items() if printed in lines(text)}
        found = {path for path, text in revision.papers.items() if new in lines(text)}
        assert found, new
        assert found <= where
    composers = {path for path, text in two.papers.items() if "Tam Varrick" in lines(text)}
    assert composers == {path for path, text in two.papers.items() if "Odile Quern" in lines(text)}


def test_a_revision_without_new_audio_leaves_the_disc_and_the_copies_alone(revisions: Revisions) -> None:
    """Byte by byte: specs, waivers, approval and the log change no sound, and no paper about where songs begin."""
    _, two, three = revisions
    discs = sorted(path for path in (two.package / "data" / "cd-master").iterdir() if path.suffix in (".wav", ".cue"))
    assert {path.suffix for path in discs} == {".wav", ".cue"}
    for path in discs:
        assert path.read_bytes() == (three.package / "data" / "cd-master" / path.name).read_bytes()
    for path in sorted((two.package / "data" / "files").glob("*.wav")):
        now = sf.read(three.package / "data" / "files" / path.name, dtype="int32")[0]
        assert np.array_equal(sf.read(path, dtype="int32")[0], now)


def test_lengths_and_places_follow_the_new_audio(revisions: Revisions) -> None:
    """The disc's list of places: song 1 is 1.5 s longer and song 3 0.25 s, and song 4 begins after a gap of 3 s."""
    first, two, _ = revisions
    lengths = [
        {source["isrc"]: source["measured"]["figures"]["duration_s"] for source in json.loads(text)["sources"]}
        for text in (revision.papers["data/delivery-data.json"] for revision in (first, two))
    ]
    longer_by = {"ZZOSL2600001": 0.0, "ZZOSL2600002": LONGER_S, "ZZOSL2600004": 0.0, "ZZOSL2600005": 0.0}
    for isrc, by in longer_by.items():
        assert lengths[1][isrc] - lengths[0][isrc] == pytest.approx(by, abs=1e-6)
    assert lengths[1]["ZZOSL2600033"] - lengths[0]["ZZOSL2600003"] == pytest.approx(LATER_S, abs=1e-6)
    starts = [cue_starts(revision) for revision in (first, two)]
    songs = (LONGER_S, 0.0, LATER_S)
    assert starts[1][3] - starts[0][3] == pytest.approx(sum(songs) + 3.0, abs=5 / 75)


def cue_starts(revision: Revision) -> list[float]:
    """Index 1 of each track, in seconds: minutes, seconds and frames of a 75th (IEC 60908)."""
    (text,) = (text for path, text in revision.papers.items() if path.endswith(".cue"))
    found = re.findall(r"INDEX 01 (\d+):(\d\d):(\d\d)", text)
    return [int(minutes) * 60 + int(seconds) + int(frames) / 75 for minutes, seconds, frames in found]
