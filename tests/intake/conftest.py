"""For tests of the release file and the client's sheet."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture
def no_studio(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No studio file of the person who runs the tests is read."""
    monkeypatch.setattr("platformdirs.user_config_path", lambda name: tmp_path / "config" / name)
