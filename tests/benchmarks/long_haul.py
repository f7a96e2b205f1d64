"""Does memory or the number of open files grow over a long run?

    python -m tests.benchmarks.long_haul [FILES] [BUILDS]

Measures FILES short files of mixed containers (2,000 unless stated) in one `measure` run for the table, in another for
the JSON document (which holds every figure, so it grows with the files), then builds a tiny release BUILDS times (100)
in one process. Linux only: figures come from /proc.
"""

from __future__ import annotations

import io
import os
import shutil
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from pathlib import Path

from delivery.__main__ import run
from tests.albums import Song, write_album, write_song, write_spec
from tests.benchmarks.figures import record_values

KINDS = ((".wav", "PCM_24"), (".aiff", "PCM_16"), (".flac", "PCM_16"), (".wav", "FLOAT"), (".flac", "PCM_24"))
EVERY_S = 0.5
HOMES = ("XDG_CACHE_HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME")


@dataclass
class Samples:
    """Of this process, taken at even intervals."""

    resident_mb: list[float] = field(default_factory=list)
    handles: list[int] = field(default_factory=list)

    def take(self) -> None:
        pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
        self.resident_mb.append(pages * os.sysconf("SC_PAGE_SIZE") / 1e6)
        self.handles.append(len(list(Path("/proc/self/fd").iterdir())))

    def quarters(self) -> list[str]:
        """Mean memory, MB, in each quarter of the run: growth shows as a slope after the first."""
        held = self.resident_mb
        quarters = [held[len(held) * at // 4 :][: len(held) // 4] for at in range(4)]
        return [f"{sum(quarter) / max(1, len(quarter)):.0f}" for quarter in quarters]

    def rows(self) -> str:
        memory = ", ".join(self.quarters())
        return f"memory by quarters {memory} MB; open files {self.handles[0]} at first, {self.handles[-1]} at the end"


@contextmanager
def sampled() -> Iterator[Samples]:
    samples, ended = Samples(), threading.Event()

    def watch() -> None:
        while not ended.wait(EVERY_S):
            samples.take()

    samples.take()
    watcher = threading.Thread(target=watch)
    watcher.start()
    try:
        yield samples
    finally:
        ended.set()
        watcher.join()
        samples.take()


def quietly(parser: list[str]) -> int:
    nowhere = io.TextIOWrapper(io.BytesIO(), encoding="utf-8")
    with redirect_stdout(nowhere), redirect_stderr(nowhere):
        return run(parser)


def timed(text: str, work: Callable[[], object]) -> Samples:
    begun_s = time.perf_counter()
    with sampled() as samples:
        work()
    print(f"{text}: {time.perf_counter() - begun_s:.1f} s; {samples.rows()}", flush=True)
    return samples


def keep(what: str, number: int, samples: Samples) -> None:
    """Store how many there were, and the memory of the first and last quarter, for the guide."""
    first, *_, last = samples.quarters()
    found = {what: f"{number:,}", f"{what}_first_mb": first, f"{what}_last_mb": last}
    record_values("accuracy", "long-run", found)


def main(files: int = 2_000, builds: int = 100) -> None:
    with tempfile.TemporaryDirectory() as name:
        root = Path(name)
        os.environ |= dict.fromkeys(HOMES, str(root / "home"))
        many, masters = root / "many", root / "masters"
        for folder in (many, masters):
            folder.mkdir()
        for number in range(files):
            suffix, subtype = KINDS[number % len(KINDS)]
            write_song(many, number, Song(f"{number}", 44_100, 0.5, subtype=subtype, suffix=suffix, seed=number))
        write_spec(masters, "native", "{bits: {must: [24]}}", "{}")
        release = write_album(masters, [Song("One", 44_100, 0.5)], ["native"])

        def build_all() -> None:
            for _ in range(builds):
                assert quietly(["build", str(release), "--into", str(root / "out")]) == 0
                shutil.rmtree(root / "out")

        def measure_all(*form: str) -> None:
            assert quietly(["measure", str(many), *form, "--no-cache"]) == 0

        if files:
            keep("files", files, timed(f"{files} files measured, a table", measure_all))
            timed("the same, as JSON", lambda: measure_all("--json"))
        if builds:
            keep("builds", builds, timed(f"{builds} builds", build_all))


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
