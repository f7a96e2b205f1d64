"""A job cancelled at any moment is not done, and the next one is not hit."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from delivery.desk.work import CheckJob, Outcome
from delivery.desk.worker import CANCELLED, Ticket, Worker

PATIENCE_S = 120.0


class Told:
    """What a ticket was told."""

    def __init__(self, file: Path) -> None:
        self.ended = threading.Event()
        self.failed, self.outcome = "", None
        self.ticket = Ticket(CheckJob(file), lambda *_: None, self._done, self._failed)

    def _done(self, _ticket: Ticket, outcome: Outcome) -> None:
        self.outcome = outcome
        self.ended.set()

    def _failed(self, _ticket: Ticket, text: str) -> None:
        self.failed = text
        self.ended.set()


@pytest.mark.parametrize("wait_s", [0.0, 0.02, 0.3, 1.0])
def test_a_job_cancelled_while_its_process_starts_is_not_done(masters: Path, wait_s: float) -> None:
    worker = Worker(1)
    try:
        first = Told(masters / "release.yaml")
        worker.put(first.ticket)
        threading.Event().wait(wait_s)
        worker.cancel(first.ticket)
        assert first.ended.wait(PATIENCE_S)
        assert first.outcome is not None or first.failed == CANCELLED
        if wait_s < 0.1:  # the process takes longer than that to start
            assert first.failed == CANCELLED

        second = Told(masters / "release.yaml")
        worker.put(second.ticket)
        worker.cancel(first.ticket)  # too late: it must not hit the second
        assert second.ended.wait(PATIENCE_S)
        assert second.failed == ""
    finally:
        worker.close()
