"""Where the heavy work on each file runs: in this process, or on the workers of a cluster (`pipeline.cluster`)."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Generator, Iterable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path
from threading import Semaphore
from typing import Any, Protocol, TypeVar

Item = TypeVar("Item")
Made = TypeVar("Made")
AHEAD = 2
"""Items submitted ahead for each worker; more would only occupy memory."""


class Engine(Protocol):
    """Runs a function of a module on plain arguments; results and exceptions are as if it were called here."""

    @property
    def width(self) -> int:
        """Number of concurrent calls that keep all workers busy."""

    @property
    def is_local(self) -> bool:
        """Whether it runs on this machine's own files, so that reading them here costs the same."""

    def location(self, file: Path) -> str:
        """Where it finds *file*: its path, or the address that it was fetched from."""

    def run(self, work: Callable[..., Made], *arguments: Any) -> Made:
        """Call *work*; blocks until the result is there. Called from several threads at once."""

    def stop(self) -> None:
        """End the calls that are waiting, with an error, so that an interruption need not wait for them."""


@dataclass(frozen=True, slots=True)
class Here:
    """This process, for *width* calls at a time; the heavy parts release the interpreter lock."""

    width: int = 2
    is_local: bool = True
    _turns: Semaphore = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_turns", Semaphore(self.width))

    def location(self, file: Path) -> str:
        """Its path."""
        return str(file)

    def run(self, work: Callable[..., Made], *arguments: Any) -> Made:
        """Call it when one of the calls before it has ended."""
        with self._turns:
            return work(*arguments)

    def stop(self) -> None:
        """Calls end by themselves: what they find is kept."""


@dataclass(frozen=True, slots=True)
class Share:
    """What one of several releases at a time takes of a cluster, or of this machine, so that all of them together keep
    it at work."""

    whole: Engine
    width: int = 2

    @property
    def is_local(self) -> bool:
        """As the whole."""
        return self.whole.is_local

    def location(self, file: Path) -> str:
        """As the whole."""
        return self.whole.location(file)

    def run(self, work: Callable[..., Made], *arguments: Any) -> Made:
        """As the whole."""
        return self.whole.run(work, *arguments)

    def stop(self) -> None:
        """As the whole, and for all."""
        self.whole.stop()


def in_order(
    work: Callable[[Item], Made], items: Iterable[Item], width: int, engine: Engine | None = None
) -> Generator[Made]:
    """Results of *work* in the order of *items*, *width* at a time; memory does not grow with their number.

    Closing the iterator begins no other and lets those that have begun end, but for their calls to *engine*, which it
    stops. After Ctrl-C those that have begun here still come, then the interrupt.
    """
    waiting = iter(items)
    pool = ThreadPoolExecutor(max(1, width))
    begun: deque[Future[Made]] = deque(pool.submit(work, item) for item in islice(waiting, width * AHEAD))
    try:
        while begun:
            made = begun[0].result()
            begun.popleft()
            begun.extend(pool.submit(work, item) for item in islice(waiting, 1))
            yield made
    except KeyboardInterrupt:
        if engine is None:
            pool.shutdown(wait=True, cancel_futures=True)
            yield from (future.result() for future in begun if not future.cancelled() and not future.exception())
            begun.clear()
        raise
    finally:
        if begun and engine:
            engine.stop()
        pool.shutdown(wait=True, cancel_futures=True)
