"""Write a folder or a file atomically: it exists completely or not at all.

Work happens in a hidden sibling, ``.<name>.<random>.new``, renamed to the target's name at the end. On Linux, replacing
exchanges the two names in one step. Elsewhere the old folder is first renamed to ``.<name>.<random>.old``: if the
process is killed between the two renames, the target is missing until `recover`, called at the start of the next run,
restores it.
"""

from __future__ import annotations

import errno
import os
import re
import secrets
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from delivery.absolute import absolute
from delivery.disk import no_space
from delivery.errors import Occupied, Unfinished, Unusable
from delivery.pack import layout, system

_NEW, _OLD = "new", "old"

_REMEDIES = {
    errno.EFBIG: "Choose a disk that supports larger files; nothing was written.",
    errno.EACCES: "Give yourself the right to write there or choose another place; nothing was written.",
    errno.EPERM: "Give yourself the right to write there or choose another place; nothing was written.",
    errno.EROFS: "Choose a disk that can be written to; nothing was written.",
    errno.ENOENT: "Make the folder, or connect its disk again; nothing was written.",
    errno.ENAMETOOLONG: "Choose a shorter name; nothing was written.",
}


@contextmanager
def whole_or_nothing(target: Path, *, replace: bool = False) -> Iterator[Path]:
    """Yield a hidden sibling folder; it becomes *target* on success and is deleted on failure.

    Parameters
    ----------
    target : the folder to create; its parent must exist
    replace : replace an existing package atomically; only a package (or an empty folder) is ever replaced

    Raises
    ------
    Occupied : *target* exists, is not a package, or another run is building it
    Unfinished : the machine failed: disk full, no permission, folder gone
    """
    with _lent(target, replace, Path.mkdir, _is_package) as hidden:
        yield hidden


@contextmanager
def whole_file_or_nothing(target: Path, *, replace: bool = False) -> Iterator[Path]:
    """The same for one file: yields the path of an empty hidden sibling to write to."""
    with _lent(target, replace, Path.touch, _is_plain_file) as hidden:
        yield hidden


def recover(target: Path) -> None:
    """Clean up after a process that was killed while it built *target*.

    A half-made folder is deleted; an old one that was moved aside is restored if *target* is missing. Does nothing if
    there is nothing to clean up, or while another process is building it.
    """
    target = _absolute(target)
    with _machine_faults(target), system.sole_owner(_lock_of(target)) as ours:
        if ours:
            _recover(target)


def unfinished(fault: OSError, place: Path) -> Unfinished:
    """An operating system error as one clear message."""
    named = fault.filename if isinstance(fault.filename, str | os.PathLike) else place
    if full := no_space(fault, place, shown=_visible(Path(named), place)):
        return full
    found = (fault.strerror or str(fault) or type(fault).__name__).lower()
    remedy = _REMEDIES.get(fault.errno or 0, "Check the disk and try again; nothing was written.")
    return Unfinished(_visible(Path(named), place), found, "a place that can be written to", remedy)


@contextmanager
def _lent(target: Path, replace: bool, make: Callable[[Path], None], may_go: Callable[[Path], bool]) -> Iterator[Path]:
    target = _absolute(target)
    hidden = _sibling(target, _NEW)
    with _machine_faults(target), system.sole_owner(_lock_of(target)) as ours:
        if not ours:
            raise Occupied(str(target), "another run that is building it", "one run at a time", "Wait for it to end.")
        _recover(target)
        _check_free(target, replace, may_go)
        try:
            make(hidden)
            yield hidden
            system.settle(hidden)
            _into_place(hidden, target, replace, may_go)
        finally:
            _remove(hidden)  # half-made, or the old one after an exchange
        system.settle_folder(target.parent)


def _into_place(hidden: Path, target: Path, replace: bool, may_go: Callable[[Path], bool]) -> None:
    _check_free(target, replace, may_go)  # check again: it may have been created in the meantime
    if not os.path.lexists(target):
        try:
            system.move_new(hidden, target)
        except FileExistsError as fault:
            raise _occupied(target) from fault
    elif not system.exchange(hidden, target):
        _by_two_renames(hidden, target)


def _by_two_renames(hidden: Path, target: Path) -> None:
    old = _sibling(target, _OLD)
    target.rename(old)
    try:
        hidden.rename(target)
    except BaseException:
        old.rename(target)
        raise
    _remove(old)


def _recover(target: Path) -> None:
    left = re.compile(rf"\.{re.escape(layout.same_file(target.name))}\.[0-9a-f]{{8}}\.({_NEW}|{_OLD})")
    found = sorted(path for path in target.parent.iterdir() if left.fullmatch(layout.same_file(path.name)))
    aside = [path for path in found if path.suffix == f".{_OLD}"]
    if aside and not os.path.lexists(target):
        system.move_new(aside.pop(), target)
    for path in found:
        _remove(path)


def _check_free(target: Path, replace: bool, may_go: Callable[[Path], bool]) -> None:
    if not os.path.lexists(target):
        return
    if not replace:
        raise _occupied(target)
    if target.is_symlink() or not may_go(target):
        wanted = "a package of this program, or nothing"
        raise Occupied(
            str(target), "something that is not a package", wanted, "Choose another place; it was not touched."
        )


def _occupied(target: Path) -> Occupied:
    remedy = "Choose another place, or remove it if it is not needed."
    return Occupied(str(target), "an existing file or folder", "a path that does not exist yet", remedy)


def _is_package(target: Path) -> bool:
    return target.is_dir() and ((target / layout.DECLARATION).is_file() or not any(target.iterdir()))


def _is_plain_file(target: Path) -> bool:
    return target.is_file()


def _remove(path: Path) -> None:
    """Delete as much as possible; `recover` deletes the rest next time. A faulty disk may fail any call."""
    with suppress(OSError):
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path, ignore_errors=True)
        else:
            path.unlink()


def _absolute(target: Path) -> Path:
    """Absolute path, fixed now so that a change of the working directory has no effect."""
    fixed = absolute(target)
    if not fixed.name:
        raise Unusable(str(target), "the root of a disk", "a name for the new folder", "Name a folder below it.")
    return fixed


def _sibling(target: Path, kind: str) -> Path:
    return target.with_name(f".{target.name}.{secrets.token_hex(4)}.{kind}")


def _lock_of(target: Path) -> Path:
    return target.with_name(f".{target.name}.lock")


def _visible(named: Path, target: Path) -> str:
    """The path as typed by the user, without the hidden folder's random name."""
    hidden = re.compile(rf"\.{re.escape(target.name)}\.(?:[0-9a-f]{{8}}\.(?:{_NEW}|{_OLD})|lock)")
    return str(Path(*(hidden.sub(lambda _: target.name, step) for step in named.parts)))


@contextmanager
def _machine_faults(target: Path) -> Iterator[None]:
    try:
        yield
    except OSError as fault:
        raise unfinished(fault, target) from fault
