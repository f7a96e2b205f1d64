"""Each shipped spec as an engineer meets it: one release that is ready for it, and one that is not met, for its reason.

The limits are those of the spec files, whose sources are beside them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray
from ruamel.yaml import YAML

from delivery.model.finding import Result
from delivery.pipeline import Options, check, resolve_request
from tests.meters.test_adm import axml, chna, master
from tests.meters.test_chunks import bext, smpl
from tests.signals import noise

Sound = NDArray[np.float64]


@dataclass(frozen=True)
class File:
    """A master: noise of some rms level with half a second of fainter noise at both ends."""

    version: str = ""
    rate_hz: int = 48_000
    subtype: str = "PCM_24"
    level_dbfs: float = -22.0
    seconds: float = 5.0
    channels: int = 2
    floor_dbfs: float = -75.0
    seed: int = 1
    chunks: tuple[tuple[bytes, bytes], ...] = ()
    shape: Callable[[Sound], Sound] = lambda sound: sound

    def write(self, path: Path) -> None:
        sound = noise(self.rate_hz, self.seconds, level_dbfs=self.level_dbfs, seed=self.seed, channels=self.channels)
        edge = self.rate_hz // 2
        floor = noise(self.rate_hz, 1.0, level_dbfs=self.floor_dbfs, seed=self.seed + 50, channels=self.channels)
        sound[:edge], sound[-2 * edge :] = floor[:edge], floor
        sound = self.shape(np.clip(sound, -0.6, 0.6))
        soundfile.write(path, sound, self.rate_hz, self.subtype, format="WAV")
        if self.chunks:
            appended(path, self.chunks)


def appended(path: Path, chunks: tuple[tuple[bytes, bytes], ...]) -> None:
    whole = path.read_bytes()
    extra = b"".join(name + len(body).to_bytes(4, "little") + body + bytes(len(body) % 2) for name, body in chunks)
    path.write_bytes(whole[:4] + (len(whole) - 8 + len(extra)).to_bytes(4, "little") + whole[8:] + extra)


def without_edges(sound: Sound) -> Sound:
    return sound[24_000:-48_000]


def with_a_peak(sound: Sound) -> Sound:
    sound[120_000] = 0.5
    return sound


HOUR = (b"bext", bext(3600 * 48_000))
LATE = (b"bext", bext(3600 * 48_000 + 1))
FRAMES = 5 * 48_000 - 72_000
LOOP = File(shape=without_edges, chunks=((b"smpl", smpl((0, FRAMES - 1))),))
LOUD_SECONDS = File(
    seconds=20.0, level_dbfs=-26.0, shape=lambda x: np.concatenate([x, noise(48_000, 3, level_dbfs=-12)])
)

PEAK = File(level_dbfs=-33.0, shape=with_a_peak)

READY: Mapping[str, tuple[File, ...]] = {
    "store-flac-16": (File(rate_hz=96_000),),
    "store-flac-24": (File(rate_hz=44_100),),
    "store-flac-high-rate": (File(rate_hz=96_000),),
    "listening-opus-160": (File(rate_hz=44_100),),
    "promo-mp3-320": (File(rate_hz=96_000),),
    "audiobook-mp3-192": (File(rate_hz=44_100, level_dbfs=-19.0, channels=1),),
    "podcast-mp3-128": (File(rate_hz=44_100),),
    "agreed-loudness": (File(),),
    "streaming-r128-s2": (File(),),
    "broadcast-r128-short": (File(),),
    "archive-iasa-tc04": (File(rate_hz=96_000),),
    "vinyl-premaster": (File(rate_hz=192_000, subtype="FLOAT"),),
    "game-loops": (LOOP,),
    "film-stems": (File(version="Drums Stem", chunks=(HOUR,)), File(version="Bass Stem", chunks=(HOUR,), seed=2)),
}
NOT_MET: Mapping[str, tuple[tuple[File, ...], str]] = {
    "store-flac-16": ((File(rate_hz=32_000),), "rate_hz"),
    "store-flac-24": ((File(channels=4),), "channels"),
    "store-flac-high-rate": ((File(rate_hz=48_000),), "rate_hz"),
    "listening-opus-160": ((File(channels=4),), "channels"),
    "promo-mp3-320": ((File(rate_hz=32_000),), "rate_hz"),
    "audiobook-mp3-192": (
        (File(rate_hz=44_100, level_dbfs=-19.0, channels=1, floor_dbfs=-52.0),),
        "noise_floor_max_dbfs",
    ),
    "podcast-mp3-128": ((File(rate_hz=32_000),), "rate_hz"),
    "agreed-loudness": ((PEAK,), "true_peak_max_dbtp"),
    "streaming-r128-s2": ((PEAK,), "true_peak_max_dbtp"),
    "broadcast-r128-short": ((LOUD_SECONDS,), "short_term_max_lufs"),
    "archive-iasa-tc04": ((File(rate_hz=44_100),), "rate_hz"),
    "vinyl-premaster": ((File(channels=1),), "channels"),
    "game-loops": ((File(shape=without_edges, chunks=((b"smpl", smpl((0, FRAMES - 2))),)),), "loop_points"),
    "film-stems": ((File(chunks=(HOUR,)), File(version="Bass Stem", chunks=(LATE,), seed=2)), "equal_time_references"),
}


def judged(folder: Path, spec: str, files: tuple[File, ...]) -> tuple[Result, set[str]]:
    """The result, and the rules that are not met and must be."""
    tracks = []
    for position, file in enumerate(files, start=1):
        file.write(folder / f"{position}.wav")
        tracks.append(
            {"file": f"{position}.wav", "title": "Low Water"} | ({"version": file.version} if file.version else {})
        )
    return judged_release(folder, spec, tracks)


def judged_release(folder: Path, spec: str, tracks: list[dict[str, str]]) -> tuple[Result, set[str]]:
    data = {"title": "Tidal", "artist": "Merrow", "tracks": tracks, "deliver_to": [spec]}
    with (folder / "release.yaml").open("w", encoding="utf-8") as file:
        YAML().dump(data, file)
    delivery = check(resolve_request(folder), Options())
    findings = [*delivery.findings, *(finding for part in delivery.parts for finding in part.findings)]
    return delivery.result, {each.rule for each in findings if each.result is Result.NOT_READY}


@pytest.mark.parametrize("spec", READY)
def test_a_release_that_is_ready(spec: str, tmp_path: Path) -> None:
    result, short = judged(tmp_path, spec, READY[spec])
    assert short == set()
    assert result in (Result.READY, Result.REMARKS)


@pytest.mark.parametrize("spec", NOT_MET)
def test_a_release_that_is_not_met(spec: str, tmp_path: Path) -> None:
    files, rule = NOT_MET[spec]
    result, short = judged(tmp_path, spec, files)
    assert rule in short
    assert result is Result.NOT_READY


def test_stems_that_add_up_and_one_that_is_too_short(tmp_path: Path) -> None:
    drums, bass = File("Drums Stem"), File("Bass Stem", seed=2)
    for name, file in (("drums", drums), ("bass", bass)):
        file.write(tmp_path / f"{name}.wav")
    parts = [soundfile.read(tmp_path / f"{name}.wav", dtype="int32")[0] // 256 for name in ("drums", "bass")]
    soundfile.write(tmp_path / "mix.wav", (sum(parts) * 256).astype(np.int32), 48_000, "PCM_24")
    tracks = [
        {"file": "mix.wav", "title": "Low Water"},
        {"file": "drums.wav", "title": "Low Water", "version": "Drums Stem"},
        {"file": "bass.wav", "title": "Low Water", "version": "Bass Stem"},
    ]
    assert judged_release(tmp_path, "stem-pack", tracks) == (Result.READY, set())
    soundfile.write(tmp_path / "bass.wav", (parts[1][:-1] * 256).astype(np.int32), 48_000, "PCM_24")
    assert judged_release(tmp_path, "stem-pack", tracks) == (Result.NOT_READY, {"equal_lengths"})


def test_an_immersive_master_and_one_whose_model_misses_a_channel(tmp_path: Path) -> None:
    sound = np.concatenate([noise(48_000, 4, level_dbfs=-40, seed=seed, channels=2) for seed in range(4)], axis=1)
    tracks = [{"file": "bed.wav", "title": "Low Water"}]
    master(tmp_path / "bed.wav", sound, [(b"chna", chna()), (b"axml", axml().encode())])
    (tmp_path / "bed.raw.wav").unlink()
    assert judged_release(tmp_path, "immersive-adm", tracks)[1] == set()
    master(tmp_path / "bed.wav", sound, [(b"chna", chna()[:-40]), (b"axml", axml().encode())])
    assert judged_release(tmp_path, "immersive-adm", tracks) == (Result.NOT_READY, {"adm_structure"})
