"""Every speed goal in one table: our time, the other program's, their ratio, the goal, and the machine.

    python -m tests.benchmarks.goals [--cores 1] [--busy] [--album] [--seconds 240] [--turns 5] [--record]

Both sides in seconds of processor time, children included, the best of several alternating turns; the album by the
clock. Then what has a limit of its own: help, papers, and what installing the program puts on the disk. ``--busy``
keeps every core occupied by another process meanwhile. ``--record`` writes the ratios into the guide.
"""

from __future__ import annotations

import argparse
import os
import platform
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from importlib.metadata import distribution
from pathlib import Path

import soundfile
from packaging.requirements import Requirement

from delivery.meters import measure
from delivery.report.html import sheet as html
from delivery.report.pdf import sheet as pdf
from delivery.report.view.make import view_of
from tests import samples
from tests.benchmarks import album, convert, meters
from tests.benchmarks.figures import record_cells

IMPORTS = "import numpy, soundfile, typer"
OCCUPIED = "while True: pass"


@dataclass(frozen=True)
class Row:
    """One goal; the seconds of each side."""

    work: str
    against: str
    ours_s: float
    theirs_s: float
    goal: float

    @property
    def ratio(self) -> float:
        return self.ours_s / self.theirs_s

    def __str__(self) -> str:
        state = "met" if self.ratio <= self.goal else "not met"
        return (
            f"{self.work:54}{self.ours_s:8.2f} s{self.theirs_s:8.2f} s{self.ratio:7.2f}{self.goal:7.2f}  "
            f"{state:8} {self.against}"
        )


@dataclass(frozen=True)
class Limit:
    """One goal that is no ratio."""

    work: str
    found: float
    unit: str
    most: float

    def __str__(self) -> str:
        state = "met" if self.found <= self.most else "not met"
        return f"{self.work:54}{self.found:8.2f} {self.unit:2}{self.most:23.2f}  {state}"


def best(turns: int, *sides: Callable[[], object]) -> list[float]:
    """Least processor time of each side; they alternate."""
    times = [[convert.spent(side) for side in sides] for _ in range(turns)]
    return [min(column) for column in zip(*times, strict=True)]


def command(*words: str) -> Callable[[], object]:
    return lambda: subprocess.run(words, env=album.AS_INSTALLED, check=True, capture_output=True)


def start_up(folder: Path, turns: int) -> Iterator[Row]:
    short = _song(folder / "short.wav", 44_100, 3)
    of_ours = command(sys.executable, "-m", "delivery", "measure", "--no-cache", str(short))
    of_imports = command(sys.executable, "-c", IMPORTS)
    yield Row(
        "3 seconds, measured from the command line", f'python -c "{IMPORTS}"', *best(turns, of_ours, of_imports), 1.6
    )


def help_text(turns: int) -> Limit:
    (seconds,) = best(turns, command(sys.executable, "-m", "delivery", "--help"))
    return Limit("delivery --help", seconds, "s", 0.25)


def papers(turns: int) -> Limit:
    """The PDF and the page of 14 songs for five recipients."""
    specs = tuple(samples.spec(f"spec-{number}", f"Spec {number}") for number in range(1, 6))
    view = view_of(samples.delivery(14, specs), samples.FIGURES)
    (seconds,) = best(turns, lambda: (pdf.render(view), html.render(view)))
    return Limit("PDF and HTML of 14 songs", seconds, "s", 1.0)


def installed() -> Limit:
    """Every file of the program and of what it requires, without extras; compiled modules where they are kept."""
    package = [path for path in (album.ROOT / "delivery").rglob("*") if path.suffix != ".digest"]
    stated = tomllib.loads((album.ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]
    required = [Path(str(file.locate())) for name in _needed(stated) for file in distribution(name).files or ()]
    size_mb = sum(path.stat().st_size for path in (*package, *required) if path.is_file()) / 1e6
    return Limit("installed", size_mb, "MB", 350)


def _needed(requirements: Iterable[str], extras: tuple[str, ...] = ()) -> set[str]:
    """Names of the distributions that fulfil *requirements*, and of all that these require."""
    found: set[str] = set()
    for each in map(Requirement, requirements):
        if each.marker is None or any(each.marker.evaluate({"extra": extra}) for extra in ("", *extras)):
            found |= {each.name, *_needed(distribution(each.name).requires or (), tuple(each.extras))}
    return found


def every_meter(folder: Path, turns: int, seconds: int) -> Iterator[Row]:
    for rate_hz, goal in zip(meters.RATES_HZ, meters.GOALS, strict=True):
        path = _song(folder / f"{rate_hz}.wav", rate_hz, seconds)
        work = meters.ROWS[f"24/{rate_hz / 1000:g}"]
        times = best(turns, lambda path=path: measure(path), lambda path=path: meters.theirs(path))  # type: ignore[misc]
        yield Row(work, "ffmpeg -filter_complex ebur128=peak=true", *times, goal)


def conversion(folder: Path, turns: int, seconds: int) -> Iterator[Row]:
    source, target = _song(folder / "master.wav", convert.FROM_HZ, seconds), folder / "made.wav"
    times = best(turns, lambda: convert.ours(source, target), lambda: convert.theirs(source, folder / "sox.wav"))
    yield Row(convert.ROW, "sox rate -v 44100 dither", *times, convert.REACH)


def whole_album(workers: int, turns: int) -> Iterator[Row]:
    """Five songs to five deliverables, by the clock."""
    with album.prepared(songs=5, times=2) as (release, tracks, folder):
        ours_s, theirs_s = album.compare(release, tracks, folder, workers, turns)
    yield Row(album.ROWS[workers], "a chain of ffmpeg, sox, lame, checksums", ours_s, theirs_s, album.REACH)


@contextmanager
def busy(wanted: bool) -> Iterator[None]:
    """Occupy every core by a process that never rests."""
    count = (os.cpu_count() or 1) if wanted else 0
    others = [subprocess.Popen([sys.executable, "-c", OCCUPIED]) for _ in range(count)]
    try:
        yield
    finally:
        for other in others:
            other.kill()
            other.wait()


def machine() -> str:
    """Model of the processor, where the system reports it, number of cores and load."""
    cpuinfo = Path("/proc/cpuinfo")
    lines = cpuinfo.read_text(encoding="utf-8").splitlines() if cpuinfo.exists() else []
    model = next((line.split(":")[1].strip() for line in lines if line.startswith("model name")), platform.processor())
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    return f"{model}, {os.cpu_count()} cores{load}, Python {platform.python_version()}"


def _song(path: Path, rate_hz: int, seconds: int) -> Path:
    soundfile.write(path, meters.song(rate_hz, seconds), rate_hz, subtype="PCM_24")
    return path


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cores", type=int, default=1)
    parser.add_argument("--busy", action="store_true")
    parser.add_argument("--album", action="store_true", help="also the album, which takes minutes")
    parser.add_argument("--seconds", type=int, default=240)
    parser.add_argument("--turns", type=int, default=5)
    parser.add_argument("--record", action="store_true")
    given = parser.parse_args()
    print(machine())
    bound = album.use_cores(given.cores)
    print(f"{'bound to' if bound else 'not bound to'} {given.cores} of them, {'busy' if given.busy else 'quiet'}")
    print(f"{'work':54}{'ours':>10}{'theirs':>10}{'ratio':>7}{'goal':>7}")
    rows = []
    with tempfile.TemporaryDirectory(prefix="goals-") as name, busy(given.busy):
        folder = Path(name)
        measure(_song(folder / "warm.wav", 44_100, 3))
        for row in _rows(folder, given):
            print(row, flush=True)
            rows.append(row)
        for limit in (help_text(given.turns), papers(given.turns), installed()):
            print(limit, flush=True)
    if given.record:
        known = {*meters.ROWS.values(), convert.ROW, *album.ROWS.values()}
        record_cells(
            "speed", "against-other-tools", "ratio", {row.work: f"{row.ratio:.2f}" for row in rows if row.work in known}
        )


def _rows(folder: Path, given: argparse.Namespace) -> Iterator[Row]:
    yield from start_up(folder, given.turns)
    yield from every_meter(folder, given.turns, given.seconds)
    yield from conversion(folder, given.turns, given.seconds)
    if given.album:
        yield from whole_album(given.cores, max(given.turns // 2, 1))


if __name__ == "__main__":
    main()
