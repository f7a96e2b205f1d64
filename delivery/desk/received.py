"""A package from elsewhere, verified in place: only the result is shown, and no file of it is ever served."""

from __future__ import annotations

import threading
from pathlib import Path

from delivery.desk.feed import Feed
from delivery.desk.progress import Progress
from delivery.desk.work import Outcome, VerifyJob, VerifyResult
from delivery.desk.worker import Ticket, Worker
from delivery.errors import Unusable

ID = "received"
"""Under which open pages are informed."""


class Received:
    """The package that was chosen last. Methods may be called from any thread."""

    def __init__(self, worker: Worker, feed: Feed) -> None:
        self._worker, self._feed = worker, feed
        self._lock = threading.Lock()
        self.package: Path | None = None
        self.result: VerifyResult | None = None
        self.problem = ""
        self.progress: Progress | None = None
        self.ticket: Ticket | None = None

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
            earlier = self.ticket
            self.package, self.result, self.problem, self.progress = folder, None, "", None
            self.ticket = Ticket(VerifyJob(folder), self._progressed, self._done, self._failed)
            ticket = self.ticket
        if earlier is not None:
            self._worker.cancel(earlier)
        self._worker.put(ticket, first=True)

    def cancel(self) -> None:
        """Cancel the job."""
        if self.ticket is not None:
            self._worker.cancel(self.ticket)

    def _progressed(self, text: str, done: int, total: int, file: str) -> None:
        self.progress = Progress.after(self.progress, text, done, total, file)
        self._feed.send(ID, "progress", self.progress.as_event())

    def _done(self, ticket: Ticket, outcome: Outcome) -> None:
        assert isinstance(outcome, VerifyResult)
        with self._lock:
            if self.ticket is not ticket:
                return
            self.ticket, self.progress, self.result = None, None, outcome
        self._feed.send(ID, "built")

    def _failed(self, ticket: Ticket, text: str) -> None:
        with self._lock:
            if self.ticket is not ticket:
                return
            self.ticket, self.progress, self.problem = None, None, text
        self._feed.send(ID, "built")
