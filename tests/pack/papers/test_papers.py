"""Papers: every member keeps the contract; the track list word by word."""

from __future__ import annotations

import dataclasses
import hashlib
from pathlib import Path

import pytest

from delivery.model.part import Part
from delivery.pack.paper import Paper, carrier_papers, papers
from tests.pack.invented import GUEST, RELEASE, SPEC, fill


@pytest.fixture
def parts(tmp_path: Path) -> tuple[Part, ...]:
    return fill(tmp_path)


def test_presence_is_registration() -> None:
    folder = Path(__file__).parents[3] / "delivery" / "pack" / "papers"
    assert sorted([*papers(), *carrier_papers()]) == sorted(file.stem for file in folder.glob("[!_]*.py"))
    assert len({paper.file_name for paper in papers().values()}) == len(papers())


@pytest.mark.parametrize("paper", papers().values(), ids=lambda paper: paper.id)
def test_every_paper_is_the_same_for_any_order_and_without_what_was_not_shipped(
    paper: Paper, parts: tuple[Part, ...]
) -> None:
    text = paper.render(RELEASE, SPEC, parts)
    unshipped = Part(SPEC.id, 9, None, (), problem="the disk went away")
    assert text == paper.render(RELEASE, SPEC, [unshipped, *reversed(parts)])
    assert b"\r" not in text
    assert text.decode("utf-8").endswith("\n")


@pytest.mark.parametrize("algorithm", ["sha256", "md5"])
def test_checksum_lists(algorithm: str, parts: tuple[Part, ...], tmp_path: Path) -> None:
    """The format of the GNU tools: checksum, two spaces, name. Python's hashlib is the judge of the sums."""
    lines = papers()[f"checksums_{algorithm}"].render(RELEASE, SPEC, parts).decode("utf-8").splitlines()
    folder = tmp_path / "data" / SPEC.id
    names = sorted(file.name for file in folder.iterdir())
    assert lines == [f"{hashlib.new(algorithm, (folder / n).read_bytes()).hexdigest()}  {n}" for n in names]


def test_track_list(parts: tuple[Part, ...]) -> None:
    """Lengths worked by hand: 61.4, 122.8, 184.2 and 245.6 s; together 614.0 s."""
    assert papers()["track_list"].render(RELEASE, SPEC, parts).decode("utf-8") == (
        "Merrow & the Glass Tide\n"
        "Harbour Arithmetic\n"
        "Catalogue number OSL-014, UPC/EAN 2000000140019\n"
        "Revision 1, dated not stated, files for: CD rate, 16 bit\n"
        "\n"
        "  1  Slack Water          1:01  ZZOSL2600001\n"
        "  2  Número de Ébano      2:03  ZZOSL2600002\n"
        "  3  灯台                 3:04  ZZOSL2600003\n"
        "  4  50 % Neap            4:06  ZZOSL2600004\n"
        "\n"
        "Total 10:14. Lengths in min:s, rounded to the second.\n"
    )


def test_track_list_of_two_discs_with_gaps(parts: tuple[Part, ...]) -> None:
    one, two, *_ = RELEASE.tracks
    ebb = dataclasses.replace(two, disc=2, number=1, version="Ebb", artists=(GUEST,), isrc="")
    release = dataclasses.replace(RELEASE, tracks=(one, ebb), catalogue_number="", version="Deluxe")
    text = papers()["track_list"].render(release, SPEC, parts[:1]).decode("utf-8")
    assert "Harbour Arithmetic (Deluxe)\nCatalogue number not supplied" in text
    assert "Disc 1\n\n  1  Slack Water      1:01" in text
    assert "Disc 2\n\n  1  Ines Quarrel: Número de Ébano (Ebb)   no file  ISRC not supplied" in text
    assert "Total 1:01 without 1 of 2 tracks." in text
