"""The planted faults are really there, and nowhere else; as other programs detect them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from PIL import Image
from ruamel.yaml import YAML
from stdnum import ean

from demo import album
from demo.artwork import draw_cover
from demo.instruments import Array
from demo.songs import Song
from tests.demo.judged import level_above, loudness, stream
from tests.judges import needs

OVER, OTHER_RATE, CLIPPED, UPSAMPLED, LONG_TAIL = (title.file for title in album.ALBUM)


def release(folder: Path) -> dict[str, Any]:
    loaded: dict[str, Any] = YAML(typ="safe").load((folder / "release.yaml").read_text(encoding="utf-8"))
    return loaded


def longest_flat(path: Path) -> int:
    """Frames of the longest run of equal samples at the file's extreme value, in any channel."""
    sound, _ = soundfile.read(path, dtype="int32", always_2d=True)
    longest = 0
    for channel in sound.T:
        for extreme in (channel.max(), channel.min()):
            edges = np.flatnonzero(np.diff(np.concatenate([[0], channel == extreme, [0]])))
            longest = max(longest, int((edges[1::2] - edges[::2]).max()))
    return longest


@needs("ffmpeg")
def test_an_over_between_samples(received: Path) -> None:
    """ffmpeg's EBU R 128 meter: every sample below full scale, the true peak above; nothing is clipped."""
    figures = loudness(received / OVER)
    assert figures["sample_peak_dbfs"] <= 0.0
    assert figures["true_peak_dbtp"] >= 0.3
    assert longest_flat(received / OVER) < 3


def test_a_clipped_run(received: Path, corrected: Path) -> None:
    """Dozens of equal samples at the rail; a sound master has none."""
    assert longest_flat(received / CLIPPED) > 20
    assert all(longest_flat(corrected / title.file) < 3 for title in album.ALBUM)


@needs("ffprobe")
def test_one_wrong_rate(received: Path, corrected: Path) -> None:
    """ffprobe: one master at 48 kHz in an album at 96; none as corrected."""
    rates = {title.file: stream(received / title.file)["sample_rate"] for title in album.ALBUM}
    assert [file for file, rate in rates.items() if rate != "96000"] == [OTHER_RATE]
    assert rates[OTHER_RATE] == "48000"
    assert {stream(corrected / title.file)["sample_rate"] for title in album.ALBUM} == {"96000"}


@needs("sox")
def test_one_master_was_upsampled(received: Path) -> None:
    """sox: nothing but dither above 23 kHz in the upsampled one, plenty in the others at 96 kHz."""
    above_db = {file: level_above(received / file, 23_000) for file in (OVER, CLIPPED, UPSAMPLED, LONG_TAIL)}
    assert above_db.pop(UPSAMPLED) < -100
    assert min(above_db.values()) > -45


def test_a_long_silent_tail(received: Path) -> None:
    """15 s and more below -60 dBFS at the end of one master only."""
    tails = {}
    for title in album.ALBUM:
        sound, rate_hz = soundfile.read(received / title.file, always_2d=True)
        heard = np.flatnonzero(np.abs(sound).max(axis=1) > 10 ** (-60 / 20))
        tails[title.file] = (len(sound) - heard[-1]) / rate_hz
    assert tails.pop(LONG_TAIL) >= 15
    assert max(tails.values()) < 2


def test_codes(received: Path, corrected: Path) -> None:
    """python-stdnum: the check digit is wrong as received, right as corrected; one ISRC came twice."""
    came, went = release(received), release(corrected)
    assert not ean.is_valid(came["upc"])
    assert ean.is_valid(went["upc"])
    for output, distinct in ((came, 4), (went, 5)):
        assert len({track["isrc"] for track in output["tracks"]}) == distinct


@pytest.mark.parametrize(("half", "side_px"), [("received", 1_200), ("corrected", 3_000)])
def test_cover(half: str, side_px: int, request: pytest.FixtureRequest) -> None:
    """Pillow reads an RGB JPEG of that size, and drawing it again gives the same bytes."""
    folder: Path = request.getfixturevalue(half)
    with Image.open(folder / "cover.jpg") as picture:
        assert (picture.format, picture.mode, picture.size) == ("JPEG", "RGB", (side_px, side_px))
    again = folder.parent / "again.jpg"
    draw_cover(again, side_px, "Merrow & the Glass Tide", "Harbour Arithmetic")
    assert again.read_bytes() == (folder / "cover.jpg").read_bytes()


def test_the_album_is_made_again_only_when_needed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A second run reuses it; a missing master or a changed generator makes it again."""
    plays: list[Song] = []

    def hummed(song: Song, rate_hz: int) -> Array:
        plays.append(song)
        return 0.5 * np.hanning(8 * rate_hz)[:, None] * [1.0, 1.0]

    def drawn(path: Path, *_: object) -> None:
        path.write_bytes(b"a cover")

    monkeypatch.setattr(album, "perform", hummed)
    monkeypatch.setattr(album, "draw_cover", drawn)
    album.make(tmp_path, say=lambda _: None)
    assert len(plays) == 10
    album.make(tmp_path, say=lambda _: None)
    assert len(plays) == 10
    (tmp_path / album.CORRECTED / OVER).unlink()
    album.make(tmp_path, say=lambda _: None)
    assert len(plays) == 20
    monkeypatch.setattr(album, "makers_hash", lambda: "another")
    album.make(tmp_path, say=lambda _: None)
    assert len(plays) == 30
