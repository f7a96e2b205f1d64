"""For tests by other programs."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.tags.sounds import make_all


@pytest.fixture(scope="package")
def untagged(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small file of each container, without tags; copy before writing."""
    folder = tmp_path_factory.mktemp("untagged")
    make_all(folder)
    return folder
