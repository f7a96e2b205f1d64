"""How time and memory of a build grow with songs, minutes, specs and workers: a table, and drawings with ``--into``.

    python -m tests.benchmarks.growth [songs minutes specs workers unchanged] [--into FOLDER]

Each build runs in a process of its own: processor time (children included), wall clock, and the most memory that one of
its processes held. ``unchanged`` checks again an album whose masters have been measured. Last column: the cost of one
more unit since the row before, over that of the first such step; well above 1 in the last rows, it grows faster than
linearly. Busy machines stretch the clock, hardly the processor time.
"""

from __future__ import annotations

import argparse
import csv
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from delivery.ledger.cache import MeasurementCache
from delivery.pipeline import Options, build, check, resolve_request
from tests.albums import Song, write_album
from tests.benchmarks.meters import peak_memory_mb
from tests.benchmarks.svg import Axis, Line, chart

RATE_HZ = 44_100
SPECS = ("store-master-24", "cd-rate-16", "sync-48-24", "listening-mp3-320", "archive-bwf")
SHORT_S = 3.0


@dataclass(frozen=True)
class Job:
    """One build or, of an unchanged album, one check."""

    songs: int = 1
    seconds: float = SHORT_S
    specs: int = 1
    workers: int = 1
    unchanged: bool = False


SERIES = {
    "songs": {n: Job(songs=n) for n in (1, 10, 25, 50, 100, 200)},
    "minutes": {n: Job(seconds=60 * n) for n in (1, 2, 4, 8, 16)},
    "specs": {n: Job(songs=4, seconds=20.0, specs=n) for n in (1, 2, 3, 4, 5)},
    "workers": {n: Job(songs=8, seconds=20.0, specs=2, workers=n) for n in (1, 2, 4)},
    "unchanged": {n: Job(songs=n, unchanged=True) for n in (1, 50, 100, 200)},
}


@dataclass(frozen=True)
class Cost:
    processor_s: float
    wall_s: float
    memory_mb: float


def cost(job: Job) -> Cost:
    """Of a new process, its release written before the clock starts."""
    with tempfile.TemporaryDirectory(prefix="growth-") as name:
        folder = Path(name)
        songs = [Song(f"Song {at}", RATE_HZ, job.seconds, seed=at) for at in range(1, job.songs + 1)]
        write_album(folder / "masters", songs, SPECS[: job.specs])
        if job.unchanged:
            run(folder, job.workers, unchanged=True)
        words = [str(folder), str(job.workers), str(int(job.unchanged))]
        before, began = os.times(), time.perf_counter()
        done = subprocess.run(
            [sys.executable, "-m", __spec__.name, "--job", *words], check=True, stdout=subprocess.PIPE
        )
        wall_s, after = time.perf_counter() - began, os.times()
    used = after.children_user + after.children_system - before.children_user - before.children_system
    return Cost(used, wall_s, float(done.stdout.split()[-1]))


def run(folder: Path, workers: int, *, unchanged: bool) -> None:
    release = folder / "masters" / "release.yaml"
    if not unchanged:
        assert build(resolve_request(release), folder / "out", Options(workers)).package
        return
    with MeasurementCache(folder / "ledger.sqlite3") as known:
        check(resolve_request(release), Options(workers, known))


def peak_mb() -> float:
    """The most that this process or one of its workers held.

    Of this process by its own status where there is one: the usual call tells the parent's peak if that was higher, and
    the parent has made the masters.
    """
    workers = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / (1e6 if sys.platform == "darwin" else 1e3)
    return max(peak_memory_mb(), workers)


def steps(amounts: Sequence[int], costs: Sequence[Cost]) -> list[float]:
    """Processor time of one more unit, from each row to the next, over that of the first such step."""
    units = np.diff([each.processor_s for each in costs]) / np.diff(amounts[: len(costs)])
    return [float(unit / units[0]) if units[0] > 0 else float("nan") for unit in units]


def draw(into: Path, name: str, amounts: Sequence[int], costs: Sequence[Cost]) -> None:
    """``<name>.csv``, and two drawings with axes that begin at zero."""
    into.mkdir(parents=True, exist_ok=True)
    with (into / f"{name}.csv").open("w", newline="", encoding="utf-8") as file:
        rows = ((at, each.processor_s, each.wall_s, each.memory_mb) for at, each in zip(amounts, costs, strict=True))
        csv.writer(file).writerows([(name, "processor_s", "wall_s", "memory_mb"), *rows])
    x = np.array(amounts, np.float64)
    for kind, unit, names in (("time", "s", ("processor_s", "wall_s")), ("memory", "MB", ("memory_mb",))):
        lines = [Line(each, x, np.array([getattr(one, each) for one in costs])) for each in names]
        top = float(np.ceil(max(line.y.max() for line in lines) / 4) * 4)
        across, up = Axis(name, (0, *amounts[1:])), Axis(unit, (0, top / 4, top / 2, 3 * top / 4, top))
        text = chart(f"{kind} against {name}", across, up, lines)
        (into / f"{name}-{kind}.svg").write_text(text, encoding="utf-8", newline="\n")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("series", nargs="*", default=list(SERIES), choices=list(SERIES))
    parser.add_argument("--into", type=Path)
    given = parser.parse_args()
    for name in given.series:
        print(f"{name:>10}{'processor':>12}{'wall':>10}{'memory':>10}{'one more':>10}", flush=True)
        costs = []
        for at, job in SERIES[name].items():
            costs.append(cost(job))
            last = f"{steps(list(SERIES[name]), costs)[-1]:10.2f}" if len(costs) > 1 else ""
            one = costs[-1]
            print(f"{at:10}{one.processor_s:10.2f} s{one.wall_s:8.2f} s{one.memory_mb:7.0f} MB{last}", flush=True)
        if given.into:
            draw(given.into, name, list(SERIES[name]), costs)


if __name__ == "__main__":
    if sys.argv[1:2] == ["--job"]:
        run(Path(sys.argv[2]), int(sys.argv[3]), unchanged=sys.argv[4] == "1")
        print(peak_mb())
    else:
        main()
