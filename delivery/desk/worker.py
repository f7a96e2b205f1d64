"""Heavy work in a process of its own (`worker_process`), one job after the other, so that pages are answered at once
meanwhile."""

from __future__ import annotations

import multiprocessing
import os
import pickle
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from multiprocessing.connection import Connection

from delivery.desk.work import Job, Outcome
from delivery.desk.worker_process import CANCEL, CANCELLED, END, JOB, serve

ENDED = "The worker process ended unexpectedly; nothing incomplete is left behind. Try again, and please report it."


@dataclass(eq=False)
class Ticket:
    """A job that is waiting or running, and whom it informs. The callbacks run in a thread of the worker."""

    job: Job
    on_progress: Callable[[str, int, int, str], None]
    """Step, number done, total, and the file that is begun; empty: none."""
    on_done: Callable[[Ticket, Outcome], None]
    on_failed: Callable[[Ticket, str], None]
    """With one clear message."""
    cancelled: bool = field(default=False)


class Worker:
    """Does tickets in order, one at a time, in a child process that is started when it is first needed."""

    def __init__(self, workers: int = max(1, min(8, os.cpu_count() or 1))) -> None:
        self._workers = workers
        self._waiting: list[Ticket] = []
        self._running: Ticket | None = None
        self._number = 0
        """Of the running job."""
        self._something = threading.Condition()
        self._child: multiprocessing.process.BaseProcess | None = None
        self._pipe: Connection | None = None
        self._closed = False
        threading.Thread(target=self._serve, daemon=True, name="desk worker").start()

    def put(self, ticket: Ticket, *, first: bool = False) -> Ticket:
        """Queue a job; *first*: before all others."""
        with self._something:
            self._waiting.insert(0 if first else len(self._waiting), ticket)
            self._something.notify()
        return ticket

    def cancel(self, ticket: Ticket) -> None:
        """Remove a waiting ticket or interrupt a running one; its `on_failed` is called either way."""
        with self._something:
            waiting = ticket in self._waiting
            ticket.cancelled = True
            if waiting:
                self._waiting.remove(ticket)
            elif self._running is ticket and self._pipe is not None:
                with suppress(OSError):
                    self._pipe.send((CANCEL, self._number))
        if waiting:
            ticket.on_failed(ticket, CANCELLED)

    def close(self) -> None:
        """Cancel everything and end the child process; returns when it has ended."""
        with self._something:
            self._closed = True
            self._waiting.clear()
            if self._pipe is not None:
                with suppress(OSError):
                    self._pipe.send((END, 0))
            child = self._child
            self._something.notify()
        if child is not None:
            child.join(timeout=20)
            if child.is_alive():
                child.kill()

    def _serve(self) -> None:
        while True:
            with self._something:
                self._something.wait_for(lambda: self._waiting or self._closed)
                if self._closed:
                    return
                ticket = self._running = self._waiting.pop(0)
            try:
                self._do(ticket)
            except (EOFError, OSError, pickle.UnpicklingError):
                self._drop_child()
                if not self._closed:
                    ticket.on_failed(ticket, CANCELLED if ticket.cancelled else ENDED)
            finally:
                with self._something:
                    self._running = None

    def _do(self, ticket: Ticket) -> None:
        pipe = self._connected()
        with self._something:  # a ticket cancelled before this is not sent; afterwards `cancel` sends the message
            cancelled = ticket.cancelled
            if not cancelled:
                self._number += 1
                pipe.send((JOB, (self._number, ticket.job)))
        if cancelled:
            ticket.on_failed(ticket, CANCELLED)
            return
        while True:
            kind, *rest = pipe.recv()
            if kind == "progress":
                ticket.on_progress(*rest)
            elif kind == "done":
                ticket.on_done(ticket, *rest)
                return
            else:
                ticket.on_failed(ticket, *rest)
                return

    def _connected(self) -> Connection:
        with self._something:
            if self._closed:
                raise EOFError
            if self._pipe is None or self._child is None or not self._child.is_alive():
                context = multiprocessing.get_context("spawn")
                self._pipe, theirs = context.Pipe()
                self._child = context.Process(target=serve, args=(theirs, self._workers), daemon=False)
                self._child.start()
                theirs.close()
            return self._pipe

    def _drop_child(self) -> None:
        with self._something:
            if self._pipe is not None:
                self._pipe.close()
            self._pipe = None
