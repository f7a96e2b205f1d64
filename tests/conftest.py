"""What tests deliver is nobody's delivery: the ledger of what was sent stands in a folder that goes with them."""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest


@pytest.fixture(autouse=True, scope="session")
def own_ledger(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Also for the processes that tests start."""
    before = os.environ.get("XDG_DATA_HOME")
    os.environ["XDG_DATA_HOME"] = str(tmp_path_factory.mktemp("ledger"))
    yield
    os.environ.pop("XDG_DATA_HOME")
    if before is not None:
        os.environ["XDG_DATA_HOME"] = before
