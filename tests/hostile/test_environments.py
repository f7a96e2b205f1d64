"""Odd surroundings: HOME missing, a narrow terminal, another locale, a closed pipe, an interrupt, a clock set back."""

from __future__ import annotations

import datetime
import os
import pwd
import signal
import stat
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from delivery.__main__ import run
from delivery.pack.bag import check_bag
from tests.albums import Song, hashes, write_album, write_spec
from tests.homes import HOMES, live_in

PACKAGE = "OSL-014 Harbour Arithmetic rev 1"
HANGS_AFTER_S = 1800
"""Longer than any command here takes, also behind all other work of a busy machine."""
pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals, umask and homes are those of POSIX")


@pytest.fixture
def release(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    live_in(tmp_path / "home", monkeypatch)
    masters = tmp_path / "masters"
    masters.mkdir()
    write_spec(masters, "native", "{bits: {must: [24]}, true_peak_max_dbtp: {should: -20.0}}", "{}")
    return write_album(masters, [Song("Öresund 海", rate_hz=44_100, seconds=0.5)], ["native"])


def started(
    *arguments: str,
    before: Callable[[], None] | None = None,
    by: tuple[str, ...] = ("-m", "delivery"),
    **environment: str,
) -> subprocess.Popen[str]:
    """The command as a process of its own.

    Parameters
    ----------
    before : called in the child before the program starts
    by : what Python is given to run it
    """
    heeding = lambda: (signal.signal(signal.SIGINT, signal.default_int_handler), before and before())  # noqa: E731
    return subprocess.Popen(
        [sys.executable, *by, *arguments],
        env={**os.environ, **environment},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        stdin=subprocess.DEVNULL,
        text=True,
        encoding="utf-8",
        preexec_fn=heeding,
    )


def test_a_strict_umask_changes_rights_and_nothing_else(release: Path, tmp_path: Path) -> None:
    trees = []
    for mask in (0o077, 0o022):
        out = tmp_path / f"{mask:o}"
        build = started("build", str(release), "--into", str(out), before=lambda mask=mask: os.umask(mask))  # type: ignore[misc]
        output = build.communicate(timeout=HANGS_AFTER_S)[1]
        assert build.returncode == 0, output
        trees.append(hashes(out))
        rights = {stat.S_IMODE(path.stat().st_mode) & mask for path in out.rglob("*")}
        assert rights == {0}, "no more rights than the mask permits"
    assert trees[0] == trees[1]


@pytest.mark.parametrize("home", ["/dev/null/home", "/proc/nowhere"], ids=["cannot be", "read-only"])
def test_a_home_folder_that_cannot_be_written(
    release: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, home: str
) -> None:
    for name in HOMES[:3]:
        monkeypatch.delenv(name)
    monkeypatch.setenv("HOME", home)
    assert run(["build", str(release), "--into", str(tmp_path / "out")]) == 0
    assert check_bag(tmp_path / "out" / PACKAGE) == ()


def test_a_user_without_a_home_folder(
    release: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """As in a container that runs under a number no user has: '~' stays '~', and must not become a folder here."""

    def nobody(_number: int) -> pwd.struct_passwd:
        raise KeyError("uid not found")

    for name in HOMES:
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(pwd, "getpwuid", nobody)
    here = tmp_path / "here"
    here.mkdir()
    monkeypatch.chdir(here)
    assert run(["build", str(release), "--into", str(tmp_path / "out")]) == 0
    assert run(["accept", str(release), "true_peak_max_dbtp:1", "--by", "A", "--why", "B"]) == 0
    assert list(here.iterdir()) == []
    assert "cannot be used" in capsys.readouterr().err


@pytest.mark.parametrize("command", [["check", "--all"], ["spec", "explain"]], ids=" ".join)
def test_a_narrow_dumb_terminal_in_the_c_locale(release: Path, command: list[str]) -> None:
    place = release.parent / "native.yaml" if command[0] == "spec" else release
    narrow = {"LC_ALL": "C", "LANG": "C", "TERM": "dumb", "COLUMNS": "40"}
    shown = started(*command, str(place), **narrow)
    out, err = shown.communicate(timeout=HANGS_AFTER_S)
    assert shown.returncode == 0, err
    assert "\x1b" not in out
    assert "true_peak_max_dbtp" in out or "true peak" in out.lower()


def test_a_locale_that_cannot_name_the_file_is_one_message(release: Path) -> None:
    ascii_only = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
    shown = started("check", str(release), **ascii_only)
    err = shown.communicate(timeout=HANGS_AFTER_S)[1]
    assert shown.returncode == 2
    assert "PYTHONUTF8=1" in err
    assert "Traceback" not in err


@pytest.mark.thorough(2)
@pytest.mark.parametrize("arguments", [["spec", "list"], ["check", "--all"], ["check", "--json"], ["measure", "--csv"]])
def test_a_reader_that_has_gone(release: Path, arguments: list[str]) -> None:
    """As ``| head -1``: no complaint, and no 'all met' when the output could not be read."""
    places = {"spec": [], "check": [str(release)], "measure": [str(release.parent)]}
    running = started(*arguments, *places[arguments[0]])
    assert running.stdout
    assert running.stderr
    with running.stderr as reported:
        running.stdout.close()
        assert reported.read() == ""
    assert running.wait(timeout=HANGS_AFTER_S) == 1


INTERRUPTED = """
import os, re, signal, sys
from delivery.__main__ import run

interrupt_at, opened, own = int(sys.argv.pop(1)), 0, os.getpid()

def watch(event, of):
    global opened
    if event == "open" and os.getpid() == own and not re.search(r"\\.py$|\\.pyc\\.", str(of[0])):
        opened += 1
        if opened == interrupt_at:
            os.kill(own, signal.SIGINT)

sys.addaudithook(watch)
try:
    sys.exit(run(sys.argv[1:]))
finally:
    print(opened)
"""
"""The program, which interrupts itself as it opens its Nth file (0: never); it prints last how many it has opened.
Modules that Python compiles meanwhile are not counted, only those that it loads."""


def interrupted(at: int, *arguments: str) -> subprocess.Popen[str]:
    return started(*arguments, by=("-c", INTERRUPTED, str(at)))


@pytest.mark.thorough(1)
@pytest.mark.parametrize("share", [0.05, 0.3, 0.6, 0.9])
def test_an_interrupt_at_any_stage(release: Path, tmp_path: Path, share: float) -> None:
    """Counted in files opened, its own modules among them: the same stage on a quiet machine and on a busy one."""
    out = tmp_path / "out"
    out.mkdir()
    whole = interrupted(0, "build", str(release), "--into", str(out), "--no-cache")
    opened = int(whole.communicate(timeout=HANGS_AFTER_S)[0].splitlines()[-1])
    assert whole.returncode == 0
    before = hashes(release.parent)
    amid = interrupted(int(share * opened), "build", str(release), "--into", str(out), "--no-cache", "--replace")
    _, err = amid.communicate(timeout=HANGS_AFTER_S)
    by_shell = amid.returncode if amid.returncode >= 0 else 128 - amid.returncode  # Python may end by the signal
    assert by_shell == 130, err
    assert "Traceback" not in err
    assert hashes(release.parent) == before
    assert {path.name for path in out.iterdir()} <= {PACKAGE, f"{PACKAGE} mail.txt"}
    assert check_bag(out / PACKAGE) == ()


def test_a_clock_set_back_changes_no_answer(release: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ten years back: masters lie in the future, specs were checked in the future; the package is the same."""
    assert run(["build", str(release), "--into", str(tmp_path / "now")]) == 0
    earlier_ns = time.time_ns() - 10 * 365 * 86_400 * 10**9

    class Earlier(datetime.date):
        @classmethod
        def today(cls) -> Earlier:
            return cls(2016, 1, 1)

    monkeypatch.setattr(time, "time_ns", lambda: earlier_ns)
    monkeypatch.setattr(time, "time", lambda: earlier_ns / 1e9)
    monkeypatch.setattr(datetime, "date", Earlier)
    assert run(["build", str(release), "--into", str(tmp_path / "then")]) == 0
    assert hashes(tmp_path / "now") == hashes(tmp_path / "then")
    data = bytearray(next(release.parent.glob("*.wav")).read_bytes())
    data[-1000] ^= 1
    next(release.parent.glob("*.wav")).write_bytes(data)
    assert run(["build", str(release), "--into", str(tmp_path / "changed")]) == 0
    assert hashes(tmp_path / "now") != hashes(tmp_path / "changed"), "no old measurement for new bytes"
