"""Sound files for the package's tests; tests of other folders call ``sounds.make_all``."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.tags import sounds


@pytest.fixture(scope="session")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One small file for each container; copy before writing."""
    folder = tmp_path_factory.mktemp("shelf")
    sounds.make_all(folder)
    return folder
