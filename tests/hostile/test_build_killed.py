"""A build killed at any moment leaves no package or a whole one; a full disk leaves none; masters stay as they were."""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import time
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from delivery.pack.bag_check import check_bag
from tests.albums import Song, hashes, write_album
from tests.homes import live_in

PACKAGE = "OSL-014 Harbour Arithmetic rev 1"
NEXT = "OSL-014 Harbour Arithmetic rev 2"
ARCHIVE = f"{PACKAGE}.zip"
SPECS = ["cd-rate-16", "archive-bwf", "listening-mp3-320"]
MOMENTS, MOMENTS_OF_ALL = 10, 40
"""Of an ordinary run, and of ``--all``. 500 by hand: ``KILL_MOMENTS=500 pytest tests/hostile/test_build_killed.py``."""
TIMED_EVERY = 50
"""Moments between two whole builds: the machine may be busier or quieter than an hour ago."""
HANGS_AFTER_S = 1800
"""Longer than any build takes, also behind all other work of a busy machine: this finds a hang, not a slow build."""
FIVE = ["cd-master", "cd-rate-16", "store-flac-24", "listening-mp3-320", "archive-bwf"]
"""A disc image among them."""


def started(release: Path, into: Path, *more: str, cache: bool = False) -> subprocess.Popen[bytes]:
    options = more if cache else ("--no-cache", *more)
    command = [sys.executable, "-m", "delivery", "build", str(release), "--into", str(into), *options]
    heeds = None if os.name == "nt" else _heed_interrupts
    return subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, preexec_fn=heeds)


def _heed_interrupts() -> None:
    """As from a terminal: tests that run in the background hand on to their children that interrupts are ignored."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def ended(running: subprocess.Popen[bytes]) -> tuple[int, str]:
    """Exit code, and what it printed to standard error."""
    _, text = running.communicate(timeout=HANGS_AFTER_S)
    return running.returncode, text.decode()


def seconds_of_a_whole_build(album: Path, into: Path) -> float:
    """Build without a kill, over what killed builds left in *into*; the package and the archive are whole."""
    begun = time.monotonic()
    code, text = ended(started(album, into, "--replace", "--zip"))
    took_s = time.monotonic() - begun
    assert code in (0, 1), text
    assert check_bag(into / PACKAGE) == ()
    assert zipfile.ZipFile(into / ARCHIVE).testzip() is None
    assert sorted(path.name for path in into.iterdir()) == [PACKAGE, f"{PACKAGE} mail.txt", ARCHIVE]
    return took_s


def ended_within(running: subprocess.Popen[bytes], seconds: float) -> bool:
    """Wait that long at most."""
    try:
        running.wait(timeout=seconds)
    except subprocess.TimeoutExpired:
        return False
    return True


@pytest.fixture
def album(tmp_path: Path) -> Path:
    songs = [Song("One", seconds=8), Song("Two", seconds=8, seed=2)]
    return write_album(tmp_path / "masters", songs, SPECS)


@pytest.fixture
def five_by_five(tmp_path: Path) -> Path:
    """Five songs for five specs, one of them converted; short ones, because writing and packing are what is killed."""
    songs = [Song(f"Song {at}", 96_000 if at == 2 else 44_100, seconds=1, seed=at) for at in range(1, 6)]
    return write_album(tmp_path / "masters", songs, FIVE)


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="SIGKILL is not a Windows word")
def test_killed_at_random_moments(five_by_five: Path, tmp_path: Path, pytestconfig: pytest.Config) -> None:
    """Kills spread evenly over a whole build, every other one while an existing package is being replaced."""
    album, before = five_by_five, hashes(five_by_five.parent)
    out = tmp_path / "out"
    out.mkdir()
    count = int(os.environ.get("KILL_MOMENTS", MOMENTS if pytestconfig.getoption("sample") else MOMENTS_OF_ALL))
    chance = random.Random(14)
    moments = [(step + chance.random()) / count for step in range(count)]  # one in each equal share of the time
    chance.shuffle(moments)
    amid, took_s = 0, 0.0
    for turn in range(count):
        if turn % TIMED_EVERY == 0:
            took_s = seconds_of_a_whole_build(album, out)
        replacing = turn % 2 == 1
        folder = out if replacing else tmp_path / f"out {turn}"
        folder.mkdir(exist_ok=True)
        running = started(album, folder, "--replace", "--zip")
        begun = time.monotonic()
        if ended_within(running, moments[turn] * took_s):
            took_s = time.monotonic() - begun  # the machine is quieter now
        else:
            amid += 1
        running.kill()
        ended(running)
        if (folder / PACKAGE).exists():
            assert check_bag(folder / PACKAGE) == (), f"turn {turn}"
        else:
            assert not replacing, "the old package must never be lost"
        if (folder / ARCHIVE).exists():
            assert zipfile.ZipFile(folder / ARCHIVE).testzip() is None, f"turn {turn}"
        if not replacing:
            shutil.rmtree(folder)
    assert hashes(album.parent) == before
    print(f"{amid} of {count} kills came before the end of a build")
    assert amid >= count // 4, f"{amid} of {count} kills came before the end: the machine's speed varies too much"
    seconds_of_a_whole_build(album, out)  # what killed builds left is cleared by the next


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="SIGKILL is not a Windows word")
def test_killed_while_files_are_taken_over(
    five_by_five: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, pytestconfig: pytest.Config
) -> None:
    """A title fix: the package before stays as it is, and the next one is there as a whole or not at all."""
    live_in(tmp_path / "home", monkeypatch)
    out = tmp_path / "out"
    out.mkdir()
    code, text = ended(started(five_by_five, out, cache=True))
    assert code in (0, 1), text
    before = hashes(out / PACKAGE)
    revised = five_by_five.read_text(encoding="utf-8").replace("title: Song 1\n", "title: Song One\n")
    five_by_five.write_text(f"{revised}revision: 2\n", encoding="utf-8", newline="\n")
    count = 5 if pytestconfig.getoption("sample") else MOMENTS_OF_ALL
    chance, took_s, new = random.Random(15), 0.0, out / NEXT
    for turn in range(count + 1):
        begun = time.monotonic()
        running = started(five_by_five, out, cache=True)
        if turn:  # the first tells how long a whole one takes
            ended_within(running, (turn - chance.random()) / count * took_s)
            running.kill()
        code, text = ended(running)
        took_s = took_s or time.monotonic() - begun
        assert turn or code in (0, 1), text
        assert hashes(out / PACKAGE) == before
        if new.exists():
            assert check_bag(new) == (), f"turn {turn}"
            shutil.rmtree(new)
    code, text = ended(started(five_by_five, out, cache=True))
    assert code in (0, 1), text
    assert check_bag(new) == ()
    assert sorted(path.name for path in out.iterdir()) == [PACKAGE, f"{PACKAGE} mail.txt", NEXT, f"{NEXT} mail.txt"]


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of 3 MiB, where this machine lets us mount one."""
    folder = tmp_path / "small"
    folder.mkdir()
    if sys.platform != "linux" or os.geteuid() != 0:
        pytest.skip("a small file system needs Linux and root")
    if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=3m", "tmpfs", folder], check=False).returncode:
        pytest.skip("this machine mounts no tmpfs")
    yield folder
    subprocess.run(["umount", folder], check=True)


def test_a_full_disk_is_one_message_and_leaves_nothing(album: Path, small_disk: Path) -> None:
    before = hashes(album.parent)
    code, text = ended(started(album, small_disk))
    assert code == 2, text
    assert "space" in text
    assert "Traceback" not in text
    assert list(small_disk.iterdir()) == []
    assert hashes(album.parent) == before


@pytest.mark.skipif(os.name == "nt", reason="signals differ on Windows")
def test_an_interrupt_leaves_nothing_and_is_reported(tmp_path: Path) -> None:
    songs = [Song("One", seconds=60), Song("Two", seconds=60, seed=2)]  # long enough for the slowest of signals
    album = write_album(tmp_path / "masters", songs, SPECS)
    out = tmp_path / "out"
    out.mkdir()
    running = started(album, out)
    while not list(out.glob(".*.new/data/*/*")) and running.poll() is None:  # until a file is begun: amid a build
        time.sleep(0.01)
    running.send_signal(signal.SIGINT)
    code, text = ended(running)
    assert code == 130, text
    assert "Traceback" not in text
    assert list(out.iterdir()) == []
