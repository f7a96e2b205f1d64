"""The hidden folder in which a package is made: files of earlier packages are copied into it while others are made."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from delivery.model.part import Shipped
from delivery.pack import layout, system
from delivery.pack.swap import unfinished
from delivery.pack.take_over import take_over
from delivery.pipeline.sources import Progress, quiet

if TYPE_CHECKING:
    from concurrent.futures import Future, ThreadPoolExecutor

COPIES = 4
"""Files copied at once: while one waits for the disk, another is read."""


class Lost(Exception):
    """Files of earlier packages, by SHA-256, do not have these bytes any more: without them the package is made anew.

    It ends a build inside the hidden folder, which is deleted.
    """

    def __init__(self, *files: str) -> None:
        super().__init__(*files)
        self.files = files


def _threads() -> ThreadPoolExecutor:
    from concurrent.futures import ThreadPoolExecutor

    return ThreadPoolExecutor(COPIES)


@dataclass(frozen=True, slots=True)
class _Copy:
    """A file on its way into the folder."""

    sha256: str
    source: Path
    stamp: tuple[int, int]
    """Of the source when the copy was ordered: what was read of it meanwhile holds only if it is still that file."""
    arrived: Future[bool]


@dataclass(slots=True)
class PackageFolder:
    """A folder with the files of a package, some of them still being copied. As a context, it waits for its copies."""

    path: Path
    earlier: Mapping[str, Path] = field(default_factory=dict)
    """SHA-256 -> a file of an earlier package."""
    _copies: dict[str, _Copy] = field(default_factory=dict)
    _flushed: list[Future[None]] = field(default_factory=list)
    _pool: ThreadPoolExecutor = field(default_factory=_threads)
    """Without a thread until it has work."""

    def __enter__(self) -> PackageFolder:
        return self

    def __exit__(self, *_: object) -> None:
        self._pool.shutdown(wait=True, cancel_futures=True)

    def bring(self, shipped: Shipped) -> bool:
        """Begin to copy a file made before; False: no earlier package has it. `settled` tells whether it arrived."""
        source = self.earlier.get(shipped.sha256)
        try:
            stamp = _stamp(source) if source else None
        except OSError:
            return False
        if source is None or stamp is None or stamp[0] != shipped.size_bytes:
            return False
        target = layout.on_disk(self.path, shipped.path)
        arrived = self._pool.submit(take_over, source, target, shipped.sha256, shipped.blake3)
        self._copies[shipped.path] = _Copy(shipped.sha256, source, stamp, arrived)
        return True

    def holds(self, shipped: Shipped | None) -> bool:
        """True if the file is being copied, or was."""
        return shipped is not None and shipped.path in self._copies

    def source_of(self, shipped: Shipped) -> Path:
        """The earlier file that is being copied: it has the same bytes, or is `Lost`."""
        return self._copies[shipped.path].source

    def flush(self, made: Iterable[Shipped]) -> None:
        """Begin to flush finished files to disk; those that are copied are flushed with their copy."""
        for each in made:
            if not self.holds(each):
                self._flushed.append(self._pool.submit(system.settle, layout.on_disk(self.path, each.path)))

    def remove(self, inside: str) -> None:
        """Delete a file, by its path in the package, if it is there or on its way."""
        if (copy := self._copies.pop(inside, None)) and not copy.arrived.cancel():
            copy.arrived.exception()
        layout.on_disk(self.path, inside).unlink(missing_ok=True)

    def settled(self, progress: Progress = quiet) -> None:
        """Wait until every copy is there and proven, and what was to be flushed is on the disk.

        Raises
        ------
        Lost : earlier files are damaged, or were changed meanwhile
        Unfinished : the folder's disk failed
        """
        text, copies = "taking over unchanged files", list(self._copies.values())
        lost = []
        for done, copy in enumerate(copies, start=1):
            lost += [] if self._has_arrived(copy) else [copy.sha256]
            progress(text, done, len(copies))
        if lost:
            raise Lost(*lost)
        try:
            for flushed in self._flushed:
                flushed.result()
        except OSError as fault:
            raise unfinished(fault, self.path) from fault

    def _has_arrived(self, copy: _Copy) -> bool:
        try:
            whole = copy.arrived.result()
        except OSError as fault:
            raise unfinished(fault, self.path) from fault
        try:
            return whole and _stamp(copy.source) == copy.stamp
        except OSError:
            return False


def _stamp(file: Path) -> tuple[int, int]:
    found = file.stat()
    return found.st_size, found.st_mtime_ns
