"""A package on its way from the browser: file after file in the order offered, each streamed into a private folder."""

from __future__ import annotations

import secrets
import threading
import time
from collections.abc import AsyncIterator
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from starlette.concurrency import run_in_threadpool

from delivery.errors import Unusable

if TYPE_CHECKING:
    from delivery.tasks.incoming import Offer

BLOCK_BYTES = 1 << 20
"""Most that is held in memory."""
IDLE_S = 60.0
"""So long without a byte, and the page has gone."""
AGAIN = "Drop the package again."


class Transfer:
    """One package that is arriving.

    Parameters
    ----------
    folder : a new private folder; the package is made in it
    """

    def __init__(self, offer: Offer, folder: Path) -> None:
        self.id = secrets.token_urlsafe(16)
        self.offer, self.folder = offer, folder
        self.package = folder / offer.name
        self.received_bytes = 0
        self.file = ""
        """That is arriving now."""
        self._next = 0
        self._heard_s = time.monotonic()
        self._ended = threading.Event()
        self._lock = threading.Lock()

    @property
    def idle(self) -> bool:
        """True if nothing has come for a while."""
        return time.monotonic() - self._heard_s > IDLE_S

    @property
    def whole(self) -> bool:
        """True when every file has arrived."""
        return self._next == len(self.offer.files) and not self.file

    def end(self) -> None:
        """Refuse everything that still comes."""
        self._ended.set()

    async def take(self, number: int, body: AsyncIterator[bytes]) -> None:
        """Write file *number* of the offer from *body*.

        Raises
        ------
        Unusable : not the next file, or not of the size offered, or the transfer has ended
        Unfinished : the disk refuses it
        """
        with self._lock:
            if number != self._next or self.file or number >= len(self.offer.files) or self._ended.is_set():
                raise Unusable(self.offer.name, "a file out of turn", "the files in the order offered", AGAIN)
            coming = self.offer.files[number]
            self.file = coming.path
        from delivery.tasks.incoming import create

        file = await run_in_threadpool(create, self.package, coming.path)
        try:
            size = await self._written(file, coming.size_bytes, body)
        finally:
            await run_in_threadpool(file.close)
        if size != coming.size_bytes:
            raise self._other_size()
        with self._lock:
            self._next, self.file = number + 1, ""

    async def _written(self, file: BinaryIO, most_bytes: int, body: AsyncIterator[bytes]) -> int:
        from delivery.tasks.incoming import write

        block, size = bytearray(), 0
        async for part in body:
            size += len(part)
            self._heard_s = time.monotonic()
            self._refuse_ended()
            if size > most_bytes:
                raise self._other_size()
            block += part
            if len(block) >= BLOCK_BYTES:
                await run_in_threadpool(write, file, bytes(block), self.package)
                self.received_bytes += len(block)
                block.clear()
        await run_in_threadpool(write, file, bytes(block), self.package)
        self.received_bytes += len(block)
        self._refuse_ended()
        return size

    def _refuse_ended(self) -> None:
        if self._ended.is_set():
            raise Unusable(self.offer.name, "a transfer that was cancelled", "one that goes on", AGAIN)

    def _other_size(self) -> Unusable:
        return Unusable(self.file, "another size than offered", "a file that is not changed meanwhile", AGAIN)
