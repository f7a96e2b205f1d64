"""Where a new master is to lie so that its release can be moved: in the release's folder, or beside the one before."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from delivery.absolute import absolute
from delivery.errors import Unfinished, Unusable
from delivery.ledger.file_state import file_sha256
from delivery.pack.swap import whole_file_or_nothing
from delivery.pack.take_over import take_over


@dataclass(frozen=True, slots=True)
class NewMaster:
    """A new file of a track."""

    file: Path
    sha256: str
    before: Path
    """The master until now."""
    stated_before: str
    """Its path as the release file states it."""


@dataclass(frozen=True, slots=True)
class Home:
    """Where the new file lies from now on."""

    new: NewMaster
    path: Path
    stated: str
    """As the release file is to state it."""
    copied: bool
    """It lies elsewhere and has to be copied there."""


def homes(new: Iterable[NewMaster], folder: Path, revision: int) -> list[Home]:
    """Where each new file is to lie. Nothing is written.

    A file in the release's *folder*, or in that of the master before, stays where it is. Any other is copied beside the
    master before, and never over another file: under its own name or, where that is taken, with the *revision* added.
    Where the release file states an absolute path, the new one is absolute too, and nothing is copied.

    Raises
    ------
    Unusable : both names are taken
    """
    found: list[Home] = []
    for each in new:
        found.append(_home(each, absolute(folder), revision, found))
    return found


@contextmanager
def copied(homes: Sequence[Home]) -> Iterator[None]:
    """Copy what has to be copied; if anything fails then, the copies are deleted.

    Raises
    ------
    Unfinished : a disk fails, or a file has changed since it was measured
    """
    made: list[Path] = []
    try:
        for home in homes:
            if home.copied:
                _copy(home)
                made.append(home.path)
        yield
    except BaseException:
        for path in made:
            with suppress(OSError):
                path.unlink()
        raise


def _home(new: NewMaster, folder: Path, revision: int, others: Sequence[Home]) -> Home:
    for file, root in ((new.file, folder), (new.file.resolve(), folder.resolve())):
        if file.is_relative_to(root):
            return Home(new, new.file, file.relative_to(root).as_posix(), copied=False)
    if Path(new.stated_before).is_absolute():
        return Home(new, new.file, os.fspath(new.file), copied=False)
    beside = new.before.parent if new.before.parent.is_dir() else folder
    prefix = _folder_as_stated(new.stated_before, folder) if beside != folder else ""
    if new.file.parent.samefile(beside):
        return Home(new, new.file, f"{prefix}{new.file.name}", copied=False)
    names = (new.file.name, f"{new.file.stem} rev {revision}{new.file.suffix}")
    taken = {home.path: home.new.sha256 for home in others}
    for name in names:
        path = beside / name
        there = taken.get(path) or (file_sha256(path) if path.is_file() else "")
        if there == new.sha256 or not (there or os.path.lexists(path)):
            return Home(new, path, f"{prefix}{name}", copied=not there)
    found = " and ".join(map(repr, names)) + f" in {beside}"
    raise Unusable(new.file.name, found, "a name that is not taken there", "Rename the new file. Nothing was written.")


def _folder_as_stated(path: str, folder: Path) -> str:
    """'masters/' of 'masters/01.wav'; some programs write a backslash."""
    slash = "/" if "/" in path or (folder / path).exists() else "\\"
    head, found, _ = path.rpartition(slash)
    return head + found


def _copy(home: Home) -> None:
    with whole_file_or_nothing(home.path) as hidden:
        times = home.new.file.stat()
        if not take_over(home.new.file, hidden, home.new.sha256):
            wanted = "the file that was measured"
            raise Unfinished(home.new.file.name, "other bytes, or none", wanted, "Nothing was written. Try again.")
        os.utime(hidden, ns=(times.st_atime_ns, times.st_mtime_ns))
