"""Small albums on disk for tests of the whole pipeline: real files, a few seconds each."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import soundfile as sf
from numpy.typing import NDArray
from ruamel.yaml import YAML

Array = NDArray[np.float64]

SPEC = """\
title: {title}
about: Only for tests.
checked: 2026-11-25
source: common practice, no source
requires: {requires}
convert: {convert}
"""


@dataclass
class Song:
    """One master to write; the defaults give a clean one."""

    title: str = "Song"
    rate_hz: int = 96_000
    seconds: float = 2.0
    level_dbfs: float = -20.0
    subtype: str = "PCM_24"
    suffix: str = ".wav"
    seed: int = 1
    extra: dict[str, Any] = field(default_factory=dict)


def sound(song: Song) -> Array:
    """Band-limited noise in stereo with silence around it: no two songs alike, peaks about 12 dB above the rms."""
    return _sound(song.rate_hz, song.seconds, song.level_dbfs, song.seed)


@lru_cache(16)
def _sound(rate_hz: int, seconds: float, level_dbfs: float, seed: int) -> Array:
    frames = round(seconds * rate_hz)
    noise = np.random.default_rng(seed).standard_normal((frames, 2))
    kernel = np.hanning(13)[:, None] / np.hanning(13).sum()
    shaped = np.stack([np.convolve(noise[:, ch], kernel[:, 0], "same") for ch in range(2)], axis=1)
    shaped /= np.sqrt(np.mean(shaped**2))
    edge = round(0.1 * rate_hz)
    silence = np.zeros((edge, 2))
    fade = np.minimum(1, np.minimum(np.arange(frames), np.arange(frames)[::-1]) / edge)[:, None]
    made = np.concatenate([silence, 10 ** (level_dbfs / 20) * shaped * fade, silence])
    made.flags.writeable = False
    return made


def write_song(folder: Path, number: int, song: Song) -> Path:
    path = folder / f"{number:02} {song.title}{song.suffix}"
    sf.write(path, sound(song), song.rate_hz, subtype=song.subtype)
    return path


def write_album(folder: Path, songs: Sequence[Song], specs: Sequence[str], **release: Any) -> Path:
    """Masters and a release file in *folder*; the path of the release file."""
    folder.mkdir(parents=True, exist_ok=True)
    tracks = [
        {
            "file": write_song(folder, number, song).name,
            "title": song.title,
            "isrc": f"ZZOSL26{number:05}",
            "explicit": "no",
            "composers": ["Odile Merrow"],
        }
        | song.extra
        for number, song in enumerate(songs, start=1)
    ]
    document = {
        "title": "Harbour Arithmetic",
        "artist": "Merrow & the Glass Tide",
        "label": "Ostrelune Records",
        "catalogue_number": "OSL-014",
        "upc": "2000000140018",
        "dated": "2026-08-03",
        "language": "en",
        "deliver_to": list(specs),
        "tracks": tracks,
    } | release
    path = folder / "release.yaml"
    with path.open("w", encoding="utf-8", newline="\n") as file:
        YAML().dump(document, file)
    return path


def write_spec(folder: Path, name: str, requires: str, convert: str) -> Path:
    """A spec file of one's own; *requires* and *convert* as YAML flow mappings."""
    path = folder / f"{name}.yaml"
    path.write_text(SPEC.format(title=name, requires=requires, convert=convert), encoding="utf-8", newline="\n")
    return path


def hashes(folder: Path) -> dict[str, str]:
    """SHA-256 of every file below *folder*, by path."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
