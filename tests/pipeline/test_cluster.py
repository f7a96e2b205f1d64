"""A cluster of a scheduler and two workers, each a process of its own: the same results as here, and nothing lost.

Skips, loudly, without the extra ``cluster``. All tests share one scheduler and its workers, which start slowly.
"""

from __future__ import annotations

import gc
import json
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from delivery.__main__ import run
from delivery.errors import Unfinished, Unusable
from delivery.pipeline import elsewhere, trial_conversion
from delivery.pipeline.cluster import Cluster, refuse_unsafe
from tests import servers
from tests.albums import Song, write_album
from tests.machines import Machines

dask = pytest.importorskip("dask", reason="dask.distributed is not installed: pip install 'delivery[cluster]'")
pytestmark = pytest.mark.slow
RATE_HZ = 22_050


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[list[Machines]]:
    """Those that run now: a test that ends the scheduler leaves them ended."""
    found: list[Machines] = [Machines(tmp_path_factory.mktemp("machines"))]
    with dask.config.set(found[0].settings):
        yield found
    found[-1].end()


@pytest.fixture
def machines(running: list[Machines], tmp_path: Path) -> Machines:
    if running[-1].scheduler.poll() is not None:
        running[-1].end()
        running.append(Machines(tmp_path))
        dask.config.set(running[-1].settings)
    return running[-1]


@pytest.fixture
def files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """WAV, which is read here, and FLAC and MP3, which are decoded in processes of their own; one is broken."""
    monkeypatch.setenv("DELIVERY_LEDGER", str(tmp_path / "ledger.sqlite3"))
    chance = np.random.default_rng(7)
    folder = tmp_path / "in"
    folder.mkdir()
    for number in range(6):
        kind = ("wav", "flac", "mp3")[number % 3]
        soundfile.write(folder / f"{number:02}.{kind}", chance.normal(0, 0.05, (RATE_HZ, 2)), RATE_HZ)
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
    measured = ["measure", *map(str, sorted(files.glob("0[0-2].*"))), "--json", "--no-cache"]
    assert printed(capsys, *measured, "--cluster", machines.address) == printed(capsys, *measured)


def _album(folder: Path) -> Path:
    """A song at a rate that has to be converted, for a lossless and a lossy form."""
    return write_album(folder, [Song("One", seconds=0.6)], ["cd-rate-16-to-ceiling", "listening-mp3-320"])


def _package(into: Path) -> dict[str, bytes]:
    return {path.relative_to(into).as_posix(): path.read_bytes() for path in into.rglob("*") if path.is_file()}


def test_a_release_is_checked_and_built_alike(
    machines: Machines, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Songs are made and conversions tried on workers; the package is the same byte for byte."""
    release = _album(tmp_path / "album")
    words = ["check", str(release), "--json", "--no-cache"]
    there = printed(capsys, *words, "--cluster", machines.address)
    assert there == printed(capsys, *words)
    run(["build", str(release), "--into", str(tmp_path / "here"), "--no-cache"])
    for module, name in ((elsewhere, "make"), (trial_conversion, "converted_peaks"), (elsewhere, "converted_peaks")):
        monkeypatch.setattr(module, name, lambda *_: pytest.fail("this was to be done on a worker"))
    _after(2, machines.kill_a_worker, monkeypatch)
    run(["build", str(release), "--into", str(tmp_path / "there"), "--no-cache", "--cluster", machines.address])
    assert _package(tmp_path / "there") == _package(tmp_path / "here") != {}


def test_what_workers_do_not_see_is_made_here(machines: Machines, tmp_path: Path) -> None:
    """Of masters with other times, or a folder that is not there, a worker makes nothing."""
    file = tmp_path / "a.wav"
    file.write_bytes(b"a")
    known = elsewhere.seen([file])
    with machines.client() as client:
        assert client.submit(elsewhere.sees, known).result() is True
        assert client.submit(elsewhere.sees, ((str(file), 1, 0),)).result() is False
        assert client.submit(elsewhere.sees, ((str(tmp_path / "b.wav"), 0, 0),)).result() is False
        there = client.submit(elsewhere.made_apart, "a", known, None, None, str(tmp_path / "none"), None)
        assert there.result() is None


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


def test_workers_fetch_from_an_address_themselves(
    machines: Machines, files: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    pytest.importorskip("aiohttp")
    here = printed(capsys, *audit(files, "here"), "--no-cache")
    (tmp_path / "server").mkdir()
    with servers.http(files, tmp_path / "server") as (address, methods):
        words = ["audit", address, "-s", "store-master-24", "--into", str(tmp_path / "there"), "--json", "--remote"]
        there = printed(capsys, *words, "--no-cache", "--cluster", machines.address)
        assert there == (here[0], {**here[1], "folders": [address]})
        assert methods().count("GET") >= 7, "the list of files, and each of them"
        measured = printed(capsys, "measure", f"{address}/00.wav", "--json", "--remote", "--cluster", machines.address)
    local = printed(capsys, "measure", str(files / "00.wav"), "--json", "--no-cache")
    assert measured[1]["files"][0]["measurement"] == local[1]["files"][0]["measurement"]
    assert (tmp_path / "there/files.csv").read_bytes() == (files.parent / "here/files.csv").read_bytes()


def most_mb() -> float:
    """The most memory that this process has held; sent to workers."""
    lines = Path("/proc/self/status").read_text(encoding="ascii").splitlines()
    return next(int(line.split()[1]) / 1024 for line in lines if line.startswith("VmHWM"))


@pytest.mark.skipif(sys.platform != "linux", reason="reads /proc")
def test_a_long_file_takes_a_worker_no_more_memory(machines: Machines, tmp_path: Path) -> None:
    """Ninety seconds of 24/96 are 52 MB in the file and 138 MB as numbers; a worker holds some blocks of it."""
    noise = np.random.default_rng(5).normal(0, 0.05, (96_000 * 5, 2))
    soundfile.write(tmp_path / "short.wav", noise, 96_000, subtype="PCM_24")
    soundfile.write(tmp_path / "long.wav", np.tile(noise, (18, 1)), 96_000, subtype="PCM_24")

    def most_after(name: str) -> float:
        words = ["measure", str(tmp_path / name), "--no-cache", "--cluster", machines.address]
        assert run(words) == 0
        with machines.client() as client:
            return max(client.run(most_mb).values())

    short = most_after("short.wav")
    long = most_after("long.wav")
    assert long < 300
    assert long - short < 50


def _after(calls: int, happens: Callable[[], None], monkeypatch: pytest.MonkeyPatch) -> None:
    """*happens* when the workers have answered that many calls; others are with them then."""
    run_there, answered = Cluster.run, []

    def counted(self: Cluster, work: Callable[..., Any], *arguments: Any) -> Any:
        made = run_there(self, work, *arguments)
        answered.append(made)
        if len(answered) == calls:
            happens()
        return made

    monkeypatch.setattr(Cluster, "run", counted)


def test_a_worker_killed_in_mid_run_loses_and_doubles_nothing(
    machines: Machines, files: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    here = printed(capsys, *audit(files, "here"), "--no-cache")
    _after(2, machines.kill_a_worker, monkeypatch)
    there = printed(capsys, *audit(files, "there"), "--no-cache", "--cluster", machines.address)
    assert there == here
    assert (files.parent / "there/files.csv").read_bytes() == (files.parent / "here/files.csv").read_bytes()


def test_an_interruption_waits_for_no_worker(
    machines: Machines, files: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Workers that sleep would hold it up; what was measured before is in the ledger."""
    run_there, calls, asleep, awake = Cluster.run, [], [], []

    def some_sleep(self: Cluster, work: Callable[..., Any], *arguments: Any) -> Any:
        calls.append(arguments[0])
        if len(calls) <= 2:
            return run_there(self, work, *arguments)
        asleep.append(arguments[0])
        awake.append(run_there(self, time.sleep, 20))
        return awake[-1]

    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(Cluster, "run", some_sleep)
    monkeypatch.setattr("delivery.tasks.audit.run._note", interrupted)
    assert run([*audit(files, "there"), "--cluster", machines.address]) == 130
    assert asleep
    assert not awake
    assert "Stopped; nothing was written." in capsys.readouterr().err
    assert not (files.parent / "there").exists()


@pytest.mark.filterwarnings("ignore:Exception ignored in. <ssl:pytest.PytestUnraisableExceptionWarning")
def test_a_killed_scheduler_is_one_clear_message(
    machines: Machines, files: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("delivery.pipeline.cluster.LOOK_S", 0.5)
    _after(2, machines.scheduler.kill, monkeypatch)
    assert run([*audit(files, "there"), "--cluster", machines.address]) == Unfinished.exit_code
    err = capsys.readouterr().err
    assert "a scheduler that no longer answers" in err
    assert "Traceback" not in err
    assert not (files.parent / "there").exists()
    assert not list(files.parent.glob(".there*"))
    gc.collect()  # it reports the socket that dask leaves open: here, not in a later test


class Answered:
    """A future whose answer comes in the moment after its wait has ended."""

    def __init__(self, answer: object) -> None:
        self.answer = answer

    def exception(self, timeout: float | None = None) -> None:
        raise TimeoutError(f"no answer within {timeout} s")

    def done(self) -> bool:
        return True

    def result(self, timeout: float | None = None) -> object:
        if timeout is not None or isinstance(self.answer, Exception):
            raise TimeoutError(f"no answer within {timeout} s")
        return self.answer


class Clients:
    """As much of a client as a call needs."""

    status = "running"

    def __init__(self, future: Answered) -> None:
        self.future = future

    def nthreads(self) -> dict[str, int]:
        return {"tcp://127.0.0.1:1": 1}

    def submit(self, *_arguments: object, **_options: object) -> Answered:
        return self.future


def test_an_answer_that_comes_as_the_wait_ends_is_not_lost() -> None:
    """Met on a busy machine: a good file was reported as one that cannot be used."""
    assert Cluster(Clients(Answered("figures")), "tcp://127.0.0.1:1").run(len, "a") == "figures"


def test_a_timeout_of_the_work_itself_ends_the_call() -> None:
    with pytest.raises(TimeoutError):
        Cluster(Clients(Answered(TimeoutError())), "tcp://127.0.0.1:1").run(len, "a")


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
