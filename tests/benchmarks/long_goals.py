"""Goals that take minutes each: an album, a month, an unchanged release of 200 songs, the first command."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from demo.environment import ROOT
from tests.benchmarks import album, growth, month
from tests.benchmarks.goal_rows import Limit, Race, Row, command
from tests.installed import first_command

SONGS = 200


def rows(turns: int) -> Iterator[Row]:
    """The albums bind to one and to two cores, the month to two; the others stay as they are bound."""
    yield unchanged()
    yield first_use()
    yield from whole_album(max(turns // 2, 1))
    yield a_month()


def whole_album(turns: int) -> Iterator[Row]:
    """Five songs to five deliverables, by the clock."""
    with album.prepared(songs=5, times=2) as (release, tracks, folder):
        ours_s = {}
        for workers, against in album.AGAINST.items():
            ours_s[workers], theirs_s = album.compare(release, tracks, folder, workers, turns)
            yield Race(album.ROWS[workers], against, ours_s[workers], theirs_s, album.REACH)
    yield Limit("an album, two cores against one", ours_s[1] / ours_s[2], "x", 1.8, at_least=True)


def unchanged() -> Limit:
    """What 200 songs add to the check of one; all of them were measured before."""
    one, many = (growth.cost(growth.Job(songs=songs, unchanged=True)) for songs in (1, SONGS))
    added_s = many.processor_s - one.processor_s
    return Limit("check of 200 unchanged songs, beyond start-up", added_s, "s", 2.0)


def a_month() -> Limit:
    """By the clock, on two cores."""
    album.use_cores(2)
    cost = month.measured(songs=12, times=7, workers=2)
    return Limit("a month: 200 songs at 24/96 to five specs, two cores", cost.wall_min, "min", month.REACH_MIN)


def first_use() -> Limit:
    """Processor time in a clean environment: an empty home, no compiler, bytecode compiled at installation."""
    place = ("Scripts", "python.exe") if os.name == "nt" else ("bin", "python")
    with tempfile.TemporaryDirectory(prefix="clean-") as name:
        python = str(Path(name, "env", *place))
        uv = (sys.executable, "-m", "uv")
        command(*uv, "build", "--quiet", "--wheel", "--out-dir", name, str(ROOT))()
        command(*uv, "venv", "--quiet", "--python", sys.executable, str(Path(name) / "env"))()
        (wheel,) = Path(name).glob("*.whl")
        command(*uv, "pip", "install", "--quiet", "--compile-bytecode", "--python", python, str(wheel))()
        done, used_s, _ = first_command.timed(python)
    done.check_returncode()
    return Limit("first command of a clean environment", used_s, "s", first_command.MOST_S)
