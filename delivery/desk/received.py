"""A package from elsewhere, verified in place: only the result is shown, and no file of it is ever served."""

from __future__ import annotations

from pathlib import Path

from delivery.desk.feed import Feed
from delivery.desk.latest_job import LatestJob
from delivery.desk.work import VerifyJob, VerifyResult
from delivery.desk.worker import Worker
from delivery.errors import Unusable

ID = "received"
"""The name under which open pages get its events."""


class Received(LatestJob[VerifyResult]):
    """The package that was chosen last. Methods may be called from any thread."""

    def __init__(self, worker: Worker, feed: Feed) -> None:
        super().__init__(worker, feed, ID)
        self.package: Path | None = None

    def verify(self, typed: str) -> None:
        """Begin to verify the package in the folder *typed*; one that is under way is cancelled.

        Raises
        ------
        Unusable : not the whole path of a folder
        """
        folder = Path(typed.strip()).expanduser()
        wanted = "the path of a package folder"
        if not typed.strip() or not folder.is_absolute():
            raise Unusable(typed or "package", "no whole path", wanted, "Write it from the first '/' on.")
        try:
            folder = folder.resolve(strict=True)
        except (OSError, RuntimeError, ValueError) as error:
            raise Unusable(typed, "nothing there", wanted, "Check the path.") from error
        if not folder.is_dir():
            raise Unusable(typed, "a file", wanted, "Choose the folder; unpack a zip file first.")
        with self._lock:
            self.package = folder
            ticket, earlier = self._replace(VerifyJob(folder))
        self._start(ticket, earlier)
