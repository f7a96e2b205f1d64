"""The demo's album, made once for the tests here."""

from __future__ import annotations

from pathlib import Path

import pytest

from demo import album


@pytest.fixture(scope="session")
def received(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the release as it arrived."""
    return album.write_received(tmp_path_factory.mktemp("album") / album.RECEIVED).parent


@pytest.fixture(scope="session")
def corrected(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the release as it is delivered."""
    return album.write_corrected(tmp_path_factory.mktemp("album") / album.CORRECTED).parent
