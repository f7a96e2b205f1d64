"""Every goal for speed and size in one table: what was found, the goal, and the machine with its load.

    python -m tests.benchmarks.goals [--cores 1] [--busy] [--long] [--seconds 240] [--turns 5] [--record]

Races against other programs are in seconds of processor time, children included, the best of several alternating turns;
the album by the clock. Limits follow: help, papers, what installing puts on the disk. ``--long`` adds what takes
minutes: an album on one core and on two, a month of work, the check of 200 unchanged songs, and the first command of a
clean environment. ``--busy`` keeps every core occupied by another process meanwhile. ``--record`` writes what was found
into the guide's page on speed; do so on a quiet machine only.
"""

from __future__ import annotations

import argparse
import os
import platform
import py_compile
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from importlib.metadata import distribution
from importlib.util import cache_from_source, source_from_cache
from pathlib import Path

import soundfile
from packaging.requirements import Requirement

from delivery.meters import measure
from delivery.report.html import sheet as html
from delivery.report.pdf import sheet as pdf
from delivery.report.view.make import view_of
from demo.environment import ROOT
from tests import samples
from tests.benchmarks import album, convert, long_goals, meters
from tests.benchmarks.figures import record_rows
from tests.benchmarks.goal_rows import Limit, Race, Row, best, command

IMPORTS = "import numpy, soundfile, typer"
OCCUPIED = "while True: pass"


def start_up(folder: Path, turns: int) -> Race:
    short = _song(folder / "short.wav", 44_100, 3)
    of_ours = command(sys.executable, "-m", "delivery", "measure", "--no-cache", str(short))
    of_imports = command(sys.executable, "-c", IMPORTS)
    times = best(turns, of_ours, of_imports)
    return Race("3 seconds, measured from the command line", f'`python -c "{IMPORTS}"`', *times, 1.6)


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
    """Every file of the program and of what it requires, without extras, and the bytecode of each module.

    pip compiles modules when it installs them; other installers leave that to the first run, and do not list it.
    """
    package = {path for path in (ROOT / "delivery").rglob("*") if path.suffix != ".digest"}
    stated = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]
    required = {Path(str(file.locate())) for name in _needed(stated) for file in distribution(name).files or ()}
    compiled = {Path(cache_from_source(path)) for path in package | required if path.suffix == ".py"}
    for source in (source_from_cache(path) for path in compiled if not path.exists()):
        py_compile.compile(source, quiet=2)
    size_mb = sum(path.stat().st_size for path in package | required | compiled if path.is_file()) / 1e6
    return Limit("installed", size_mb, "MB", 350)


def _needed(requirements: Iterable[str], extras: tuple[str, ...] = ()) -> set[str]:
    """Names of the distributions that fulfil *requirements*, and of all that these require."""
    found: set[str] = set()
    for each in map(Requirement, requirements):
        if each.marker is None or any(each.marker.evaluate({"extra": extra}) for extra in ("", *extras)):
            found |= {each.name, *_needed(distribution(each.name).requires or (), tuple(each.extras))}
    return found


def every_meter(folder: Path, turns: int, seconds: int) -> Iterator[Race]:
    for rate_hz, goal in zip(meters.RATES_HZ, meters.GOALS, strict=True):
        path = _song(folder / f"{rate_hz}.wav", rate_hz, seconds)
        work = meters.ROWS[f"24/{rate_hz / 1000:g}"]
        times = best(turns, lambda path=path: measure(path), lambda path=path: meters.theirs(path))  # type: ignore[misc]
        yield Race(work, meters.AGAINST, *times, goal)


def conversion(folder: Path, turns: int, seconds: int) -> Race:
    source, target = _song(folder / "master.wav", convert.FROM_HZ, seconds), folder / "made.wav"
    times = best(turns, lambda: convert.ours(source, target), lambda: convert.theirs(source, folder / "sox.wav"))
    return Race(convert.ROW, convert.AGAINST, *times, convert.REACH)


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
    return f"{model}, {os.cpu_count()} cores, load {load()}, Python {platform.python_version()}"


def load() -> str:
    """Processes that ran or waited for a core in the last minute."""
    return f"{os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "unknown"


def _song(path: Path, rate_hz: int, seconds: int) -> Path:
    soundfile.write(path, meters.song(rate_hz, seconds), rate_hz, subtype="PCM_24")
    return path


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--cores", type=int, default=1)
    parser.add_argument("--busy", action="store_true")
    parser.add_argument("--long", action="store_true", help="also what takes minutes")
    parser.add_argument("--seconds", type=int, default=240)
    parser.add_argument("--turns", type=int, default=5)
    parser.add_argument("--record", action="store_true")
    given = parser.parse_args()
    print(machine())
    bound = album.use_cores(given.cores)
    print(f"{'bound to' if bound else 'not bound to'} {given.cores} of them, {'busy' if given.busy else 'quiet'}")
    print(f"{'work':54}{'ours':>10}{'theirs':>10}{'ratio':>7}{'goal':>8}")
    found: list[Row] = []
    with tempfile.TemporaryDirectory(prefix="goals-") as name, busy(given.busy):
        for row in _rows(Path(name), given):
            print(row, flush=True)
            found.append(row)
    print(f"load at the end: {load()}")
    if given.record:
        record_rows("speed", "against-other-tools", [row.cells for row in found if isinstance(row, Race)])
        record_rows("speed", "limits", [row.cells for row in found if isinstance(row, Limit)])


def _rows(folder: Path, given: argparse.Namespace) -> Iterator[Row]:
    measure(_song(folder / "warm.wav", 44_100, 3))
    yield start_up(folder, given.turns)
    yield from every_meter(folder, given.turns, given.seconds)
    yield conversion(folder, given.turns, given.seconds)
    yield help_text(given.turns)
    yield papers(given.turns)
    yield installed()
    if given.long:
        yield from long_goals.rows(given.turns)


if __name__ == "__main__":
    main()
