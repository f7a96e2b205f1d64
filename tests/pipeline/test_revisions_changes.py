"""Every kind of change in three revisions of one album: stated in the data, and in the same words on every paper."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile as sf

from delivery.pipeline import Options, build, check, resolve_request
from delivery.pipeline.earlier import in_folder
from delivery.report.data.document import document
from tests.albums import Song, write_album, write_spec
from tests.judges import needs
from tests.pipeline.test_images import edited
from tests.pipeline.test_revisions import READERS, REPORTING, without

Samples = np.ndarray[tuple[int, ...], np.dtype[np.float64]]
pytestmark = needs("pdftotext")
RATE_HZ = 44_100
SONGS = [
    Song(title, RATE_HZ, 4.3, -20.0, seed=at)
    for at, title in enumerate(("Low Water", "Tally of Lamps", "Salt Ledger", "Quill of Thorn", "Nine Bells"), start=1)
]


def louder(samples: Samples) -> Samples:
    return samples * 10 ** (1.5 / 20)


def longer(samples: Samples) -> Samples:
    return np.concatenate([samples, samples[: RATE_HZ // 2]])


def later(samples: Samples) -> Samples:
    return np.concatenate([np.zeros((RATE_HZ // 5, samples.shape[1])), samples])


def darker(samples: Samples) -> Samples:
    dark = samples.copy()
    dark[1:] += samples[:-1]
    return 0.6 * dark


AUDIO = {"Low Water": louder, "Tally of Lamps": longer, "Quill of Thorn": later, "Nine Bells": darker}
"""By title; the third song keeps its samples."""


def new_copy(data: dict[str, Any]) -> None:
    """Titles, credits, codes, order, gaps."""
    data["revision"] = 2
    data["title"] = "Harbour Arithmetic II"
    data["tracks"][0]["title"] = "High Water"
    data["tracks"][1]["composers"] = ["Odile Merrow", "Imke Sandvoort"]
    data["tracks"][2]["isrc"] = "ZZOSL2600077"
    data["tracks"][3]["gap_before_s"] = 3.0
    data["tracks"][3], data["tracks"][4] = data["tracks"][4], data["tracks"][3]


def new_specs(data: dict[str, Any]) -> None:
    """Specs and waivers."""
    data["revision"] = 3
    data["deliver_to"] = ["files", "more"]
    data["waivers"] = [{"rule": "isrc_form", "by": "Imke Sandvoort", "why": "the code follows"}]


@pytest.fixture(scope="module")
def papers(tmp_path_factory: pytest.TempPathFactory) -> tuple[Mapping[str, str], ...]:
    """Text of each reporting paper, by path, in each revision."""
    folder = tmp_path_factory.mktemp("changes")
    masters = folder / "masters"
    masters.mkdir()
    write_spec(masters, "files", "{container: {must: [wav]}}", "{}")
    write_spec(masters, "more", "{container: {must: [wav]}}", "{}")
    album = write_album(masters, SONGS, ["files"])
    first = built(album, folder / "out")
    edited(album, new_copy)
    second = built(album, folder / "out")
    edited(album, new_specs)
    for file in masters.glob("*.wav"):
        change: Callable[[Samples], Samples] | None = AUDIO.get(file.stem[3:])
        if change:
            samples, rate_hz = sf.read(file, always_2d=True)
            sf.write(file, change(samples), rate_hz, subtype="PCM_24")
    delivery = check(resolve_request(album), Options(earlier=in_folder(folder / "out", resolve_request(album).release)))
    third = built(album, folder / "out")
    predicted = document(delivery)["changes"]
    assert predicted == json.loads(third["data/delivery-data.json"])["changes"]  # `check` says what `build` prints
    return first, second, third


def built(album: Path, into: Path) -> dict[str, str]:
    into.mkdir(exist_ok=True)
    package = build(resolve_request(album), into, Options()).package
    assert package
    return {path: READERS[Path(path).suffix](package / path) for path in REPORTING if Path(path).suffix in READERS} | {
        path: (package / path).read_text(encoding="utf-8") for path in REPORTING if Path(path).suffix not in READERS
    }


def changes(papers: Mapping[str, str]) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(papers["data/delivery-data.json"])["changes"]
    return found


def test_the_first_delivery_states_none(papers: tuple[Mapping[str, str], ...]) -> None:
    assert json.loads(papers[0]["data/delivery-data.json"])["changes"] is None


def test_label_copy_changes_are_stated(papers: tuple[Mapping[str, str], ...]) -> None:
    found = changes(papers[1])
    values = {(one["about"], one["key"], one["number"]) for one in found["values"]}
    assert {("titles", "title", ""), ("titles", "title", "1"), ("credits", "composers", "2")} <= values
    assert ("codes", "isrc", "3") in values
    assert any(about == "gaps" for about, _key, _number in values)
    assert {(one["before"], one["after"]) for one in found["moved"]} & {("4", "5"), ("5", "4")}
    assert all(one["same_samples"] for one in found["audio"])


def test_audio_specs_and_waivers_are_stated(papers: tuple[Mapping[str, str], ...]) -> None:
    found = changes(papers[2])
    assert {"specs", "waivers"} <= {one["about"] for one in found["values"]}
    audio = {one["number"]: one for one in found["audio"]}
    assert [number for number, one in sorted(audio.items()) if one["same_samples"]] == ["3"]
    assert audio["1"]["level_db"] == pytest.approx(1.5, abs=0.1)
    assert audio["2"]["length_s"] == pytest.approx(0.5, abs=0.001)
    assert audio["5"]["head_s"] == pytest.approx(0.2, abs=0.01)
    assert audio["4"]["tone"]


@pytest.mark.parametrize("at", [1, 2])
@pytest.mark.parametrize("path", [path for path in REPORTING if not path.endswith(".json")])
def test_every_paper_states_them_in_the_same_words(papers: tuple[Mapping[str, str], ...], at: int, path: str) -> None:
    said = changes(papers[at])["says"]
    assert len(said) > 4
    without(papers[at][path], path, said)  # asserts each sentence


def test_a_later_revision_without_an_earlier_one_states_it(tmp_path: Path) -> None:
    """As on another machine, without the ledger and the earlier package: silence would read as 'nothing changed'."""
    write_spec(tmp_path, "files", "{container: {must: [wav]}}", "{}")
    album = write_album(tmp_path, SONGS[:1], ["files"])
    said = "No earlier revision to compare with was known where this was made."
    assert not [path for path, text in built(album, tmp_path / "one").items() if said in " ".join(text.split())]
    edited(album, lambda data: data.update(revision=2))
    papers = built(album, tmp_path / "two")
    where = {path for path, text in papers.items() if said in " ".join(text.split())}
    assert where == {path for path in REPORTING if not path.endswith(".json")}
    assert changes(papers) is None
