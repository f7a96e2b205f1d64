"""Two 4-minute 24/96 files compared: processor time.

    python -m tests.benchmarks.pairs

Prints the processor time of `delivery compare` against that of ffmpeg's loudness and true-peak filter over both files
(wanted: at most 0.6), for a copy delayed by whole frames and for one read between frames. Each is the best of some
turns, so that Python's bytecode is there, as it is wherever the program was used before.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import soundfile

from demo import songs
from demo.music import perform
from tests.benchmarks.album import AS_INSTALLED

RATE, SECONDS, TURNS = 96_000, 240, 3
LOUDNESS = ("-af", "ebur128=peak=true", "-f", "null", "-")


def processor_s(command: list[str]) -> float:
    """Least user and system time of one command."""
    spent = []
    for _ in range(TURNS):
        before = os.times()
        subprocess.run(command, env=AS_INSTALLED, check=True, capture_output=True)
        after = os.times()
        spent.append(after.children_user + after.children_system - before.children_user - before.children_system)
    return min(spent)


def pair(folder: Path, between: float) -> tuple[Path, Path]:
    """Music made by code, and a louder, clipped copy 1000 frames late and *between* frames more."""
    played = np.asarray(perform(songs.TIDE_SUMS, RATE), np.float64)
    played = played.T if len(played) == 2 else played
    whole = np.tile(0.5 * played / np.abs(played).max(), (-(-RATE * SECONDS // len(played)), 1))[: RATE * SECONDS]
    spectrum = np.fft.rfft(np.clip(1.7 * whole, -0.8, 0.8), axis=0)
    turns = np.exp(-2j * np.pi * np.arange(len(spectrum)) * (1000 + between) / len(whole))
    copy = np.fft.irfft(spectrum * turns[:, None], len(whole), axis=0)
    files = folder / "one.wav", folder / f"other {between:g}.wav"
    for file, sound in zip(files, (whole, copy), strict=True):
        soundfile.write(file, sound.clip(-0.99, 0.99), RATE, "PCM_24")
    return files


def speed(folder: Path) -> None:
    for between in (0.0, 0.37):
        files = pair(folder, between)
        judge = sum(processor_s(["ffmpeg", "-threads", "1", "-i", str(file), *LOUDNESS]) for file in files)
        own = processor_s([sys.executable, "-m", "delivery", "compare", *map(str, files), "--no-cache"])
        print(f"delay of {1000 + between:g} frames: {own:.2f} s, ffmpeg {judge:.2f} s, ratio {own / judge:.2f}")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        speed(Path(folder))
