"""An audit of many short files: time and memory, and how both grow.

    python -m tests.benchmarks.audit [FILES] [--record]

Makes FILES (10,000) different files of two seconds, audits the first hundredth of them and then all, each in a process
of its own with an empty ledger, and then all again, which the ledger knows; prints seconds of processor time, the
largest memory, and their ratios. ``--record`` keeps them in the guide. Linux only.
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

from tests.benchmarks.figures import record_cells

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


def main(count: int, record: bool) -> None:
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
        if record:
            cells = {
                "everything else about a song, where the command runs": f"{1000 * found[2][0] / count:.1f}",
                "10,000 files against 100, processor time": f"{found[1][0] / found[0][0]:.0f}",
                "10,000 files against 100, memory of the command": f"{found[1][2] / found[0][2]:.2f}",
            }
            record_cells("volume", "costs", "cost", cells)


if __name__ == "__main__":
    counts = [int(word) for word in sys.argv[1:] if word != "--record"]
    main(*(counts or [10_000]), record="--record" in sys.argv)
