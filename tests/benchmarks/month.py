"""A month of work: 200 songs of 4 minutes at 24/96, each to five specs, extrapolated from an album of real length.

    python -m tests.benchmarks.month [--songs 12] [--times 7] [--workers 2]

The whole pipeline: masters hashed and measured, every part converted, written, tagged, opened again and measured; then
checksums, sheet, data and bag; nothing from a cache. Prints wall clock time (longer on a busy machine), processor time
(nearly independent of the load), the main thread's share, and processor time by stage, rendering by spec as well.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import threading
import time
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from delivery.formats import carried
from delivery.pipeline import Options, build, make_part, package, packing, read_back, resolve_request, sources
from demo import album
from demo.music import length_s
from tests.benchmarks.figures import record_values

SPECS = ("store-master-24", "cd-rate-16", "sync-48-24", "listening-mp3-320", "archive-bwf")
MONTH_SONGS, SONG_S = 200, 240
REACH_MIN = 10
STAGES = (
    ("masters: hash of the bytes", sources, "file_sha256"),
    ("masters: every figure", sources, "measure"),
    ("parts: convert and write ", make_part, "render"),
    ("parts: read again, every figure", read_back, "measure"),
    ("parts: read again, audio hash", read_back, "identify"),
    ("parts: tags", carried, "embed"),
    ("parts: checksums", make_part, "checksums"),
    ("masters: unchanged at the end", packing, "file_sha256"),
    ("sheet, data, papers, bag", package, "write"),
)
spent: dict[str, float] = defaultdict(float)
lock = threading.Lock()


def timed(stage: str, work: Callable[..., Any]) -> Callable[..., Any]:
    """The same function; its thread's processor time counts towards *stage*."""

    def counted(*given: Any, **named: Any) -> Any:
        before = time.thread_time()
        try:
            return work(*given, **named)
        finally:
            label = stage + given[2].parent.name if stage.endswith(" ") else stage  # into <spec>/<file>
            with lock:
                spent[label] += time.thread_time() - before

    return counted


def run_once(release: Path, into: Path, workers: int) -> tuple[float, float, float]:
    """Wall clock and processor seconds of one build, and those of its main thread."""
    wall, processor, alone = time.perf_counter(), time.process_time(), time.thread_time()
    built = build(resolve_request(release), into, Options(workers=workers))
    if built.package is None or not all(part.shipped for part in built.delivery.parts):
        sys.exit(f"not everything was made: {[part.problem for part in built.delivery.parts if not part.shipped]}")
    return time.perf_counter() - wall, time.process_time() - processor, time.thread_time() - alone


@dataclass(frozen=True)
class Cost:
    """Of a month, extrapolated by the minutes of music from the album that was built."""

    songs: int
    song_s: float
    wall_min: float
    processor_min: float
    alone_min: float
    """Of the processor time, what the main thread takes: imports, planning, papers, checksum lists."""
    load: float
    """Of the machine, before."""


def measured(songs: int, times: int, workers: int) -> Cost:
    """Build an album of *songs*, each with its verses and choruses *times* over; bound to as many cores as workers."""
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, sorted(os.sched_getaffinity(0))[:workers])
    with tempfile.TemporaryDirectory(prefix="month-") as name:
        folder = Path(name)
        titles = album.longer(album.ALBUM, songs, times)
        release = album.write_corrected(folder / "release", titles, SPECS)
        warm = album.write_corrected(folder / "warm", album.longer(album.ALBUM, 1, 1), SPECS)
        (folder / "out").mkdir()
        (folder / "warm out").mkdir()
        run_once(warm, folder / "warm out", workers)  # modules are loaded
        spent.clear()
        load = os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")
        wall_s, processor_s, alone_s = run_once(release, folder / "out", workers)
    music_s = sum(length_s(title.song) for title in titles)
    minutes = MONTH_SONGS * SONG_S / music_s / 60
    return Cost(len(titles), music_s / len(titles), wall_s * minutes, processor_s * minutes, alone_s * minutes, load)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--songs", type=int, default=12)
    parser.add_argument("--times", type=int, default=7, help="how often each song plays its verses and choruses")
    parser.add_argument("--workers", type=int, default=2)
    options = parser.parse_args()
    for stage, module, function in STAGES:
        setattr(module, function, timed(stage, getattr(module, function)))
    report(measured(options.songs, options.times, options.workers), options.workers)


def report(cost: Cost, workers: int) -> None:
    print(f"{cost.songs} masters at 24/96, {cost.song_s:.0f} s each, to {len(SPECS)} specs, {workers} workers")
    print(f"load of the machine before: {cost.load:.1f}")
    print(f"a month        {cost.wall_min:7.1f} min wall clock (reach {REACH_MIN} on 2 cores)")
    print(f"               {cost.processor_min / workers:7.1f} min if every core were free and none ever waited")
    bound_min = cost.alone_min + (cost.processor_min - cost.alone_min) / workers
    print(f"               {bound_min:7.1f} min if others waited only for the main thread, {cost.alone_min:.1f} min")
    minutes = {"processor_min": f"{cost.processor_min:.0f}", "wall_min": f"{cost.wall_min:.1f}"}
    record_values("conversion", "month", {"songs": str(cost.songs)} | minutes)
    month = MONTH_SONGS * SONG_S / (cost.songs * cost.song_s)
    in_stages = {stage: seconds * month for stage, seconds in spent.items()}
    print("processor seconds by stage, of a month:")
    stages = sorted(in_stages.items(), key=lambda each: -each[1])
    for stage, seconds in [*stages, ("everything else", 60 * cost.processor_min - sum(in_stages.values()))]:
        print(f"  {stage:44s}{seconds:8.1f} s  {100 * seconds / (60 * cost.processor_min):5.1f} %")


if __name__ == "__main__":
    main()
