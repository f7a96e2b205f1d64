"""The band edge that lossy coders leave, before and after a conversion of rate: in how many pieces it is found.

Run ``python -m tests.benchmarks.coder_edge --folder FOLDER``; pytest does not collect it. The folder has pieces without
loss (WAV at 48 kHz, such as tracker music rendered by FFmpeg's libopenmpt); every second one is for tuning
(``--tuning``). Clean are these, sounds made by code, and noise of full band through rate converters. Opus, MP3, AAC and
Vorbis are made by opusenc, lame and FFmpeg, where these are installed. ``--record`` writes the tables of the guide.
"""

from __future__ import annotations

import argparse
import subprocess
import tempfile
from collections import Counter
from pathlib import Path

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
SECONDS = 10
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


def edge_hz(sound: Array, rate_hz: int, bits: int) -> float:
    found = measure_blocks(facts(sound, rate_hz, "pcm", bits), cut(sound, 65_536), only=["early_edge_hz"])
    return float(found.value("early_edge_hz") or 0)


def lives(sound: Array, rate_hz: int, rng: np.random.Generator) -> dict[str, float]:
    """Edge found in each of LIVES."""
    other_hz = 44_100 if rate_hz == 48_000 else 48_000
    converted = soxr.resample(sound, rate_hz, other_hz, "VHQ")
    return {
        LIVES[0]: edge_hz(dithered(0.89 * sound, 24, rng), rate_hz, 24),
        LIVES[1]: edge_hz(dithered(0.89 * converted, 24, rng), other_hz, 24),
        LIVES[2]: edge_hz(stored(limited(converted, other_hz), 16, rng), other_hz, 16),
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--folder", type=Path, required=True)
    parser.add_argument("--tuning", action="store_true")
    parser.add_argument("--every", type=int, default=1, help="take every n-th of these pieces")
    parser.add_argument("--seeds", type=int, default=2)
    parser.add_argument("--record", action="store_true")
    given = parser.parse_args()
    found, pieces, false = Counter[tuple[str, str]](), 0, Counter[str]()
    rng = np.random.default_rng(5)
    with tempfile.TemporaryDirectory() as name:
        for path in sorted(given.folder.glob("*.wav"))[0 if given.tuning else 1 :: 2][:: given.every]:
            sound, rate_hz = soundfile.read(path, frames=SECONDS * 48_000, always_2d=True)
            sound = 0.9 * sound / np.abs(sound).max()
            pieces += 1
            for life, hz in lives(sound, rate_hz, rng).items():
                false["tracker music"] += bool(hz)
                if hz:
                    print(f"{path.name}, {life}: {hz:.0f} Hz", flush=True)
            for coder, command in CODERS.items():
                decoded, at_hz = coded(sound, rate_hz, command, Path(name))
                for life, hz in lives(decoded, at_hz, rng).items():
                    found[coder, life] += bool(hz)
                print(path.name, coder, {life: found[coder, life] for life in LIVES}, flush=True)
    made = list(synthetic(range(0 if given.tuning else 1, 2 * given.seeds, 2)))
    false["sounds by code"] = sum(bool(edge_hz(each.sound, each.rate_hz, 24)) for each in made)
    for rate_hz in (48_000, 88_200, 96_000, 192_000):
        noise = 0.1 * rng.standard_normal((10 * rate_hz, 1))
        for quality in NOISE_QUALITIES:
            lowered = dithered(soxr.resample(noise, rate_hz, 44_100, quality), 24, rng)
            false["noise"] += bool(edge_hz(lowered, 44_100, 24))
    rows = [(coder, *(f"{found[coder, life]} of {pieces}" for life in LIVES)) for coder in CODERS]
    clean = [
        ("tracker music, rendered without loss", f"{3 * pieces}", f"{false['tracker music']}"),
        ("music-like sounds made by code", f"{len(made)}", f"{false['sounds by code']}"),
        ("noise of full band, lowered to 44.1 kHz by libsoxr", f"{4 * len(NOISE_QUALITIES)}", f"{false['noise']}"),
    ]
    for row in (*rows, *clean):
        print("| " + " | ".join(row) + " |")
    if given.record:
        record("history", "coder-edge", rows)
        record("history", "false-coder-edge", clean)


if __name__ == "__main__":
    main()
