"""The files of a catalogue, in a steady order, each with the release file that names it."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from delivery.errors import DeliveryError, Unusable
from delivery.intake import load_release
from delivery.model.audit import AuditItem
from delivery.model.release import Release
from delivery.model.track import Track
from delivery.pipeline.sound_files import RELEASE_FILE, is_sound


@dataclass(frozen=True, slots=True)
class Tree:
    """What lies below the folders of an audit."""

    folders: tuple[str, ...]
    items: tuple[AuditItem, ...]
    releases: tuple[AuditItem, ...]
    """Release files that could be read."""
    problems: tuple[tuple[str, str], ...]
    """Release files that could not, each with the reason; their files are audited by their sound."""


def tree_of(folders: Sequence[Path]) -> Tree:
    """Every sound file below *folders*, once; hidden files and folders are left out.

    A release file names its masters wherever they are; masters that it names outside *folders* are not audited.

    Raises
    ------
    Unusable : a folder is not there, or there is no sound file in any of them
    """
    for folder in folders:
        if not folder.exists():
            raise Unusable(str(folder), "nothing there", "a folder of sound files", "Check the path.")
    claims: dict[str, tuple[str, int]] = {}
    found: dict[str, str] = {}
    releases, problems = [], []
    for shown, path in _files(folders):
        if path.name == RELEASE_FILE:
            try:
                release = release_at(str(path))
            except DeliveryError as error:
                problems.append((shown, str(error)))
                continue
            releases.append(AuditItem(shown, str(path), str(path)))
            claims |= {str(track.file.absolute()): (str(path), track.position) for track in release.tracks}
        else:
            found.setdefault(str(path), shown)
    if not found:
        raise Unusable(str(folders[0]), "no sound file", "WAV, AIFF, FLAC or listening copies", "Check the path.")
    items = tuple(AuditItem(shown, location, *claims.get(location, ())) for location, shown in found.items())
    return Tree(tuple(map(str, folders)), items, tuple(releases), tuple(problems))


def release_at(path: str) -> Release:
    """The release file at *path*; files of one release follow each other, so that it is read twice at most.

    Raises
    ------
    Faulty, Unusable : it has faults
    """
    status = Path(path).stat()
    return _release_at(path, status.st_size, status.st_mtime_ns)


@lru_cache(maxsize=8)
def _release_at(path: str, _size_bytes: int, _mtime_ns: int) -> Release:
    return load_release(Path(path))


def named_by(item: AuditItem) -> tuple[Release | None, Track | None]:
    """The release and the track that *item* is; None for a file that no release file names."""
    if not item.release_file:
        return None, None
    release = release_at(item.release_file)
    return release, next(track for track in release.tracks if track.position == item.position)


def _files(folders: Sequence[Path]) -> Iterator[tuple[str, Path]]:
    """Sound and release files with the path to print."""
    for top in folders:
        if not top.is_dir():
            yield str(top), top.absolute()
            continue
        for place, inner, names in os.walk(top):
            inner[:] = sorted(name for name in inner if not name.startswith("."))
            for name in sorted(names):
                if not name.startswith(".") and (name == RELEASE_FILE or is_sound(Path(name))):
                    path = Path(place, name)
                    yield path.relative_to(top).as_posix(), path.absolute()
