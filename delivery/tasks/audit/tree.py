"""The files of a catalogue, in a steady order, each with the release file that names it."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from delivery.absolute import absolute
from delivery.errors import DeliveryError, Unusable
from delivery.intake import load_release
from delivery.intake.resolve_paths import composed
from delivery.model.audit import AuditItem
from delivery.model.release import Release
from delivery.model.track import Track
from delivery.pipeline.remote import below, is_address, name_of
from delivery.pipeline.remote import shown as address_shown
from delivery.pipeline.sound_files import RELEASE_FILE, is_sound
from delivery.tasks.mirror import Mirror


@dataclass(frozen=True, slots=True)
class Tree:
    """What lies below the folders of an audit."""

    folders: tuple[str, ...]
    items: tuple[AuditItem, ...]
    releases: tuple[AuditItem, ...]
    """Release files that could be read."""
    problems: tuple[tuple[str, str], ...]
    """Release files that could not, each with the reason; their files are audited by their sound."""


def tree_of(places: Sequence[str | Path], mirror: Mirror | None = None) -> Tree:
    """Every sound file below *places*, once; hidden files and folders are left out.

    Parameters
    ----------
    places : folders and files, addresses as text
    mirror : where release files at addresses are fetched to; sound files are not fetched here

    A release file names its masters wherever they are; masters that it names outside *places* are not audited.

    Raises
    ------
    Unusable : a folder is not there, or there is no sound file in any of them
    """
    for place in places:
        if isinstance(place, Path) and not place.exists():
            raise Unusable(str(place), "nothing there", "a folder of sound files", "Check the path.")
    claims: dict[str, tuple[str, int, str]] = {}
    found: dict[str, str] = {}
    releases, problems = [], []
    local = _Local(mirror)
    for shown, location in _files(places):
        if name_of(location) == RELEASE_FILE:
            try:
                path = local.release_file(location)
                release = release_at(path)
            except DeliveryError as error:
                problems.append((shown, str(error)))
                continue
            named = (location, "") if path == location else (address_shown(location), path)
            releases.append(AuditItem(shown, path, named[0]))
            claims |= {
                local.key(str(absolute(track.file))): (named[0], track.position, named[1]) for track in release.tracks
            }
        else:
            found.setdefault(location, shown)
    names = tuple(place if isinstance(place, Path) else address_shown(place) for place in places)
    if not found:
        raise Unusable(str(names[0]), "no sound file", "WAV, AIFF, FLAC or listening copies", "Check the path.")
    items = tuple(AuditItem(shown, at, *claims.get(local.key(at), ())) for at, shown in found.items())
    return Tree(tuple(map(str, names)), items, tuple(releases), tuple(problems))


@dataclass(frozen=True, slots=True)
class _Local:
    """What lies at an address, as if it lay here; paths are left as they are."""

    mirror: Mirror | None

    def release_file(self, location: str) -> str:
        return str(self.mirror.fetch(location)) if self.mirror and is_address(location) else location

    def key(self, location: str) -> str:
        """Equal for a file and for its name in a release file."""
        if self.mirror is None:
            return location
        path = str(self.mirror.path_of(location)) if is_address(location) else os.path.normpath(location)
        return composed(path)


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
    release = release_at(item.release_copy or item.release_file)
    return release, next(track for track in release.tracks if track.position == item.position)


def _files(places: Sequence[str | Path]) -> Iterator[tuple[str, str]]:
    """The path to print and the location of each sound and release file."""
    for top in places:
        if isinstance(top, str):
            yield from _files_at(top)
            continue
        if not top.is_dir():
            yield str(top), str(absolute(top))
            continue
        for place, inner, names in os.walk(top):
            inner[:] = sorted(name for name in inner if not name.startswith("."))
            for name in sorted(names):
                if not name.startswith(".") and (name == RELEASE_FILE or is_sound(Path(name))):
                    path = Path(place, name)
                    yield path.relative_to(top).as_posix(), str(absolute(path))


def _files_at(address: str) -> Iterator[tuple[str, str]]:
    if is_sound(Path(name_of(address))):
        yield name_of(address), address
        return
    for name, at in sorted(below(address).items(), key=lambda each: _as_walked(each[0])):
        if name_of(at) == RELEASE_FILE or is_sound(Path(name)):
            yield name, at


def _as_walked(name: str) -> tuple[tuple[bool, str], ...]:
    """Sorts as folders are walked here: the files of a folder before the folders in it."""
    *folders, file = name.split("/")
    return (*((True, folder) for folder in folders), (False, file))
