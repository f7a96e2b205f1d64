"""Watch folders: a release is checked again as soon as what changed in it is complete.

The operating system reports changes (watchfiles); nothing is polled, except on network drives, which report nothing.
The events of a folder go through `Pending`, which waits until every file has kept its size and time for a while: a
bounce that is still being written, or a copy that is still coming, is not judged.
"""

from __future__ import annotations

import json
import os
import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path

from delivery.errors import Unusable
from delivery.model.release_state import ReleaseState, Row
from delivery.own_folders import data_folder
from delivery.pipeline.options import Options
from delivery.pipeline.request import RELEASE_FILE
from delivery.pipeline.sound_files import is_sound
from delivery.tasks.folder_events import changed_paths, on_network, waiting
from delivery.tasks.several import BAG, state_of

SETTLED_S = 2.0
"""A file is complete when it has had one size and one time of change for this long. Common practice, no source."""
LOOK_S = 0.5
"""How often files that are being written are looked at; nothing is looked at while nothing is being written."""
BESIDE = frozenset({".yaml", ".jpg", ".jpeg", ".png", ".tif", ".tiff"})
"""Endings of what a release consists of besides sound."""


@dataclass(slots=True)
class Pending:
    """Releases in which something changed, until all their files have settled."""

    stamps: dict[Path, tuple[dict[Path, tuple[int, int] | None], float]] = field(default_factory=dict)
    """Release -> sizes and times of its files, and since when they are these."""

    def changed(self, release: Path, now_s: float) -> None:
        """Note that something in the folder of *release* changed."""
        self.stamps[release] = (_stamp(release), now_s)

    def complete(self, now_s: float) -> list[Path]:
        """Take out the releases whose files have kept their sizes and times for SETTLED_S."""
        done = []
        for release, (stamp, since_s) in list(self.stamps.items()):
            found = _stamp(release)
            if found != stamp:
                self.stamps[release] = (found, now_s)
            elif now_s - since_s >= SETTLED_S:
                del self.stamps[release]
                done.append(release)
        return done


def watch(
    folders: Sequence[Path],
    spec_names: tuple[str, ...] = (),
    options: Options | None = None,
    *,
    poll: bool = False,
    stop: threading.Event | None = None,
    check_one: Callable[[Path], ReleaseState] | None = None,
) -> Iterator[tuple[tuple[Row, ...], Row | None]]:
    """The board, each time something on it changes, with the row that changed; None at first.

    Parameters
    ----------
    folders : with all that is below them
    poll : look at the files again and again, for drives that report no changes; known network drives are polled anyway
    stop : ends it

    Raises
    ------
    Unusable : a folder is not there, or watchfiles is not installed
    """
    roots = tuple(_folder(path) for path in folders)
    stop = stop or threading.Event()
    check_one = check_one or (lambda path: state_of(path, spec_names, options))
    events = changed_paths(roots, poll or any(map(on_network, roots)), stop)
    board, pending = _Board(), Pending()
    for release in dict.fromkeys(release for root in roots for release in _below(root, roots)):
        if _just_written(release):
            pending.changed(release, _now_s())
        else:
            board.put(release, check_one(release))
    yield board.rows(), None
    while not stop.is_set():
        paths = list(waiting(events, LOOK_S if pending.stamps else None))
        for gone in board.drop_missing():
            yield board.rows(), gone
        for path in paths:
            for release in filter(Path.is_file, affected(path, roots)):
                pending.changed(release, _now_s())
                if board.writing(release):
                    yield board.rows(), board.row(release)
        for release in pending.complete(_now_s()):
            if release.is_file():
                yield board.rows(), board.put(release, check_one(release))


def affected(path: Path, roots: Sequence[Path]) -> tuple[Path, ...]:
    """The releases that a change of *path* concerns: the nearest release file above it; a sound file without one is
    a release of its own.

    Packages, hidden files and files of other kinds concern none.
    """
    root = next((root for root in roots if path.is_relative_to(root)), None)
    if root is None or any(piece.startswith(".") for piece in path.relative_to(root).parts):
        return ()
    if path.is_dir():  # moved in as a whole
        return _below(path, roots)
    if not (is_sound(path) or path.suffix.lower() in BESIDE):
        return ()
    above = [folder for folder in path.parents if folder.is_relative_to(root)]
    if any((folder / BAG).exists() for folder in above):
        return ()
    nearest = next((folder / RELEASE_FILE for folder in above if (folder / RELEASE_FILE).is_file()), None)
    return (nearest,) if nearest else (path,) if is_sound(path) else ()


class _Board:
    """Rows by release, and since when each is in its state: kept on disk, so that a restart forgets nothing."""

    def __init__(self, file: Path | None = None) -> None:
        self._file = file or data_folder() / "watched.json"
        self._rows: dict[Path, Row] = {}
        self._known = _read(self._file)

    def rows(self) -> tuple[Row, ...]:
        return tuple(self._rows[path] for path in sorted(self._rows))

    def row(self, release: Path) -> Row:
        return self._rows[release]

    def put(self, release: Path, state: ReleaseState) -> Row:
        key, kind = str(release), _kind(state)
        known = self._known.get(key)
        since = known[1] if known and known[0] == kind else datetime.now().isoformat(timespec="seconds")
        self._rows[release] = row = Row(state, since)
        if known != (kind, since):
            self._known[key] = (kind, since)
            _write(self._file, self._known)
        return row

    def writing(self, release: Path) -> bool:
        """Mark it as being written; False if it was marked, or is not on the board yet."""
        row = self._rows.get(release)
        if row is None or row.writing:
            return False
        self._rows[release] = replace(row, writing=True)
        return True

    def drop_missing(self) -> list[Row]:
        """Take off the releases that are no longer there."""
        missing = [release for release in self._rows if not release.is_file()]
        return [replace(self._rows.pop(release), writing=False, gone=True) for release in missing]


def _kind(state: ReleaseState) -> str:
    """The state and what is to settle, as text: 'since' is the time at which either last changed."""
    return "\n".join((state.result.value, *state.to_settle, state.problem))


def _read(file: Path) -> dict[str, tuple[str, str]]:
    """What was known when it was last watched; a file of another shape counts for nothing: it is only a memory."""
    try:
        kept = json.loads(file.read_text(encoding="utf-8"))
        return {str(path): (str(kind), str(since)) for path, (kind, since) in kept.items()}
    except (OSError, ValueError, TypeError, AttributeError):
        return {}


def _write(file: Path, known: Mapping[str, tuple[str, str]]) -> None:
    """A disk that cannot be written costs the memory of "since", not the board."""
    fresh = file.with_name(f".{os.getpid()}-{file.name}")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        fresh.write_text(json.dumps(known, ensure_ascii=False, indent=1), encoding="utf-8")
        fresh.replace(file)
    except OSError:
        fresh.unlink(missing_ok=True)


def _folder(path: Path) -> Path:
    if not path.is_dir():
        raise Unusable(str(path), "no such folder", "a folder to watch", "Check the path.")
    return path.resolve()


def _below(folder: Path, roots: Sequence[Path]) -> tuple[Path, ...]:
    """All releases in and below *folder*, and sound files that belong to none."""
    found: dict[Path, None] = {}
    for place, folders, files in os.walk(folder):
        if BAG in files:
            folders.clear()
            continue
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for name in sorted(files):
            if name == RELEASE_FILE or is_sound(Path(name)):
                found.update(dict.fromkeys(affected(Path(place) / name, roots)))
    return tuple(found)


def _just_written(release: Path) -> bool:
    """Whether one of its files may still be being written when watching begins."""
    now_ns = time.time_ns()
    times_ns = [about[1] for about in _stamp(release).values() if about]
    return any(abs(now_ns - each) < SETTLED_S * 1e9 for each in times_ns)


def _stamp(release: Path) -> dict[Path, tuple[int, int] | None]:
    """Sizes and times of all files of a release: everything in its folder, packages aside; of a sound, its own."""
    if release.name != RELEASE_FILE:
        return {release: _size_and_time(release)}
    found: dict[Path, tuple[int, int] | None] = {}
    for place, folders, files in os.walk(release.parent):
        folders[:] = [] if BAG in files else [name for name in folders if not name.startswith(".")]
        found |= {Path(place) / name: _size_and_time(Path(place) / name) for name in files}
    return found


def _size_and_time(file: Path) -> tuple[int, int] | None:
    try:
        about = file.stat()
    except OSError:
        return None
    return about.st_size, about.st_mtime_ns


def _now_s() -> float:
    return time.monotonic()
