"""The program's own folders for data, settings, caches. Without a home folder the path returned cannot be created."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path


def data_folder() -> Path:
    """Folder for data that cannot be recomputed."""
    from platformdirs import user_data_path

    return _absolute(user_data_path)


def config_folder() -> Path:
    """Folder for settings."""
    from platformdirs import user_config_path

    return _absolute(user_config_path)


def cache_folder() -> Path:
    """Folder for what can be computed again."""
    from platformdirs import user_cache_path

    return _absolute(user_cache_path)


def _absolute(find: Callable[[str], Path]) -> Path:
    """Return *path* if it is absolute, else a path that cannot be created.

    Without a home folder platformdirs raises or returns '~' unexpanded, which would create a folder of that name in the
    working folder. Callers continue without the folder and report it when the system refuses the path.
    """
    try:
        folder = find("delivery")
    except RuntimeError:
        folder = Path()
    return folder if folder.is_absolute() else Path(os.devnull) / "delivery"
