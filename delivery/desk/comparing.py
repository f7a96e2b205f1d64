"""Comparisons on the desk: two files, or songs beside a reference playlist. One at a time; the last one is shown."""

from __future__ import annotations

from pathlib import Path

from delivery.desk.feed import Feed
from delivery.desk.folders import Folders
from delivery.desk.latest_job import LatestJob
from delivery.desk.temporary import Temporary
from delivery.desk.work_compare import KeepJob, KeptResult, PairJob, PairResult, ReferenceJob, ReferenceResult
from delivery.desk.worker import Worker
from delivery.errors import Unusable

ID = "compare"
"""Open pages receive the events of a comparison under this name."""


class Comparing(LatestJob[PairResult | ReferenceResult | KeptResult]):
    """The last comparison. Methods may be called from any thread."""

    def __init__(self, worker: Worker, feed: Feed, folders: Folders, temporary: Temporary) -> None:
        super().__init__(worker, feed, ID)
        self._folders, self._temporary = folders, temporary
        self._copies: Path | None = None
        self.turn = 0
        """Number of the comparison, so that a page knows another one."""

    def pair(self, one: str, other: str) -> None:
        """Begin to compare two files, and to make copies for listening.

        Raises
        ------
        Unusable : not the paths of two files in opened folders
        """
        files = self._opened(one), self._opened(other)
        folder = self._temporary.folder()
        self._begin(PairJob(*files, folder), folder)

    def reference(self, song: str, name: str) -> None:
        """Begin to set a song, a folder or a release beside the reference *name*. Raises Unusable as `pair`."""
        self._begin(ReferenceJob(self._opened(song), name))

    def keep(self, name: str, folder: str) -> None:
        """Begin to measure the songs of *folder* as the reference *name*. Raises Unusable as `pair`."""
        self._begin(KeepJob(name, self._opened(folder)))

    def copy(self, name: str) -> Path | None:
        """A copy for listening; None if the last comparison has none of that name."""
        known = self.result.copies if isinstance(self.result, PairResult) else ()
        return next((path for path in known if path.name == name and path.is_file()), None)

    def _opened(self, typed: str) -> Path:
        path = Path(typed.strip()).expanduser()
        wanted = "a path in a folder that you opened"
        if not typed.strip() or not path.is_absolute():
            raise Unusable(typed or "path", "no whole path", wanted, "Write it from the first '/' on.")
        if not self._folders.holds(path):
            raise Unusable(typed, "a folder that was not opened", wanted, "Open its folder first.")
        if not path.exists():
            raise Unusable(typed, "nothing there", wanted, "Check the path.")
        return path.resolve()

    def _begin(self, job: PairJob | ReferenceJob | KeepJob, copies: Path | None = None) -> None:
        with self._lock:
            before, self._copies = self._copies, copies
            self.turn += 1
            ticket, earlier = self._replace(job)
        self._start(ticket, earlier)
        self._temporary.remove(before)
