"""Where the program keeps what it remembers; a path below which nothing can be where the home folder is missing."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path


def cache_folder() -> Path:
    """For what can be made again."""
    from platformdirs import user_cache_path

    return _absolute(user_cache_path)


def data_folder() -> Path:
    """For what cannot be made again."""
    from platformdirs import user_data_path

    return _absolute(user_data_path)


def config_folder() -> Path:
    """For what a person has set."""
    from platformdirs import user_config_path

    return _absolute(user_config_path)


def _absolute(find: Callable[[str], Path]) -> Path:
    """Without a home, platformdirs raises or leaves '~' as it is: a folder of that name wherever the program starts.

    Every caller goes on without its folder, and says so, when the system refuses it.
    """
    try:
        folder = find("delivery")
    except RuntimeError:
        folder = Path()
    return folder if folder.is_absolute() else Path(os.devnull) / "delivery"
