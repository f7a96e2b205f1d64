"""One job at a time whose latest result is shown: a comparison, a received package."""

from __future__ import annotations

import threading
from typing import Generic, TypeVar, cast

from delivery.desk.feed import PROGRESS, Feed
from delivery.desk.progress import Progress
from delivery.desk.work import Job, Outcome
from delivery.desk.worker import Ticket, Worker

Result = TypeVar("Result", bound=Outcome)


class LatestJob(Generic[Result]):
    """The job that was begun last. Methods may be called from any thread.

    Parameters
    ----------
    id : the name under which open pages get its events
    """

    def __init__(self, worker: Worker, feed: Feed, id: str) -> None:
        self._worker, self._feed, self._id = worker, feed, id
        self._lock = threading.Lock()
        self.result: Result | None = None
        self.problem = ""
        self.progress: Progress | None = None
        self.ticket: Ticket | None = None

    def cancel(self) -> None:
        """Cancel the job."""
        if self.ticket is not None:
            self._worker.cancel(self.ticket)

    def _replace(self, job: Job) -> tuple[Ticket, Ticket | None]:
        """The ticket of *job*, which is shown from now on, and the one before; called with the lock held."""
        earlier = self.ticket
        self.result, self.problem, self.progress = None, "", None
        self.ticket = Ticket(job, self._progressed, self._done, self._failed)
        return self.ticket, earlier

    def _start(self, ticket: Ticket, earlier: Ticket | None) -> None:
        if earlier is not None:
            self._worker.cancel(earlier)
        self._worker.put(ticket, first=True)

    def _progressed(self, text: str, done: int, total: int, file: str) -> None:
        self.progress = Progress.after(self.progress, text, done, total, file)
        self._feed.send(self._id, PROGRESS, self.progress.as_event())

    def _done(self, ticket: Ticket, outcome: Outcome) -> None:
        with self._lock:
            if self.ticket is not ticket:
                return
            self.ticket, self.progress, self.result = None, None, cast(Result, outcome)
        self._feed.send(self._id, "built")

    def _failed(self, ticket: Ticket, text: str) -> None:
        with self._lock:
            if self.ticket is not ticket:
                return
            self.ticket, self.progress, self.problem = None, None, text
        self._feed.send(self._id, "built")
