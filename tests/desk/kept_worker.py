"""One worker process for the desks of many tests: a process of its own for each would load the program again."""

from __future__ import annotations

import os
from contextlib import suppress
from multiprocessing.connection import Connection

from delivery.desk.worker import Worker
from delivery.desk.worker_process import END


class KeptWorker(Worker):
    """A worker whose process outlives a desk. It is replaced where its environment would be another one."""

    def __init__(self) -> None:
        super().__init__()
        self._begun_in: dict[str, str] = {}

    def close(self) -> None:
        """Cancel what a desk left; the process stays for the next one."""
        with self._something:
            self._waiting.clear()
            running = self._running
        if running is not None:
            self.cancel(running)

    def end_process(self) -> None:
        """Returns when it has ended; the next job begins another."""
        with self._something:
            child, pipe = self._child, self._pipe
            self._child = self._pipe = None
        if child is not None and pipe is not None:
            with suppress(OSError):
                pipe.send((END, 0))
            child.join(timeout=60)
            pipe.close()

    def end(self) -> None:
        """After the last test."""
        super().close()

    def _connected(self) -> Connection:
        variables = {name: value for name, value in os.environ.items() if name != "PYTEST_CURRENT_TEST"}
        if variables != self._begun_in:
            self.end_process()
            self._begun_in = variables
        return super()._connected()
