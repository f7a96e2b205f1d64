"""A job cancelled at any moment is not done, and the next one is not hit."""

from __future__ import annotations

import importlib
import multiprocessing
import signal
import sys
import threading
import time
from pathlib import Path

import pytest

from delivery.desk.work import CheckJob, Outcome
from delivery.desk.worker import Ticket, Worker
from delivery.desk.worker_process import CANCEL, CANCELLED, JOB, Inbox
from tests.desk.conftest import Client

PATIENCE_S = 120.0


class Told:
    """Events that a ticket got."""

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


SLOW_MODULE = """
import time
until = time.monotonic() + 0.5
while time.monotonic() < until:
    pass
WHOLE = True
"""


def test_an_import_is_never_cut_in_half(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A module of which half stays would make every later job fail: the interrupt waits until it is whole."""
    (tmp_path / "slow_module_of_a_test.py").write_text(SLOW_MODULE, encoding="utf-8")
    monkeypatch.syspath_prepend(tmp_path)
    ours, theirs = multiprocessing.Pipe()
    before = signal.getsignal(signal.SIGINT)
    try:
        jobs = Inbox(theirs)
        ours.send((JOB, (1, CheckJob(tmp_path))))
        jobs.next()
        jobs.interruptible(True)
        threading.Timer(0.1, lambda: ours.send((CANCEL, 1))).start()
        with pytest.raises(KeyboardInterrupt):  # noqa: PT012 - it may come in any of these lines
            importlib.import_module("slow_module_of_a_test")
            time.sleep(PATIENCE_S)
        jobs.interruptible(False)
    finally:
        signal.signal(signal.SIGINT, before)
        ours.close()
    assert sys.modules["slow_module_of_a_test"].WHOLE


def test_a_release_edited_while_its_first_check_begins_is_checked_all_the_same(client: Client) -> None:
    """Each edit cancels a check that may still be loading its modules."""
    at = client.release
    for number in range(8):
        client.get(at)
        cells = [{"cell": "c-1-title", "text": f"Song {number}"}]
        assert client.post(f"{at}/cells", {"digest": client.digest, "cells": cells}).status_code == 200
        time.sleep(0.15)
    one = client.desk.releases()[0]
    end = time.monotonic() + PATIENCE_S
    while one.ticket is not None and time.monotonic() < end:
        time.sleep(0.05)
    assert one.problem == ""
    assert one.view is not None
