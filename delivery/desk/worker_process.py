"""The process that does the desk's jobs: the other end of the pipe of `worker`.

A job is cancelled by an interrupt, as with Ctrl-C on the command line: nothing incomplete is left. When the desk's own
process ends in any way, the pipe closes and this one interrupts and ends itself.
"""

from __future__ import annotations

import os
import signal
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from multiprocessing.connection import Connection
from types import FrameType
from typing import Any

from delivery.desk.work import Job, do
from delivery.errors import DeliveryError

CANCEL, JOB, END = "cancel", "job", "end"
"""Messages to this process. A job and its cancelling bear the same number, so that no other job is hit."""
RETRY_S = 0.02
CANCELLED = "Cancelled: nothing incomplete is left behind."


def serve(pipe: Connection, workers: int) -> None:
    """Main function of the child process: jobs come from *pipe*, messages go back."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C in a terminal reaches the desk, which closes the pipe
    with suppress(OSError, AttributeError):
        os.nice(5)
    jobs = Inbox(pipe)
    while (job := jobs.next()) is not None:
        answer = _answer(job, jobs, workers, _Reporter(pipe, jobs))
        try:
            pipe.send(answer)
        except OSError:
            return


def _answer(job: Job, jobs: Inbox, workers: int, progress: Callable[[str, int, int], None]) -> tuple[Any, ...]:
    """Do *job* until it is interrupted."""
    answer: tuple[Any, ...] = ("failed", CANCELLED)
    try:
        jobs.interruptible(True)
        try:
            answer = ("done", do(job, workers, progress))
        except DeliveryError as error:
            answer = ("failed", str(error))
        except Exception as error:  # noqa: BLE001 - the last edge: an unforeseen error is one message too
            answer = ("failed", f"An error in the program itself ({type(error).__name__}: {error}). Please report it.")
        jobs.interruptible(False)
    except KeyboardInterrupt:  # also one that comes when the job has ended just now: then its result counts
        jobs.interruptible(False)
    return answer


class _Reporter:
    """Sends how far a job has come, and which file is begun; it is called from the job's threads.

    It ends a job that was cancelled all the same: an interrupt that comes during a finaliser is lost in Python.
    """

    def __init__(self, pipe: Connection, jobs: Inbox) -> None:
        self._pipe, self._jobs, self._lock = pipe, jobs, threading.Lock()
        self._said = ("", 0, 0)

    def __call__(self, text: str, done: int, total: int) -> None:
        self._jobs.refuse_cancelled()
        with self._lock:
            self._said = (text, done, total)
            self._pipe.send(("progress", text, done, total, ""))

    def began(self, text: str, name: str) -> None:
        """A file is begun."""
        self._jobs.refuse_cancelled()
        with self._lock:
            _, done, total = self._said if self._said[0] == text else (text, 0, 0)
            self._pipe.send(("progress", text, done, total, name))


class Inbox:
    """Reads the pipe in a thread: a job is kept, its cancelling and the end of the desk interrupt the main thread."""

    def __init__(self, pipe: Connection) -> None:
        self._pipe = pipe
        self._job: tuple[int, Job] | None = None
        self._number = 0
        """Of the job that the main thread took last."""
        self._cancelled = 0
        """Number of the job that was cancelled last."""
        self._news = threading.Condition()
        self._ended = False
        self._interruptible = False
        self._due = False
        """The main thread is to be interrupted, and was not yet."""
        threading.Thread(target=self._read, daemon=True).start()

    def next(self) -> Job | None:
        """The next job; None when the desk has ended."""
        with self._news:
            self._news.wait_for(lambda: self._job is not None or self._ended)
            if self._job is None:
                return None
            (self._number, job), self._job = self._job, None
            return job

    def refuse_cancelled(self) -> None:
        """Raise KeyboardInterrupt if the running job was cancelled."""
        if self._ended or self._cancelled == self._number:
            raise KeyboardInterrupt

    def interruptible(self, yes: bool) -> None:
        """From now on a cancelling interrupts the main thread, or not.

        Raises
        ------
        KeyboardInterrupt : the job was cancelled before it began
        """
        with self._news:
            self._interruptible = yes and not self._ended
            self._due = False
            signal.signal(signal.SIGINT, self._end_job if self._interruptible else signal.SIG_IGN)
            if yes and (self._ended or self._cancelled == self._number):
                raise KeyboardInterrupt

    def _end_job(self, _number: int, frame: FrameType | None) -> None:
        """Raise KeyboardInterrupt, but not during an import: half of a module would stay, and fail every later job."""
        if not _is_importing(frame):  # else `_read` sends the signal again
            self._due = False
            raise KeyboardInterrupt

    def _nothing_comes(self) -> bool:
        """Wait a little for a message."""
        if self._ended:
            time.sleep(RETRY_S)
        return self._ended or not self._pipe.poll(RETRY_S)

    def _read(self) -> None:
        while self._due or not self._ended:
            if self._due and self._nothing_comes():
                with self._news:
                    if self._due:
                        _interrupt()
                continue
            try:
                kind, content = self._pipe.recv()
            except (EOFError, OSError):
                kind, content = END, 0
            with self._news:
                if kind == JOB:
                    self._job = content
                else:
                    self._ended = self._ended or kind == END
                    self._cancelled = content or self._cancelled
                    if self._interruptible and (self._ended or self._cancelled == self._number):
                        self._interruptible = False  # once: nothing interrupts the cleaning up
                        self._due = True
                        _interrupt()
                self._news.notify()


def _is_importing(frame: FrameType | None) -> bool:
    while frame is not None:
        if frame.f_code.co_filename.startswith("<frozen importlib"):
            return True
        frame = frame.f_back
    return False


def _interrupt() -> None:
    """Raise KeyboardInterrupt in the main thread, also while it waits."""
    if hasattr(signal, "pthread_kill"):
        signal.pthread_kill(threading.main_thread().ident or 0, signal.SIGINT)
    else:
        import _thread

        _thread.interrupt_main()
