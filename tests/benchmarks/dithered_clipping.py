"""Clipping that was lowered in level and dithered since, planted in real music: in how many pieces it is found.

Run ``python -m tests.benchmarks.dithered_clipping --folder FOLDER``; pytest does not collect it. Every piece of 40 s or
more below the folders is taken, up to 4 minutes from its middle. Clean are the pieces themselves at -1 dBFS, and the
same through limiters (our own, and sox's and FFmpeg's where these are installed); clipped are they by some dB at a
ceiling of each channel's own. ``--record`` writes the table of the guide.
"""

from __future__ import annotations

import argparse
import shutil
import subprocess
import zlib
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from delivery.meters import measure_blocks
from tests.benchmarks.discontinuities import read, stored
from tests.benchmarks.figures import record
from tests.benchmarks.planted.processing_history import limited
from tests.meters.memory import cut, facts

Array = NDArray[np.float64]
SHORTEST_S = 40.0
LEAST_RATE_HZ = 32_000
FIGURES = ("clip_run_count", "dithered_clip_run_count")
OVERS_DB = (0.5, 1.0, 3.0, 6.0)
GAINS_DB = (-0.3, -3.0, -12.0)


def music(folders: list[Path]) -> Iterator[Path]:
    """Sound files that are long enough, by name."""
    for folder in folders:
        for path in sorted(folder.rglob("*")):
            if path.suffix in (".ogg", ".opus", ".flac", ".wav") and path.is_file():
                try:
                    form = soundfile.info(path)
                except soundfile.LibsndfileError:  # a film in an Ogg file
                    continue
                if form.duration >= SHORTEST_S and form.samplerate >= LEAST_RATE_HZ:
                    yield path


def clipped(sound: Array, over_db: float, gain_db: float, rng: np.random.Generator) -> Array:
    """Cut *over_db* below each channel's peak, the channels lowered by up to 2 dB differently."""
    peaks = np.abs(sound).max(axis=0)
    ceilings = np.maximum(peaks, 1e-6) * 10 ** (-over_db / 20)
    gains = 10 ** ((gain_db - rng.uniform(0, 2, sound.shape[1])) / 20)
    return np.asarray(np.clip(sound, -ceilings, ceilings) / ceilings.max() * gains)


def _through(sound: Array, command: list[str]) -> Array:
    made = subprocess.run(command, input=sound.astype("<f8").tobytes(), capture_output=True, check=True).stdout
    return np.frombuffer(made).reshape(-1, sound.shape[1])


def of_sox(sound: Array, rate_hz: int) -> Array:
    form = ["-t", "f64", "-r", f"{rate_hz}", "-c", f"{sound.shape[1]}", "-"]
    return _through(0.9 * sound, ["sox", "-V1", *form, *form[:-1], "-", "gain", "-l", "6"])


def of_ffmpeg(sound: Array, rate_hz: int) -> Array:
    form = ["-f", "f64le", "-ar", f"{rate_hz}", "-ac", f"{sound.shape[1]}"]
    chain = "volume=6dB,alimiter=limit=0.9:level=0"
    return _through(sound, ["ffmpeg", "-v", "error", *form, "-i", "-", "-af", chain, *form, "-"])


CLEAN: dict[str, Callable[[Array, int], Array]] = {
    "as it is": lambda sound, _rate_hz: sound,
    "6 dB into a limiter": limited,
    "6 dB into sox's limiter": of_sox,
    "6 dB into FFmpeg's limiter, which clips what it misses": of_ffmpeg,
    "saturated by tanh, 12 dB": lambda sound, _rate_hz: np.tanh(4 * sound),
}


def counts(sound: Array, rate_hz: int, bits: int) -> tuple[int, int]:
    """Runs of equal samples, and of nearly equal ones."""
    found = measure_blocks(facts(sound, rate_hz, "pcm", bits), cut(sound, 65_536), only=FIGURES)
    return int(found.value(FIGURES[0]) or 0), int(found.value(FIGURES[1]) or 0)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--folder", type=Path, required=True, action="append")
    parser.add_argument("--every", type=int, default=1, help="take every n-th piece")
    parser.add_argument("--record", action="store_true")
    given = parser.parse_args()
    pieces, minutes = Counter[str](), dict[str, float]()
    by_equal, by_nearly, runs = Counter[str](), Counter[str](), Counter[str]()

    def judge(name: str, sound: Array, rate_hz: int, bits: int) -> None:
        equal, nearly = counts(sound, rate_hz, bits)
        pieces[name] += 1
        minutes[name] = minutes.get(name, 0.0) + len(sound) / rate_hz / 60
        by_equal[name] += bool(equal)
        by_nearly[name] += bool(nearly)
        runs[name] += nearly
        if name in CLEAN and nearly:
            print(f"  {name}: {nearly} nearly equal, {equal} equal", flush=True)

    for number, path in enumerate(list(music(given.folder))[:: given.every]):
        sound, rate_hz = read(path)
        bits = 16 if number % 2 else 24
        rng = np.random.default_rng(zlib.crc32(path.name.encode()))
        sound = sound / max(float(np.abs(sound).max()), 1e-9)
        print(path.name, flush=True)
        for name, process in CLEAN.items():
            if ("sox" in name and not shutil.which("sox")) or ("FFmpeg" in name and not shutil.which("ffmpeg")):
                continue
            made = process(sound, rate_hz)
            judge(name, _dithered(0.89 * made, bits, rng), rate_hz, bits)
        for over_db in OVERS_DB:
            gain_db = float(rng.choice(GAINS_DB))
            made = _dithered(clipped(sound, over_db, gain_db, rng), bits, rng)
            judge(f"cut {over_db:g} dB below the peak", made, rate_hz, bits)
    rows = [
        (name, f"{pieces[name]}", f"{by_nearly[name]}", f"{by_equal[name]}", f"{runs[name] / minutes[name]:.2f}")
        for name in pieces
    ]
    for row in rows:
        print("| " + " | ".join(row) + " |")
    if given.record:
        record("detectors", "dithered-clipping", rows)


def _dithered(sound: Array, bits: int, rng: np.random.Generator) -> Array:
    """With triangular dither at that depth."""
    if bits == 16:
        return stored(sound, 16, rng)
    steps = 2.0 ** (bits - 1)
    return np.asarray(np.rint(sound * steps + rng.random(sound.shape) - rng.random(sound.shape)) / steps)


if __name__ == "__main__":
    main()
