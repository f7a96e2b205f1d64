"""What operating systems differ in: flushing, locks, renames that never replace, and sharing of blocks."""

from __future__ import annotations

import ctypes
import errno
import os
import stat
import sys
from pathlib import Path

import pytest

from delivery.pack import system

POSIX = pytest.mark.skipif(os.name == "nt", reason="POSIX calls")
LINUX = pytest.mark.skipif(sys.platform != "linux", reason="Linux calls")


@POSIX
def test_a_file_is_flushed_before_its_memory_is_given_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """posix_fadvise(2): only pages that are on the disk can be dropped; 0 to 0 is the whole file."""
    calls: list[tuple[object, ...]] = []
    monkeypatch.setattr(os, "fsync", lambda file: calls.append(("fsync", file)))
    monkeypatch.setattr(os, "posix_fadvise", lambda *given: calls.append(given), raising=False)
    monkeypatch.setattr(os, "POSIX_FADV_DONTNEED", 4, raising=False)
    with (tmp_path / "x").open("wb") as file:
        system.settle_file(file)
        assert calls == [("fsync", file.fileno()), (file.fileno(), 0, 0, 4)]


@POSIX
def test_advice_that_the_system_refuses_is_no_fault(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise OSError(errno.EINVAL, "Invalid argument")

    with (tmp_path / "x").open("wb") as file:
        monkeypatch.setattr(os, "posix_fadvise", refuse, raising=False)
        system.settle_file(file)
        monkeypatch.delattr(os, "posix_fadvise")
        system.settle_file(file)
        monkeypatch.setattr(os, "fsync", refuse)
        with pytest.raises(OSError, match="Invalid argument"):  # but data that is not on the disk is
            system.settle_file(file)


@POSIX
def test_what_is_in_a_folder_is_flushed_before_the_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    inner = tmp_path / "top" / "inner"
    inner.mkdir(parents=True)
    for file in (inner / "a", inner / "b", tmp_path / "top" / "c"):
        file.write_bytes(b"x")
    flushed: list[int] = []
    monkeypatch.setattr(os, "fsync", lambda file: flushed.append(os.fstat(file).st_ino))
    system.settle(tmp_path / "top")
    files = {path.stat().st_ino for path in (inner / "a", inner / "b", tmp_path / "top" / "c")}
    assert set(flushed[:3]) == files
    assert flushed[3:] == [inner.stat().st_ino, (tmp_path / "top").stat().st_ino]
    flushed.clear()
    system.settle(inner / "a")
    assert flushed == [(inner / "a").stat().st_ino]


@POSIX
def test_a_file_that_cannot_be_flushed_is_a_fault_and_a_folder_is_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(file: int) -> None:
        if stat.S_ISDIR(os.fstat(file).st_mode) is folders_fail:
            raise OSError(errno.EIO, "Input/output error")

    (tmp_path / "x").write_bytes(b"x")
    monkeypatch.setattr(os, "fsync", fail)
    folders_fail = True
    system.settle(tmp_path)
    system.settle_folder(tmp_path / "gone")
    folders_fail = False
    with pytest.raises(OSError, match="Input/output"):
        system.settle(tmp_path)


def test_one_owner_at_a_time_and_no_file_is_left(tmp_path: Path) -> None:
    lock = tmp_path / ".x.lock"
    with system.sole_owner(lock) as first:
        assert first is True
        assert lock.exists()
        with system.sole_owner(lock) as second, system.sole_owner(tmp_path / ".y.lock") as other:
            assert (second, other) == (False, True)
        with system.sole_owner(lock) as third:
            assert third is False, "a refused one does not free it"
    assert list(tmp_path.iterdir()) == []
    with system.sole_owner(lock) as again:
        assert again is True


@POSIX
@pytest.mark.parametrize(
    ("code", "ours"),
    [(errno.EAGAIN, False), (errno.EACCES, False), (errno.EDEADLK, False), (errno.ENOLCK, True), (errno.ENOSYS, True)],
)
def test_a_disk_without_locks_is_used_all_the_same(
    code: int, ours: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """fcntl(2): EAGAIN, EACCES and EDEADLK mean that another process has it; ENOLCK that there are no locks."""
    import fcntl

    def refuse(_file: object, flags: int) -> None:
        assert flags == fcntl.LOCK_EX | fcntl.LOCK_NB, "not waited for"
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(fcntl, "lockf", refuse)
    with system.sole_owner(tmp_path / ".x.lock") as found:
        assert found is ours


@POSIX
def test_a_lock_whose_file_was_deleted_while_it_was_taken_is_taken_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import fcntl

    lock, tries = tmp_path / ".x.lock", []

    def taken(_file: object, _flags: int) -> None:
        tries.append(1)
        if len(tries) == 1:
            lock.unlink()  # the owner before us goes
        elif len(tries) == 2:
            lock.unlink()
            lock.write_bytes(b"")  # and a third one comes

    monkeypatch.setattr(fcntl, "lockf", taken)
    with system.sole_owner(lock) as ours:
        assert (ours, len(tries)) == (True, 3)


@pytest.mark.parametrize("conditional", [True, False])
def test_a_rename_never_replaces(conditional: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the system's conditional rename, and where it has none."""
    if not conditional:
        monkeypatch.setattr(system, "_renameat2", lambda *_: False)
    old, new = tmp_path / "old", tmp_path / "new"
    old.write_bytes(b"old")
    new.write_bytes(b"new")
    with pytest.raises(FileExistsError) as refused:
        system.move_new(old, new)
    assert str(new) in str(refused.value)
    assert (old.read_bytes(), new.read_bytes()) == (b"old", b"new")
    new.unlink()
    system.move_new(old, new)
    assert (old.exists(), new.read_bytes()) == (False, b"old")


@LINUX
def test_two_names_are_exchanged_in_one_step(tmp_path: Path) -> None:
    one, other = tmp_path / "one", tmp_path / "other"
    one.mkdir()
    other.write_bytes(b"other")
    if not system.exchange(one, other):
        pytest.skip("this file system has no exchange")
    assert one.read_bytes() == b"other"
    assert other.is_dir()


@LINUX
@pytest.mark.parametrize("code", [errno.ENOSYS, errno.EINVAL, errno.ENOTSUP, errno.EPERM])
def test_a_file_system_without_the_rename_does_nothing(
    code: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ctypes, "CDLL", lambda *_, **__: Library(code))
    assert not system.exchange(tmp_path / "one", tmp_path / "other")
    monkeypatch.setattr(ctypes, "CDLL", lambda *_, **__: object())
    assert not system.exchange(tmp_path / "one", tmp_path / "other"), "an old library lacks the call"


@LINUX
def test_any_other_fault_of_the_rename_is_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ctypes, "CDLL", lambda *_, **__: Library(errno.EIO))
    with pytest.raises(OSError, match="Input/output") as fault:
        system.exchange(tmp_path / "one", tmp_path / "other")
    assert (fault.value.errno, fault.value.filename, fault.value.filename2) == (
        errno.EIO, str(tmp_path / "one"), str(tmp_path / "other"),
    )  # fmt: skip


class Library:
    """A C library whose conditional rename fails with *code*."""

    def __init__(self, code: int) -> None:
        self.code = code

    def renameat2(self, *_: object) -> int:
        ctypes.set_errno(self.code)
        return -1


@POSIX
def test_bytes_are_copied_by_the_system_as_far_as_it_can(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """copy_file_range(2) may copy less than asked, and ends with 0; a fault is left to the caller's own copy."""
    source, target = tmp_path / "source", tmp_path / "target"
    source.write_bytes(b"0123456789")
    pieces = [4, 3, 0]

    def some(one: int, other: int, most: int) -> int:
        assert most >= 1 << 20
        count = pieces.pop(0)
        if count < 0:
            raise OSError(errno.EXDEV, "Invalid cross-device link")
        os.write(other, os.read(one, count))
        return count

    monkeypatch.setattr(os, "copy_file_range", some, raising=False)
    with source.open("rb", buffering=0) as there, target.open("wb", buffering=0) as here:
        system.copy_in_kernel(there, here)
        assert (there.tell(), here.tell(), pieces) == (7, 7, [])
        pieces[:] = [-1]
        system.copy_in_kernel(there, here)
        monkeypatch.delattr(os, "copy_file_range")
        system.copy_in_kernel(there, here)
        assert there.tell() == 7


@LINUX
def test_blocks_are_shared_only_where_the_file_system_can(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """linux/fs.h: FICLONE is _IOW(0x94, 9, int), that is 1 << 30 | 4 << 16 | 0x94 << 8 | 9."""
    import fcntl

    asked: list[tuple[int, int, int]] = []
    monkeypatch.setattr(fcntl, "ioctl", lambda *given: asked.append(given))
    (tmp_path / "a").write_bytes(b"a")
    with (tmp_path / "a").open("rb") as source, (tmp_path / "b").open("wb") as target:
        assert system.clone(source, target)
        assert asked == [(target.fileno(), 1 << 30 | 4 << 16 | 0x94 << 8 | 9, source.fileno())]

        def refuse(*_: object) -> None:
            raise OSError(errno.EOPNOTSUPP, "Operation not supported")

        monkeypatch.setattr(fcntl, "ioctl", refuse)
        assert not system.clone(source, target)
