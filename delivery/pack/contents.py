"""Contents of a folder: plain files, links and other entries. Links are listed, never followed."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from delivery.errors import Unusable


@dataclass(frozen=True, slots=True)
class Contents:
    """Everything that a package contains."""

    files: Mapping[str, Path]
    """Path inside the folder, '/' as separator -> the file; sorted by path."""
    links: tuple[str, ...]
    """Symbolic links and junctions, to files or folders."""
    others: tuple[str, ...]
    """Pipes, sockets, devices."""


def contents_of(folder: Path) -> Contents:
    """List everything below *folder*."""
    try:
        found = sorted(_below(folder, ""), key=lambda entry: printable(entry[0]).encode("utf-8"))
    except OSError as fault:
        where = Path(fault.filename).name if isinstance(fault.filename, str) else folder.name
        raise Unusable(
            where, fault.strerror or "an error", "a folder that can be listed", "Check the permissions."
        ) from fault
    return Contents(
        files={path: Path(entry.path) for path, entry in found if _kind(entry) == "file"},
        links=tuple(path for path, entry in found if _kind(entry) == "link"),
        others=tuple(path for path, entry in found if _kind(entry) == "other"),
    )


def only_files(folder: Path) -> Mapping[str, Path]:
    """The files below *folder*, which must hold only plain files and folders.

    Raises
    ------
    Unusable : a link, a device, or a name that is not UTF-8
    """
    found = contents_of(folder)
    for path in (*found.links, *found.others):
        wanted = "plain files and folders only"
        raise Unusable(printable(path), "a link or a device", wanted, "Put the file itself in its place.")
    for path in found.files:
        if path != printable(path):
            raise Unusable(printable(path), "a name that is not UTF-8", "UTF-8", "Rename the file.")
    return found.files


def printable(path: str) -> str:
    """*path* as valid UTF-8, with undecodable bytes escaped."""
    return path.encode("utf-8", "backslashreplace").decode("utf-8")


def _below(folder: Path, inside: str) -> Iterator[tuple[str, os.DirEntry[str]]]:
    with os.scandir(folder) as entries:
        for entry in entries:
            path = f"{inside}{entry.name}"
            if _kind(entry) == "folder":
                yield from _below(Path(entry.path), f"{path}/")
            else:
                yield path, entry


def _kind(entry: os.DirEntry[str]) -> str:
    if entry.is_symlink() or (hasattr(entry, "is_junction") and entry.is_junction()):
        return "link"
    if entry.is_dir(follow_symlinks=False):
        return "folder"
    return "file" if entry.is_file(follow_symlinks=False) else "other"
