"""How long every meter takes beside an outside loudness and true-peak filter, on one core, in the same run.

Run ``python -m tests.benchmarks.meters``; pytest does not collect it. Both sides are given in seconds of processor
time, the best of five turns each, taken alternately, so that a busy machine disturbs both alike.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import soundfile

from delivery.meters import measure
from tests.benchmarks.album import AS_INSTALLED
from tests.benchmarks.figures import record_cells, record_values

RATES_HZ, SECONDS, TURNS = (44_100, 96_000), 240, 5
GOALS = (0.30, 0.35)
"""Of the time of the outside filter, at each rate."""
ROWS = {"24/44.1": "every meter on a 4-minute stereo file, 24/44.1", "24/96": "the same, 24/96"}
"""Of the table in the guide."""
AGAINST = "ffmpeg's loudness and true-peak filter alone"
KEYS = {"24/44.1": "long_44_s", "24/96": "long_96_s"}
"""Of the sentence in the guide about the command line."""


def song(rate_hz: int, seconds: int) -> np.ndarray:
    """Pink-like noise in beats over a tone, pressed to a loud master that ends just under full scale."""
    frames = rate_hz * seconds
    t = np.arange(frames) / rate_hz
    spectrum = np.fft.rfft(np.random.default_rng(1).standard_normal((frames, 2)), axis=0)
    spectrum /= np.sqrt(np.maximum(np.fft.rfftfreq(frames, 1 / rate_hz), 20))[:, None]
    pink = np.fft.irfft(spectrum, frames, axis=0)
    beats = 0.12 + 0.35 * np.abs(np.sin(2 * np.pi * t)) ** 3 * (0.6 + 0.4 * np.sin(2 * np.pi * t / 60))
    mix = pink / pink.std() * beats[:, None] + 0.15 * np.sin(2 * np.pi * 110 * t)[:, None]
    return np.clip(0.9 * np.tanh(1.1 * mix), -0.89, 0.89)


def ours(path: Path) -> float:
    before = time.process_time()
    measure(path)
    return time.process_time() - before


def theirs(path: Path) -> float:
    command = ["ffmpeg", "-v", "quiet", "-nostats", "-threads", "1", "-i", str(path)]
    return _of_children([*command, "-filter_complex", "ebur128=peak=true", "-f", "null", "-"])


def _of_children(command: list[str]) -> float:
    before = os.times()
    subprocess.run(command, env=AS_INSTALLED, check=True, stdout=subprocess.DEVNULL)
    after = os.times()
    return after.children_user - before.children_user + after.children_system - before.children_system


def command_line(path: Path) -> float:
    command = [sys.executable, "-m", "delivery", "measure", "--no-cache", str(path)]
    return min(_of_children(command) for _ in range(TURNS))


def peak_memory_mb() -> float:
    """Highest memory of this process so far, in MB; 0 where the system does not tell.

    Linux is asked by its status file: the usual call would tell the parent's peak when that was higher.
    """
    status = Path("/proc/self/status")
    if status.exists():
        line = next(line for line in status.read_text(encoding="ascii").splitlines() if line.startswith("VmHWM"))
        return int(line.split()[1]) * 1024 / 1e6
    return 0.0


def child(path: Path) -> None:
    measure(path)
    print(f"memory, whole process          {peak_memory_mb():6.0f} MB")


def main() -> None:
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})
    with tempfile.TemporaryDirectory() as folder:
        for rate_hz in RATES_HZ:
            path = Path(folder) / f"{rate_hz}.wav"
            soundfile.write(path, song(rate_hz, SECONDS), rate_hz, subtype="PCM_24")
            race(path, f"24/{rate_hz / 1000:g}")
        short = Path(folder) / "short.wav"
        soundfile.write(short, song(RATES_HZ[0], 3), RATES_HZ[0], subtype="PCM_24")
        record_values("speed", "command-line", {"short_s": f"{command_line(short):.1f}"})


def race(path: Path, name: str) -> None:
    measure(path)  # compiles, or loads what is compiled
    has_judge = shutil.which("ffmpeg") is not None
    turns = [(ours(path), theirs(path) if has_judge else float("nan")) for _ in range(TURNS)]
    mine, other = (min(times) for times in zip(*turns, strict=True))
    print(f"every meter, {SECONDS} s of {name:7} {mine:7.3f} s")
    print(f"outside loudness + true peak   {other:6.3f} s")
    print(f"ratio                          {mine / other:6.2f}    goal {GOALS[list(ROWS).index(name)]}")
    whole = command_line(path)
    print(f"one file from the command line {whole:6.3f} s, start-up in it")
    record_values("speed", "command-line", {KEYS[name]: f"{whole:.1f}"})
    subprocess.run([sys.executable, "-m", "tests.benchmarks.meters", str(path)], check=True)
    if has_judge:
        record_cells("speed", "against-other-tools", "ratio", {ROWS[name]: f"{mine / other:.2f}"})


if __name__ == "__main__":
    child(Path(sys.argv[1])) if len(sys.argv) > 1 else main()
