"""An audit on one and on two workers of a cluster: what a minute of music costs, where, and how it scales.

    python -m tests.benchmarks.cluster [--songs 24] [--seconds 120] [--calls 2000] [--record]

Makes songs of 24/44.1 (half WAV, half FLAC) and audits them by one worker, then by two: seconds on the clock, processor
time of the workers with their decoders, of the scheduler, and of the command itself. Then calls that do nothing, for
what the scheduler adds to each. The clock depends on what else runs; processor time hardly does. ``--record`` keeps the
costs for ``tests.benchmarks.million``. Linux only.
"""

from __future__ import annotations

import argparse
import os
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import soundfile

from delivery.ledger.cache import MeasurementCache
from delivery.pipeline.cluster import connected
from delivery.pipeline.engine import in_order
from delivery.tasks.audit.run import audit
from delivery.tasks.audit.specs import specs_for
from tests.benchmarks.figures import record_cells
from tests.machines import Machines

RATE_HZ = 44_100


@dataclass(frozen=True)
class Cost:
    """Of one audit."""

    wall_s: float
    workers_s: float
    scheduler_s: float
    command_s: float
    memory_mb: float
    """The most that one worker held."""


def make(folder: Path, songs: int, seconds: int) -> int:
    """Songs of notes and noise, none like another; their bytes."""
    folder.mkdir()
    t = np.arange(seconds * RATE_HZ) / RATE_HZ
    for number in range(songs):
        chance = np.random.default_rng(number)
        notes = sum(np.sin(2 * np.pi * pitch * t) for pitch in chance.uniform(80, 4000, 8)) / 40
        beat = np.exp(-4 * (t % chance.uniform(0.4, 0.7)))
        x = np.column_stack([notes * beat + chance.normal(0, 0.02, len(t)) for _ in range(2)])
        soundfile.write(folder / f"{number:03}.{('wav', 'flac')[number % 2]}", x, RATE_HZ, subtype="PCM_24")
    return sum(path.stat().st_size for path in folder.iterdir())


def spent_s(pid: int | None = None) -> float:
    """Processor time of a process and of all below it, those that have ended included."""
    import psutil

    one = psutil.Process(pid or os.getpid())
    own = one.cpu_times()
    return float(own.user + own.system + own.children_user + own.children_system) + sum(
        spent_s(child.pid) for child in one.children()
    )


def most_mb() -> float:
    """The most memory that this process has held."""
    lines = Path("/proc/self/status").read_text(encoding="ascii").splitlines()
    return next(int(line.split()[1]) / 1024 for line in lines if line.startswith("VmHWM"))


def audited(files: Path, root: Path, machines: Machines, name: str) -> Cost:
    with connected(machines.address) as cluster, MeasurementCache(root / f"{name}.sqlite3") as cache:
        client: Any = cluster._client
        before = sum(client.run(spent_s).values()), spent_s(machines.scheduler.pid), time.process_time()
        begun = time.perf_counter()
        audit([files], specs_for(("store-master-24",)), root / name, cache=cache, engine=cluster)
        wall_s = time.perf_counter() - begun
        after = sum(client.run(spent_s).values()), spent_s(machines.scheduler.pid), time.process_time()
        memory_mb = max(client.run(most_mb).values())
    workers_s, scheduler_s, command_s = (b - a for a, b in zip(before, after, strict=True))
    return Cost(wall_s, workers_s, scheduler_s, command_s, memory_mb)


def nothing(number: int) -> int:
    return number


def calls_s(machines: Machines, calls: int) -> tuple[float, float]:
    """Processor time of the scheduler, and of the command, for each call that does nothing."""
    with connected(machines.address) as cluster:
        work: Callable[[int], int] = lambda number: cluster.run(nothing, number)  # noqa: E731
        before = spent_s(machines.scheduler.pid), time.process_time()
        assert sum(1 for _ in in_order(work, range(calls), cluster.width)) == calls
        after = spent_s(machines.scheduler.pid), time.process_time()
    return (after[0] - before[0]) / calls, (after[1] - before[1]) / calls


def main(songs: int, seconds: int, calls: int, record: bool) -> None:
    minutes, found = songs * seconds / 60, {}
    with tempfile.TemporaryDirectory(prefix="cluster-") as name:
        root = Path(name)
        size_mb = make(root / "files", songs, seconds) / 1e6
        load = f"load {os.getloadavg()[0]:.1f}, {os.cpu_count()} cores"
        print(f"{songs} songs, {minutes:.0f} min, {size_mb:.0f} MB; {load}", flush=True)
        for workers in (1, 2):
            (root / f"of-{workers}").mkdir()
            machines = Machines(root / f"of-{workers}", workers, tls=False)
            try:
                audited(files_of_one(root), root, machines, f"warm-{workers}")  # what is loaded once is not counted
                found[workers] = audited(root / "files", root, machines, f"audit-{workers}")
                print(f"{workers} at work: {found[workers]}", flush=True)
                scheduler_s, command_s = calls_s(machines, calls) if workers == 2 else (0.0, 0.0)
            finally:
                machines.end()
    one, two = found[1], found[2]
    faster, dearer = one.wall_s / two.wall_s, two.workers_s / one.workers_s
    print(f"1 -> 2 workers: {faster:.2f} times as fast, {dearer:.2f} times the processor time")
    print(f"{one.workers_s / minutes:.3f} s of processor for a minute of music")
    print(f"a call that does nothing: scheduler {1000 * scheduler_s:.2f} ms, command {1000 * command_s:.2f} ms")
    if record:
        cells = {
            "measuring a minute of music, on a worker": f"{one.workers_s / minutes:.2f}",
            "a call, on the scheduler": f"{1000 * scheduler_s:.1f}",
            "a call, where the command runs": f"{1000 * command_s:.1f}",
            "a minute of 24/44.1 stereo, WAV and FLAC by halves": f"{size_mb / minutes:.1f}",
            "a worker, at most": f"{max(one.memory_mb, two.memory_mb):.0f}",
            "two workers against one, processor time": f"{dearer:.2f}",
        }
        record_cells("volume", "costs", "cost", cells)


def files_of_one(root: Path) -> Path:
    """Two short files of the same kinds."""
    warm = root / "warm"
    if not warm.exists():
        make(warm, 2, 2)
    return warm


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--songs", type=int, default=24)
    parser.add_argument("--seconds", type=int, default=120)
    parser.add_argument("--calls", type=int, default=2000)
    parser.add_argument("--record", action="store_true")
    given = parser.parse_args()
    main(given.songs, given.seconds, given.calls, given.record)
