"""An audit of many short files: time and memory, and how both grow.

    python -m tests.benchmarks.audit [FILES]

Makes FILES (10,000) different files of two seconds, audits the first hundredth of them and then all, each in a process
of its own with an empty ledger, and prints seconds of processor time, the largest memory, and their ratios. Linux only.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import soundfile

SECONDS, RATE_HZ = 2, 22_050


def make(folder: Path, count: int) -> None:
    """Files of notes and noise, a hundred in each folder."""
    for number in range(count):
        chance = np.random.default_rng(number)
        t = np.arange(SECONDS * RATE_HZ) / RATE_HZ
        notes = sum(np.sin(2 * np.pi * pitch * t) * np.exp(-2 * t) for pitch in chance.uniform(300, 2500, 6)) / 12
        path = folder / f"{number // 100:03}" / f"{number:05}.wav"
        path.parent.mkdir(parents=True, exist_ok=True)
        soundfile.write(path, notes + chance.normal(0, 0.01, len(t)), RATE_HZ, subtype="PCM_16")


def audited(folders: list[Path], into: Path, home: Path) -> tuple[float, float, float]:
    """Processor seconds, seconds on the clock, largest resident memory in MB."""
    begun = time.monotonic()
    command = [
        sys.executable,
        "-m",
        "delivery",
        "audit",
        *map(str, folders),
        "-s",
        "store-master-24",
        "--into",
        str(into),
    ]
    env = {**os.environ, "DELIVERY_LEDGER": str(home), "OPENBLAS_NUM_THREADS": "1"}
    done = subprocess.Popen(command, env=env, stdout=subprocess.DEVNULL)
    _, status, usage = os.wait4(done.pid, 0)
    assert os.waitstatus_to_exitcode(status) in (0, 1)
    return usage.ru_utime + usage.ru_stime, time.monotonic() - begun, usage.ru_maxrss / 1024


def main(count: int) -> None:
    with tempfile.TemporaryDirectory() as name:
        root = Path(name)
        make(root / "tree", count)
        folders = sorted((root / "tree").iterdir())
        few = folders[: max(1, len(folders) // 100)]
        found = []
        for number, some in enumerate((few, folders, folders)):
            home = root / f"ledger-{min(number, 1)}"
            home.mkdir(exist_ok=True)
            found.append(audited(some, root / f"out-{number}", home))
            files = 100 * len(some) if len(some) < len(folders) else count
            again = ", again" if number == 2 else ""
            print("{:,} files{}: {:.1f} s of processor, {:.1f} s, {:.0f} MB".format(files, again, *found[-1]))
        size = sum(path.stat().st_size for path in (root / "ledger-1").iterdir()) / 1e6
        print(
            f"{count / (100 * len(few)):.0f} times the files: {found[1][0] / found[0][0]:.1f} times the processor time"
        )
        print(f"ledger {size:.0f} MB")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
