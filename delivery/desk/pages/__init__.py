"""Pages of the desk. Every module here that gives ``routes()`` is found by its folder."""

from __future__ import annotations

import importlib
import pkgutil

from starlette.routing import Route


def all_routes() -> list[Route]:
    """The routes of every page, in the order of the modules' names."""
    names = sorted(info.name for info in pkgutil.iter_modules(__path__) if not info.name.startswith("_"))
    return [route for name in names for route in importlib.import_module(f"{__name__}.{name}").routes()]
