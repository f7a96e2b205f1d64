"""What lossy coders leave, before and after a conversion of rate: in how many pieces it is found.

The band edge (`early_edge_hz`) and the zeros in their frames (`lossy_coder`) are searched.

Run ``python -m tests.benchmarks.coder_edge --folder FOLDER``; pytest does not collect it. The folder has pieces without
loss (WAV at 44.1 or 48 kHz, such as tracker music rendered by FFmpeg's libopenmpt); every second one is for tuning
(``--tuning``). Clean are these, sounds made by code, and noise of full band through rate converters. Opus, MP3, AAC and
Vorbis are made by opusenc, lame and FFmpeg, where these are installed. ``--record`` writes the tables of the guide:
of the modules in the Debian packages pingus-data and heroes-sound-tracks, every second pair rendered at 44.1 kHz.
"""

from __future__ import annotations

import argparse
import subprocess
import tempfile
from collections import Counter
from pathlib import Path
from typing import NamedTuple

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

from delivery.meters import measure_blocks
from tests.benchmarks.discontinuities import stored
from tests.benchmarks.figures import record
from tests.benchmarks.planted.material import synthetic
from tests.benchmarks.planted.processing_history import dithered, limited
from tests.meters.memory import cut, facts

Array = NDArray[np.float64]
SECONDS = 30
CODERS: dict[str, tuple[str, ...]] = {
    "Opus 64": ("opusenc", "--quiet", "--bitrate", "64", "{in}", "{out}.opus"),
    "Opus 96": ("ffmpeg", "-v", "error", "-y", "-i", "{in}", "-c:a", "libopus", "-b:a", "96k", "{out}.opus"),
    "Opus 128": ("opusenc", "--quiet", "--bitrate", "128", "{in}", "{out}.opus"),
    "Opus 192": ("opusenc", "--quiet", "--bitrate", "192", "{in}", "{out}.opus"),
    "MP3 128": ("lame", "--quiet", "-b", "128", "{in}", "{out}.mp3"),
    "MP3 V2": ("ffmpeg", "-v", "error", "-y", "-i", "{in}", "-c:a", "libmp3lame", "-q:a", "2", "{out}.mp3"),
    "MP3 256": ("lame", "--quiet", "-b", "256", "{in}", "{out}.mp3"),
    "MP3 320": ("lame", "--quiet", "-b", "320", "{in}", "{out}.mp3"),
    "AAC 128": ("ffmpeg", "-v", "error", "-y", "-i", "{in}", "-c:a", "aac", "-b:a", "128k", "{out}.m4a"),
    "AAC 256": ("ffmpeg", "-v", "error", "-y", "-i", "{in}", "-c:a", "aac", "-b:a", "256k", "{out}.m4a"),
    "Vorbis q3": ("ffmpeg", "-v", "error", "-y", "-i", "{in}", "-c:a", "libvorbis", "-q:a", "3", "{out}.ogg"),
    "Vorbis q6": ("ffmpeg", "-v", "error", "-y", "-i", "{in}", "-c:a", "libvorbis", "-q:a", "6", "{out}.ogg"),
}
LIVES = ("as decoded", "converted in rate", "converted, limited, 16 bits")
CLEAN = (
    "tracker music, rendered without loss, after each of these steps",
    "music-like sounds made by code, in the same",
    "noise of full band, lowered to 44.1 kHz by libsoxr",
)
NOISE_QUALITIES = ("VHQ", "HQ", "MQ", "LQ")


def coded(sound: Array, rate_hz: int, command: tuple[str, ...], folder: Path) -> tuple[Array, int]:
    """Through an encoder and FFmpeg's decoder."""
    given, made, back = folder / "in.wav", folder / "out", folder / "back.wav"
    soundfile.write(given, sound.clip(-1, 1), rate_hz, subtype="PCM_24")
    subprocess.run([part.format(**{"in": given, "out": made}) for part in command], check=True, capture_output=True)
    coded_file = made.with_suffix(Path(command[-1]).suffix)
    decode = ["ffmpeg", "-v", "error", "-y", "-i", str(coded_file), "-c:a", "pcm_f32le", str(back)]
    subprocess.run(decode, check=True, capture_output=True)
    return soundfile.read(back, always_2d=True)


class Found(NamedTuple):
    """What a file shows."""

    edge: bool
    frames: bool


def shown(sound: Array, rate_hz: int, bits: int) -> Found:
    """Whether there is an early edge, and a coder's frames."""
    found = measure_blocks(
        facts(sound, rate_hz, "pcm", bits), cut(sound, 65_536), only=["early_edge_hz", "lossy_coder"]
    )
    return Found(bool(found.value("early_edge_hz")), (found.value("lossy_coder") or "none") != "none")


def lives(sound: Array, rate_hz: int, rng: np.random.Generator) -> dict[str, Found]:
    """What is found in each of LIVES; the beginning is cut off, so that frames begin anywhere."""
    other_hz = 44_100 if rate_hz == 48_000 else 48_000
    converted = soxr.resample(sound, rate_hz, other_hz, "VHQ")[int(rng.integers(0, 3000)) :]
    return {
        LIVES[0]: shown(dithered(0.89 * sound, 24, rng), rate_hz, 24),
        LIVES[1]: shown(dithered(0.89 * converted, 24, rng), other_hz, 24),
        LIVES[2]: shown(stored(limited(converted, other_hz), 16, rng), other_hz, 16),
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--folder", type=Path, required=True)
    parser.add_argument("--tuning", action="store_true")
    parser.add_argument("--every", type=int, default=1, help="take every n-th of these pieces")
    parser.add_argument("--seeds", type=int, default=2)
    parser.add_argument("--record", action="store_true")
    given = parser.parse_args()
    edges, frames, either = (Counter[tuple[str, str]]() for _ in range(3))
    pieces, falsely = 0, dict[str, tuple[int, ...]].fromkeys(CLEAN, (0, 0, 0))
    rng = np.random.default_rng(5)

    def clean(kind: str, what: Found) -> None:
        falsely[kind] = tuple(a + b for a, b in zip(falsely[kind], (1, what.edge, what.frames), strict=True))
        if any(what):
            print(f"{kind}: {what}", flush=True)

    with tempfile.TemporaryDirectory() as name:
        for path in sorted(given.folder.glob("*.wav"))[0 if given.tuning else 1 :: 2][:: given.every]:
            sound, rate_hz = soundfile.read(path, frames=SECONDS * 48_000, always_2d=True)
            sound = 0.9 * sound / np.abs(sound).max()
            pieces += 1
            for what in lives(sound, rate_hz, rng).values():
                clean(CLEAN[0], what)
            for coder, command in CODERS.items():
                decoded, at_hz = coded(sound, rate_hz, command, Path(name))
                for life, what in lives(decoded, at_hz, rng).items():
                    edges[coder, life] += what.edge
                    frames[coder, life] += what.frames
                    either[coder, life] += any(what)
                print(path.name, coder, {life: (edges[coder, life], frames[coder, life]) for life in LIVES}, flush=True)
    for each in synthetic(range(0 if given.tuning else 1, 2 * given.seeds, 2)):
        for what in lives(each.sound, each.rate_hz, rng).values():
            clean(CLEAN[1], what)
    for rate_hz in (48_000, 88_200, 96_000, 192_000):
        noise = 0.1 * rng.standard_normal((10 * rate_hz, 1))
        for quality in NOISE_QUALITIES:
            lowered = dithered(soxr.resample(noise, rate_hz, 44_100, quality), 24, rng)
            clean(CLEAN[2], shown(lowered, 44_100, 24))
    tables = [
        [(coder, *(f"{counts[coder, life]} of {pieces}" for life in LIVES)) for coder in CODERS]
        for counts in (edges, frames, either)
    ]
    false_rows = [(kind, *map(str, counts)) for kind, counts in falsely.items()]
    for row in [row for table in (*tables, false_rows) for row in table]:
        print("| " + " | ".join(row) + " |")
    if given.record:
        record("history", "coder-edge", tables[0])
        record("history", "coder-frames", tables[1])
        record("history", "coder-either", tables[2])
        record("history", "false-coder-edge", false_rows)


if __name__ == "__main__":
    main()
