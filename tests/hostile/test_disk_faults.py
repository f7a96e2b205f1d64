"""The disk fills up, or a write fails: sources unchanged, no target or a whole one, one clear message."""

from __future__ import annotations

import errno
import io
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from delivery.audio.pcm import PcmForm, write_pcm
from delivery.errors import NoSpace, Unfinished, Unusable
from delivery.pack import system
from delivery.pack.archive import write_zip
from delivery.pack.bag import check_bag
from delivery.pack.swap import recover, whole_or_nothing
from tests.pack.invented import make_bag, tree


class Faults:
    """Counts calls; the chosen one fails as a full disk does."""

    def __init__(self, fail_at: int) -> None:
        self.fail_at = fail_at
        self.calls = 0

    def __call__(self) -> None:
        self.calls += 1
        if self.calls == self.fail_at:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    def before(self, function: Callable[..., Any]) -> Callable[..., Any]:
        def counted(*args: Any, **kwargs: Any) -> Any:
            self()
            return function(*args, **kwargs)

        return counted


class FaultyFile:
    """A file open for writing whose writes, and whose closing, are counted."""

    def __init__(self, file: Any, faults: Faults) -> None:
        self._file, self._faults = file, faults

    def write(self, data: Any) -> int:
        self._faults()
        return int(self._file.write(data))

    def close(self) -> None:
        if not self._file.closed:
            self._file.close()  # a real close that fails has closed all the same
            self._faults()

    def __enter__(self) -> FaultyFile:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._file, name)


def inject(monkeypatch: pytest.MonkeyPatch, faults: Faults, *, two_renames: bool = False) -> None:
    """Every write, close after writing, mkdir, rename, fsync and listing goes through *faults*."""
    real_open = io.open

    def opened(file: Any, mode: str = "r", *args: Any, **kwargs: Any) -> Any:
        if "r" in mode and "+" not in mode:
            return real_open(file, mode, *args, **kwargs)
        faults()
        return FaultyFile(real_open(file, mode, *args, **kwargs), faults)

    monkeypatch.setattr(io, "open", opened)
    if two_renames:
        monkeypatch.setattr(system, "_renameat2", lambda *_: False)
    for module, name in [(os, "mkdir"), (os, "fsync"), (os, "rename"), (os, "scandir"), (system, "_renameat2")]:
        monkeypatch.setattr(module, name, faults.before(getattr(module, name)))


def every_fault(check: Callable[[pytest.MonkeyPatch, Faults, int], None]) -> int:
    """Fail call 1, 2, 3 ... until nothing fails any more; how many there were."""
    for number in range(1, 10_000):
        faults = Faults(number)
        with pytest.MonkeyPatch.context() as patch:
            check(patch, faults, number)
        if faults.calls < number:
            return number - 1
    raise AssertionError("it never ends")


@pytest.mark.thorough(2)
@pytest.mark.parametrize("two_renames", [False, True], ids=["one step", "two renames"])
@pytest.mark.parametrize("old", [False, True], ids=["new", "replacing"])
def test_the_nth_call_fails_while_packing(tmp_path: Path, old: bool, two_renames: bool) -> None:
    whole = {name: tree(make_bag(tmp_path / name, name.encode())) for name in ("old", "new")}
    outcomes = set()

    def check(patch: pytest.MonkeyPatch, faults: Faults, number: int) -> None:
        target = tmp_path / f"run {number}" / "x"
        target.parent.mkdir()
        if old:
            make_bag(target, b"old")
        inject(patch, faults, two_renames=two_renames)
        try:
            with whole_or_nothing(target, replace=old) as hidden:
                make_bag(hidden, b"new")
            reported = ""
        except (Unfinished, Unusable) as fault:
            reported = str(fault)
        patch.undo()
        assert target.exists() or not old, (number, "the old one is gone")
        found = next((name for name in whole if target.exists() and tree(target) == whole[name]), "none")
        assert found != "none" or not target.exists(), (number, "half-made")
        assert not reported or "no space left on device" in reported.lower()
        assert reported or found == "new", (number, "silence is never a failure")
        recover(target)
        assert [path.name for path in target.parent.iterdir()] == ([] if found == "none" else ["x"]), number
        outcomes.add((found, bool(reported)))

    assert every_fault(check) > 30
    assert {("old" if old else "none", True), ("new", False)} <= outcomes
    assert tree(tmp_path / "old") == whole["old"], "sources are as they were"


def test_the_nth_call_fails_while_zipping(tmp_path: Path) -> None:
    bag = make_bag(tmp_path / "bag")
    before = tree(bag)
    (tmp_path / "whole").mkdir()
    write_zip(bag, tmp_path / "whole" / "x.zip")

    def check(patch: pytest.MonkeyPatch, faults: Faults, number: int) -> None:
        folder = tmp_path / f"run {number}"
        folder.mkdir()
        inject(patch, faults)
        with suppress(Unfinished, Unusable):
            write_zip(bag, folder / "x.zip")
        patch.undo()
        recover(folder / "x.zip")
        assert tree(folder) in ({}, tree(tmp_path / "whole")), number

    assert every_fault(check) > 30
    assert tree(bag) == before


@contextmanager
def small_disk(at: Path, size: str) -> Iterator[Path]:
    at.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={size}", "none", str(at)], check=False, capture_output=True
    )
    if mounted.returncode != 0:
        pytest.skip(f"cannot mount a small disk here: {mounted.stderr.decode(errors='replace').strip()}")
    try:
        yield at
    finally:
        subprocess.run(["umount", str(at)], check=True)


@pytest.mark.skipif(sys.platform != "linux" or os.geteuid() != 0, reason="a small disk to fill needs root on Linux")
@pytest.mark.parametrize("room_kib", [4, 52, 100])
@pytest.mark.parametrize(
    "form",
    [
        PcmForm("wav", "pcm", 44_100, 2, 24),
        PcmForm("wav", "float", 44_100, 2, 32),
        PcmForm("flac", "pcm", 44_100, 2, 24),
        PcmForm("aiff", "pcm", 44_100, 2, 16),
    ],
    ids=["wav", "float", "flac", "aiff"],
)
def test_a_full_disk_is_named_when_a_sound_file_is_written(tmp_path: Path, form: PcmForm, room_kib: int) -> None:
    """libsndfile itself reports 'System error.' for any error of the system."""
    chance = np.random.default_rng(1)
    block = chance.uniform(-0.5, 0.5, (44_100, 2))
    samples = block if form.coding == "float" else (block * 2**31).astype(np.int32) & ~0xFF
    with small_disk(tmp_path / "disk", f"{room_kib}k") as disk:
        with pytest.raises(NoSpace) as full:
            write_pcm(disk / "01 Song.x", form, 44_100, [samples])
        told = str(full.value)
    assert f"no space left on device, the disk at {disk}: 0.0 MB free" in told
    assert "MB for 01 Song.x" in told
    assert "Free some room" in told


@pytest.mark.skipif(sys.platform != "linux" or os.geteuid() != 0, reason="a small disk to fill needs root on Linux")
@pytest.mark.parametrize("container", ["wav", "flac", "aiff"])
def test_a_disk_that_was_full_is_named_even_if_others_have_left_it_since(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, container: str
) -> None:
    """Several files are written side by side; when one of them gives up, it leaves room for the rest."""
    samples = (np.random.default_rng(1).uniform(-0.5, 0.5, (44_100, 2)) * 2**31).astype(np.int32) & ~0xFF
    with small_disk(tmp_path / "disk", "400k") as disk:
        other = disk / "02 Song.wav"
        other.write_bytes(bytes(300 * 1024))
        real_close = soundfile.SoundFile.close

        def closed(file: soundfile.SoundFile) -> None:
            real_close(file)
            other.unlink(missing_ok=True)

        monkeypatch.setattr(soundfile.SoundFile, "close", closed)
        with pytest.raises(NoSpace, match="no space left on device, the disk at"):
            write_pcm(disk / "01 Song.x", PcmForm(container, "pcm", 44_100, 2, 24), 44_100, [samples])


def test_another_fault_of_the_system_is_named_by_the_system(tmp_path: Path) -> None:
    samples = np.zeros((44_100, 2), np.int32)
    with pytest.raises(Unfinished, match=r"01 Song\.wav: found No such file or directory, wanted") as told:
        write_pcm(tmp_path / "gone" / "01 Song.wav", PcmForm("wav", "pcm", 44_100, 2, 24), 44_100, [samples])
    assert not isinstance(told.value, NoSpace)


@pytest.mark.skipif(sys.platform != "linux" or os.geteuid() != 0, reason="a small disk to fill needs root on Linux")
@pytest.mark.parametrize("room_kib", [4, 16, 60, 140, 200, 260, 300])
def test_a_really_full_disk(tmp_path: Path, room_kib: int) -> None:
    """A tmpfs too small for the package, its manifests, or the zip beside it."""
    music = make_bag(tmp_path / "music")
    before = tree(music)
    with small_disk(tmp_path / "disk", f"{room_kib}k") as disk:
        target = disk / "OSL-014 rev 1"
        try:
            with whole_or_nothing(target) as hidden:
                make_bag(hidden)
            write_zip(target, disk / "x.zip")
            reported = ""
        except Unfinished as fault:
            reported = str(fault)
            assert "no space left on device" in reported
            assert "MB free" in reported
        names = [path.name for path in sorted(disk.iterdir())]
        assert names in ([], [target.name], [target.name, "x.zip"])
        assert bool(reported) == ("x.zip" not in names)
        assert not target.exists() or check_bag(target) == ()
    assert tree(music) == before
