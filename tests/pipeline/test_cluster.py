"""A cluster of a scheduler and two workers, each a process of its own: the same results as here, and nothing lost.

Skips, loudly, without the extra ``cluster``.
"""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from delivery.__main__ import run
from delivery.errors import Unfinished, Unusable
from delivery.pipeline.cluster import refuse_unsafe
from tests.albums import Song, write_album

pytest.importorskip("distributed", reason="dask.distributed is not installed: pip install 'delivery[cluster]'")
pytestmark = pytest.mark.slow
ENV = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "DASK_DISTRIBUTED__SCHEDULER__WORK_STEALING": "False"}


def started(*words: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "distributed.cli." + words[0], *words[1:]], stderr=subprocess.PIPE, text=True, env=ENV
    )


def line_with(process: subprocess.Popen[str], pattern: str) -> str:
    assert process.stderr
    for line in process.stderr:
        if found := re.search(pattern, line):
            return found[1] if found.groups() else found[0]
    raise AssertionError(f"it ended without {pattern}")


class Machines:
    """A scheduler and two workers on this machine."""

    def __init__(self, *more: str) -> None:
        local = ("--host", "127.0.0.1", "--no-dashboard")
        self.scheduler = started("dask_scheduler", *local, "--port", "0")
        self.address = line_with(self.scheduler, r"Scheduler at:\s+(tcp://\S+)")
        names = ("one", "two")
        worker = ("dask_worker", self.address, "--host", "127.0.0.1", "--no-dashboard", "--nthreads", "1")
        self.workers = [started(*worker, "--name", name, *more) for name in names]
        for each in self.workers:
            line_with(each, r"Registered to:")

    def end(self) -> None:
        for process in (*self.workers, self.scheduler):
            if process.poll() is None:
                process.send_signal(signal.SIGTERM)
        for process in (*self.workers, self.scheduler):
            try:
                process.wait(timeout=5)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()
            assert process.stderr
            process.stderr.close()


@pytest.fixture(scope="module")
def machines() -> Iterator[Machines]:
    """With nannies, whose workers are daemonic processes: the decoders' processes must start under these, too."""
    made = Machines()
    yield made
    made.end()


@pytest.fixture
def alone() -> Iterator[Machines]:
    """For one test that kills some of them; workers without nannies, so that a killed one stays away."""
    made = Machines("--no-nanny")
    yield made
    made.end()


@pytest.fixture
def files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """WAV, which is read here, and FLAC and MP3, which are decoded in processes of their own; one is broken."""
    monkeypatch.setenv("DELIVERY_LEDGER", str(tmp_path / "ledger.sqlite3"))
    chance = np.random.default_rng(7)
    folder = tmp_path / "in"
    folder.mkdir()
    for number in range(12):
        kind = ("wav", "flac", "mp3")[number % 3]
        soundfile.write(folder / f"{number:02}.{kind}", chance.normal(0, 0.05, (96_000, 2)), 48_000)
    (folder / "broken.flac").write_bytes(b"fLaC" + b"x" * 99)
    return folder


def printed(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, Any]:
    code = run(list(words))
    return code, json.loads(capsys.readouterr().out)


def audit(folder: Path, into: str) -> list[str]:
    return ["audit", str(folder), "-s", "store-master-24", "--into", str(folder.parent / into), "--json"]


def test_the_same_as_here(machines: Machines, files: Path, capsys: pytest.CaptureFixture[str]) -> None:
    here = printed(capsys, *audit(files, "here"), "--no-cache")
    there = printed(capsys, *audit(files, "there"), "--no-cache", "--cluster", machines.address)
    assert there == here
    assert here[0] == 2, "one file is broken"
    for name in ("files.csv", "findings.csv", "overview.html", "files.parquet"):
        assert (files.parent / "there" / name).read_bytes() == (files.parent / "here" / name).read_bytes()
    measured = ["measure", str(files), "--json", "--no-cache"]
    assert printed(capsys, *measured, "--cluster", machines.address) == printed(capsys, *measured)


def test_a_release_is_checked_and_built_alike(
    machines: Machines, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    songs = [Song(title, seconds=0.6, seed=at, extra={"isrc": f"ZZOSL261000{at}"}) for at, title in enumerate("AB")]
    release = write_album(tmp_path / "album", songs, ["cd-rate-16"])
    release = release if isinstance(release, Path) else tmp_path / "album"
    words = ["check", str(release), "--json", "--no-cache"]
    assert printed(capsys, *words, "--cluster", machines.address) == printed(capsys, *words)
    for into, more in (("here", []), ("there", ["--cluster", machines.address])):
        run(["build", str(release), "--into", str(tmp_path / into), "--no-cache", *more])
    sums = [
        sorted(path.read_bytes() for path in (tmp_path / into).rglob("*") if path.is_file())
        for into in ("here", "there")
    ]
    assert sums[0] == sums[1]
    assert sums[0], "something was built"


def test_the_ledger_is_written_here_alone(
    machines: Machines, files: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    time.sleep(2.1)  # a hash is kept for files that are two seconds old
    first = printed(capsys, *audit(files, "one"), "--cluster", machines.address)
    calls: list[str] = []
    from delivery.pipeline.cluster import Cluster

    run_there = Cluster.run
    monkeypatch.setattr(Cluster, "run", lambda self, work, *a: (calls.append(str(a[0])), run_there(self, work, *a))[1])
    assert printed(capsys, *audit(files, "two"), "--cluster", machines.address) == first
    assert [Path(each).name for each in calls] == ["broken.flac"], "all others are in the ledger"


def _killed_in_mid_run(files: Path, into: str, address: str, victim: subprocess.Popen[str]) -> tuple[int, str, str]:
    process = subprocess.Popen(
        [sys.executable, "-m", "delivery", *audit(files, into), "--no-cache", "--cluster", address],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=ENV,
    )
    deadline = time.monotonic() + 60
    while not list(files.parent.glob(f".{into}.*")) and time.monotonic() < deadline:
        time.sleep(0.02)
    time.sleep(0.5)
    victim.kill()
    out, err = process.communicate(timeout=200)
    return process.returncode, out, err


def test_a_worker_killed_in_mid_run_loses_and_doubles_nothing(
    alone: Machines, files: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    here = printed(capsys, *audit(files, "here"), "--no-cache")
    code, out, _ = _killed_in_mid_run(files, "there", alone.address, alone.workers[0])
    assert (code, json.loads(out)) == here
    assert (files.parent / "there/files.csv").read_bytes() == (files.parent / "here/files.csv").read_bytes()


def test_a_killed_scheduler_is_one_clear_message(alone: Machines, files: Path) -> None:
    code, _, err = _killed_in_mid_run(files, "there", alone.address, alone.scheduler)
    assert code == 2
    assert "a scheduler that no longer answers" in err
    assert "Traceback" not in err
    assert not (files.parent / "there").exists()
    assert not list(files.parent.glob(".there*"))


@pytest.mark.parametrize(
    "address", ["tcp://127.0.0.1:8786", "tcp://[::1]:8786", "tcp://localhost:8786", "tls://a.example:8786"]
)
def test_what_may_be_connected_to(address: str) -> None:
    refuse_unsafe(address)


@pytest.mark.parametrize(
    "address",
    [
        "tcp://a.example:8786",
        "tcp://192.0.2.1:8786",
        "tcp://127.0.0.1.example:8786",
        "127.0.0.1:8786",
        "ws://127.0.0.1:1",
        "inproc://127.0.0.1:1",
        "tcp://localhost@a.example:8786",
        "tcp://127.0.0.1",
        "tcp://127.0.0.1:x",
        "",
    ],
)
def test_what_may_not(address: str) -> None:
    """A scheduler runs what it is sent: beyond this machine only with certificates."""
    with pytest.raises(Unusable, match="--cluster"):
        refuse_unsafe(address)


def test_nothing_there_is_one_clear_message(
    files: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("delivery.pipeline.cluster.CONNECT_S", 1)
    assert run([*audit(files, "out"), "--cluster", "tcp://127.0.0.1:9"]) == Unfinished.exit_code
    assert "no scheduler" in capsys.readouterr().err
