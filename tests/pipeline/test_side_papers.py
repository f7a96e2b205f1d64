"""What side papers report to a cutting room: how to cut, bands, silences, and each song's own places to listen to."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile as sf

from delivery.model import side
from delivery.pipeline import Built
from tests.albums import Song, write_album
from tests.pipeline.test_images import edited, inside, made
from tests.signals import noise

RATE_HZ = 44_100


def clipped_at(level: float, seed: int) -> Any:
    """5 s of noise, its tops cut off flat at *level* from 2.0 to 2.5 s only."""
    sound = 0.1 * level * noise(RATE_HZ, 5, channels=2, seed=seed)
    loud = slice(2 * RATE_HZ, round(2.5 * RATE_HZ))
    sound[loud] = np.clip(sound[loud] * 400, -level, level)
    return sound


@pytest.fixture(scope="module")
def pressed(tmp_path_factory: pytest.TempPathFactory) -> Built:
    folder = tmp_path_factory.mktemp("sides")
    songs = [Song(title, RATE_HZ, 5.0, seed=at) for at, title in enumerate(("One", "Two", "Three"), start=1)]
    release = write_album(folder / "masters", songs, ["vinyl-sides"])
    sf.write(release.parent / "01 One.wav", clipped_at(0.9, 1), RATE_HZ, subtype="PCM_24")
    sf.write(release.parent / "02 Two.wav", clipped_at(0.3, 2), RATE_HZ, subtype="PCM_24")
    third = noise(RATE_HZ, 6, channels=2, seed=3) * 0.05
    third[RATE_HZ : 3 * RATE_HZ] = 0
    third[-RATE_HZ // 2 :] = 0
    sf.write(release.parent / "03 Three.wav", third, RATE_HZ, subtype="PCM_24")

    def placed(data: dict[str, Any]) -> None:
        data["pressing"] = {"cut": "flat", "notes": "A may be hotter than B."}
        for track, (where, gap_s, band) in zip(
            data["tracks"], (("A", None, None), ("A", 2, False), ("A", 1.5, True)), strict=True
        ):
            track["side"] = where
            track.update({"gap_before_s": gap_s} if gap_s else {}, **({} if band is None else {"band": band}))

    return made(edited(release, placed), folder / "out")


def test_a_quieter_clipped_song_is_not_hidden_by_a_louder_one(pressed: Built) -> None:
    """Cut at 0.9 and at 0.3 of full scale: over the whole side only the former is an extreme. Song 2 begins at 7 s."""
    (image,) = pressed.delivery.images
    found = [spots for spots in side.spots(pressed.delivery, pressed.delivery.specs[0], image) if "clip" in spots.text]
    assert [spots.song.number for spots in found if spots.song] == [1, 2]
    assert all(2.0 <= at_s < 2.5 for at_s in found[0].at_s)
    assert all(9.0 <= at_s < 9.5 for at_s in found[1].at_s)
    text = inside(pressed, "vinyl-sides", "side-sheet.txt").read_text(encoding="utf-8")
    assert "Hard-clipped in A1 at 0:02." in text
    assert "Hard-clipped in A2 at 0:09." in text


def test_bands_gaps_and_silences(pressed: Built) -> None:
    """Silence before the third song is its gap alone, for both songs sound up to their ends; within it are 2 s."""
    text = inside(pressed, "vinyl-sides", "side-sheet.txt").read_text(encoding="utf-8")
    rows = {line.split()[0]: line.split() for line in text.splitlines() if line[:2] in ("A1", "A2", "A3")}
    assert rows["A2"][4:9] == ["2.000", "s", "2.0", "s", "no"]
    assert rows["A3"][4:9] == ["1.500", "s", "1.5", "s", "yes"]
    assert "Silence within A3 at 0:14.500, for 2.0 s" in text  # 5 + 2 + 5 + 1.5 + 1
    assert "Silence at the end of the side 0.5 s" in text


def test_cutting_notes_are_on_both_papers(pressed: Built) -> None:
    from pypdf import PdfReader

    text = inside(pressed, "vinyl-sides", "side-sheet.txt").read_text(encoding="utf-8")
    pdf = "".join(page.extract_text() for page in PdfReader(inside(pressed, "vinyl-sides", "side-sheet.pdf")).pages)
    for paper in (text, pdf.replace("\n", " ")):
        assert "flat: cut as it is, nothing is to be" in paper
        assert "A may be hotter than B." in paper


def test_a_gap_before_a_side_is_left_out_and_reported(tmp_path: Path) -> None:
    """On both sides alike; on both side sheets and among the remarks."""
    from pypdf import PdfReader

    songs = [Song("One", RATE_HZ, 5.0, seed=1), Song("Two", RATE_HZ, 5.0, seed=2)]
    release = write_album(tmp_path / "masters", songs, ["vinyl-sides"])

    def placed(data: dict[str, Any]) -> None:
        for track, where in zip(data["tracks"], "AB", strict=True):
            track.update(side=where, gap_before_s=1.5)

    built = made(edited(release, placed), tmp_path / "out")
    text = inside(built, "vinyl-sides", "side-sheet.txt").read_text(encoding="utf-8")
    pdf = "".join(page.extract_text() for page in PdfReader(inside(built, "vinyl-sides", "side-sheet.pdf")).pages)
    for first in ("A1", "B1"):
        output = f"The gap of 1.5 s stated before {first} is left out: a side begins with its first song."
        assert output in text
        assert output in pdf.replace("\n", " ").replace("\u00a0", " ")
        assert f"Vinyl sides: {output}" in built.delivery.remarks
    assert [image.programme.length for image in built.delivery.images] == [round(5.2 * RATE_HZ)] * 2


def test_missing_values_are_printed_as_not_stated(tmp_path: Path) -> None:
    songs = [Song("One", RATE_HZ, 5.0, seed=1), Song("Two", RATE_HZ, 5.0, seed=2)]
    release = write_album(tmp_path / "masters", songs, ["vinyl-sides"])
    built = made(edited(release, lambda data: [track.update(side="A") for track in data["tracks"]]), tmp_path / "out")
    text = inside(built, "vinyl-sides", "side-sheet.txt").read_text(encoding="utf-8")
    assert "Cut not stated: ask before anything is changed." in text
    assert "not stated" in next(line for line in text.splitlines() if line.startswith("A2"))


def test_tape_has_no_bands_and_is_not_cut(tmp_path: Path) -> None:
    songs = [Song("One", RATE_HZ, 5.0, seed=1), Song("Two", RATE_HZ, 5.0, seed=2)]
    release = write_album(tmp_path / "masters", songs, ["cassette-sides"])
    built = made(edited(release, lambda data: [track.update(side="A") for track in data["tracks"]]), tmp_path / "out")
    text = inside(built, "cassette-sides", "side-sheet.txt").read_text(encoding="utf-8")
    assert "A2" in text
    assert "band" not in text
    assert "Cut " not in text
