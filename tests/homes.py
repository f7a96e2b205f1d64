"""A home of a test's own: no test may see or touch the cache, ledger and profile of the person who runs it."""

from __future__ import annotations

from pathlib import Path

import pytest

HOMES = ("XDG_CACHE_HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "HOME", "LOCALAPPDATA", "APPDATA")
"""Environment variables that say where a user's own files are, on each system."""


def live_in(home: Path, patch: pytest.MonkeyPatch) -> Path:
    """Set them all to *home*, which need not exist."""
    for name in HOMES:
        patch.setenv(name, str(home))
    return home
