"""Making files on the workers of a cluster: only where they see the same masters and the same folder as this machine.

A worker writes into a folder of its own inside the hidden folder of the build, and what it returns is moved into place
here. So a call that is made twice, because its worker was thought dead, makes one file: the other folder is deleted.
"""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path

from delivery.chain.stream import Master, Stream
from delivery.model.part import Part
from delivery.model.release import Release
from delivery.pack import layout
from delivery.pipeline.engine import Engine
from delivery.pipeline.make_part import Task, make
from delivery.pipeline.trial_conversion import Peaks, Wanted, converted_peaks

APART = ".part-"
Seen = tuple[tuple[str, int, int], ...]
"""Path, size and time of change of each master."""


def make_elsewhere(task: Task, release: Release, folder: Path, picture: bytes | None, engine: Engine) -> Part:
    """As `make`, on a worker; here if no worker sees the files.

    Raises
    ------
    Unfinished : as `make`, or the cluster has gone
    """
    file = task.source.track.file
    made = engine.run(made_apart, str(file), seen(_masters(task)), task, release, str(folder), picture)
    if made is None:
        return make(task, release, folder, picture)
    part, apart = made
    if part.shipped:
        target = layout.on_disk(folder, part.shipped.path)
        target.parent.mkdir(parents=True, exist_ok=True)
        layout.on_disk(Path(apart), part.shipped.path).replace(target)
    shutil.rmtree(apart, ignore_errors=True)
    return part


def made_apart(
    _place: str, masters: Seen, task: Task, release: Release, folder: str, picture: bytes | None
) -> tuple[Part, str] | None:
    """On a worker: make the part in a new folder inside *folder*; None if it does not see what it needs."""
    if not sees(masters):
        return None
    try:
        apart = tempfile.mkdtemp(prefix=APART, dir=folder)
    except OSError:  # not there, or not to be written
        return None
    return make(task, release, Path(apart), picture), apart


def forget_abandoned(folder: Path) -> None:
    """Delete what workers that ended have left in the hidden *folder*."""
    for abandoned in folder.glob(f"{APART}*"):
        shutil.rmtree(abandoned, ignore_errors=True)


def try_elsewhere(wanted: Wanted, engine: Engine) -> Peaks:
    """As `converted_peaks`, on a worker; here if no worker sees the masters.

    Raises
    ------
    Unreadable : as `converted_peaks`
    """
    files = [source.track.file for source in wanted.stream.sources]
    found = engine.run(peaks_there, str(files[0]), seen(files), wanted)
    return converted_peaks(wanted.stream, wanted.limit_dbfs) if found is None else found


def peaks_there(_place: str, masters: Seen, wanted: Wanted) -> Peaks | None:
    """On a worker: the peaks; None if it does not see the masters."""
    return converted_peaks(wanted.stream, wanted.limit_dbfs) if sees(masters) else None


def seen(files: Iterable[Path]) -> Seen:
    """What a worker must see to work on *files*; one that is gone is left to whoever reads it."""
    return tuple((str(file), *_stamp(file)) for file in dict.fromkeys(files))


def sees(files: Seen) -> bool:
    """Whether all of these files are there, with the same sizes and times of change."""
    return all(_stamp(Path(path)) == tuple(stamp) and Path(path).is_file() for path, *stamp in files)


def _stamp(file: Path) -> tuple[int, int]:
    try:
        status = file.stat()
    except OSError:
        return 0, 0
    return status.st_size, status.st_mtime_ns


def _masters(task: Task) -> Iterator[Path]:
    yield task.source.track.file
    if task.place:
        stream = task.place.stream
        yield from (master.file for each in (stream.before, stream, stream.after) for master in _of(each))


def _of(stream: Stream | None) -> tuple[Master, ...]:
    return stream.masters if stream else ()
