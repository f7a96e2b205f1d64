"""For all tests: a ledger of their own, and every refusal that any of them meets has its four parts."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Generator, Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

from delivery.errors import Unusable
from delivery.report.view.report import Report
from tests.homes import live_in
from tests.thoroughness import chosen

settings.register_profile(
    "busy machine",
    settings.default,  # in CI that one tries the same examples each time
    deadline=None,
    suppress_health_check=(HealthCheck.too_slow, HealthCheck.function_scoped_fixture),
)
settings.load_profile("busy machine")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--sample", action="store_true", help="take a part of the cases of tests marked 'thorough'")


@pytest.hookimpl(wrapper=True, optionalhook=True)
def pytest_xdist_auto_num_workers() -> Generator[None, int, int]:
    """One more than there are cores, because tests spend a fifth of their time waiting for browsers and processes."""
    return (yield) + 1


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("sample"):
        kept = chosen(items)
        config.hook.pytest_deselected(items=[item for item in items if item not in kept])
        items[:] = [item for item in items if item in kept]


@pytest.fixture(autouse=True, scope="session")
def own_ledger(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Also for the processes that tests start."""
    before = os.environ.get("XDG_DATA_HOME")
    os.environ["XDG_DATA_HOME"] = str(tmp_path_factory.mktemp("ledger"))
    yield
    os.environ.pop("XDG_DATA_HOME")
    if before is not None:
        os.environ["XDG_DATA_HOME"] = before


@pytest.fixture(autouse=True, scope="session")
def no_wait_for_the_disk() -> Iterator[None]:
    """No power cut comes during a test, and a build flushes forty files and folders to the disk.

    Tests of what is flushed, when, and of a disk that refuses, put functions of their own in its place.
    """
    is_open = os.fstat

    def flushed(file: int) -> None:
        is_open(file)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, "fsync", flushed)
        yield


@pytest.fixture(autouse=True, scope="session")
def refusals_are_whole() -> Iterator[None]:
    """Place, what was found, what was wanted, what to do: an empty one would be printed as a hole."""
    as_made = Unusable.__init__

    def checked(self: Unusable, place: str, found: str, wanted: str, remedy: str) -> None:
        parts = {"place": place, "found": found, "wanted": wanted, "remedy": remedy}
        holes = [name for name, part in parts.items() if not isinstance(part, str) or not part.strip()]
        assert not holes, f"a refusal without {', '.join(holes)}: {parts}"
        assert "None" not in (place, found, wanted), parts
        as_made(self, place, found, wanted, remedy)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Unusable, "__init__", checked)
        yield


@pytest.fixture(scope="module")
def key(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A private key to seal with, for tests that need ``ssh-keygen``."""
    path = tmp_path_factory.mktemp("keys") / "studio"
    subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-C", "T. Mirefield", "-f", str(path)], check=True)
    return path


@pytest.fixture
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The user's own folders are below this test's folder."""
    return live_in(tmp_path / "home", monkeypatch)


@pytest.fixture
def without_sheets(monkeypatch: pytest.MonkeyPatch) -> None:
    """For tests that build the same plain album again and again: setting its sheets is a third of the time."""
    render = Report.render

    def set_in_no_type(report: Report, *of: Any) -> bytes:
        return b"a sheet" if report.file_name.endswith((".pdf", ".html")) else render(report, *of)

    monkeypatch.setattr(Report, "render", set_in_no_type)
