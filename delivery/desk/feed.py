"""What open pages are informed of, as server-sent events (HTML Living Standard, 9.2)."""

from __future__ import annotations

import asyncio
import json
import threading
from collections.abc import AsyncIterator
from typing import Any

BEAT_S = 15.0
"""A comment line that often, so that a page which has gone is noticed."""
MOST_WAITING = 200
PROGRESS, MISSED = "progress", "missed"
"""Kinds of events: the progress of a job, where only the latest matters; and that the page has missed events."""


class Feed:
    """Sends events to every page that shows a release. `send` may be called from any thread.

    Events are numbered. A page says which it has seen, and is told MISSED if there were others since: between its
    making and its first connection, or while a connection was broken.
    """

    def __init__(self) -> None:
        self._pages: dict[asyncio.Queue[str], tuple[str, asyncio.AbstractEventLoop]] = {}
        self._lock = threading.Lock()
        self._number = 0
        """Of the last event."""
        self._last: dict[str, int] = {}
        """Number of the last event of each release that changes what its page shows."""

    def number(self) -> int:
        """Of the last event."""
        with self._lock:
            return self._number

    def watched(self) -> set[str]:
        """Ids of the releases that a page shows now."""
        with self._lock:
            return {release for release, _ in self._pages.values()}

    def send(self, release: str, kind: str, data: Any = None) -> None:
        """Send an event to every open page of *release*."""
        with self._lock:
            self._number += 1
            if kind != PROGRESS:
                self._last[release] = self._number
            text = f"id: {self._number}\nevent: {kind}\ndata: {json.dumps(data)}\n\n"
            pages = [(queue, loop) for queue, (of, loop) in self._pages.items() if of == release]
        for queue, loop in pages:
            loop.call_soon_threadsafe(_put, queue, text)

    def end(self) -> None:
        """End the events of every page when the desk closes."""
        with self._lock:
            pages = [(queue, loop) for queue, (_, loop) in self._pages.items()]
        for queue, loop in pages:
            loop.call_soon_threadsafe(_put, queue, "")

    async def events(self, release: str, seen: int) -> AsyncIterator[str]:
        """Events for a page of *release* that has *seen* all up to this number, until it goes or the desk closes."""
        queue: asyncio.Queue[str] = asyncio.Queue(MOST_WAITING)
        with self._lock:
            self._pages[queue] = (release, asyncio.get_running_loop())
            missed = self._last.get(release, 0) > seen
        try:
            yield "retry: 2000\n\n"
            if missed:
                yield f"event: {MISSED}\ndata: null\n\n"
            while True:
                try:
                    text = await asyncio.wait_for(queue.get(), BEAT_S)
                except TimeoutError:
                    text = ": still here\n\n"
                if not text:
                    return
                yield text
        finally:
            with self._lock:
                self._pages.pop(queue, None)


def _put(queue: asyncio.Queue[str], text: str) -> None:
    if queue.full():
        queue.get_nowait()
    queue.put_nowait(text)
