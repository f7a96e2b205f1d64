"""Pages of the desk. Every module here that gives ``routes()`` is found by its folder.

The list of releases is the first page: it is loaded when the desk starts, and all others once it was answered, or when
one of them is asked for.
"""

from __future__ import annotations

import importlib
import pkgutil
import threading

from starlette.concurrency import run_in_threadpool
from starlette.routing import Route, Router
from starlette.types import Receive, Scope, Send

FIRST = "releases"


def first_routes() -> list[Route]:
    """The routes of the first page."""
    return _routes(FIRST)


class OtherPages:
    """An ASGI application of every page but the first, loaded when it is needed."""

    def __init__(self) -> None:
        self._router: Router | None = None
        self._lock = threading.Lock()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if self._router is None:
            await run_in_threadpool(self.load)
        await self.load()(scope, receive, send)

    def load(self) -> Router:
        """Load the pages, and what they need; only once."""
        with self._lock:
            if self._router is None:
                names = sorted(info.name for info in pkgutil.iter_modules(__path__) if not info.name.startswith("_"))
                self._router = Router([route for name in names if name != FIRST for route in _routes(name)])
            return self._router


def _routes(name: str) -> list[Route]:
    return list(importlib.import_module(f"{__name__}.{name}").routes())
