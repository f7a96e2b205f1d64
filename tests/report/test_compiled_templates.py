"""Templates are compiled once for each user: again only where nothing usable is kept."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from unittest.mock import patch

import pytest
from jinja2 import Environment

from delivery.own_folders import cache_folder
from delivery.report.html.page import environment

COMPILED = "sheet.html.j2"
pytestmark = pytest.mark.usefixtures("own_home")


@pytest.fixture(autouse=True)
def another_process(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """As in a process of its own, that may keep what it compiles."""
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    environment.cache_clear()
    yield
    environment.cache_clear()


def compiled() -> int:
    """How many templates a new process compiles to make the sheet's."""
    environment.cache_clear()
    compiling = Environment.compile
    with patch.object(Environment, "compile", autospec=True, side_effect=compiling) as counted:
        assert environment().get_template(COMPILED).root_render_func
    return counted.call_count


def kept() -> list[Path]:
    return sorted((cache_folder() / "templates").glob("*.cache"))


def test_the_second_process_compiles_nothing() -> None:
    assert compiled()
    assert kept()
    assert compiled() == 0


def test_nothing_is_kept_where_python_keeps_no_bytecode(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    assert compiled()
    assert compiled()
    assert not kept()


@pytest.mark.parametrize("share", [0.0, 0.01, 0.5, 0.99])
def test_a_file_cut_short_is_compiled_again(share: float) -> None:
    compiled()
    for file in kept():
        whole = file.read_bytes()
        file.write_bytes(whole[: int(len(whole) * share)])
    assert compiled()
    assert compiled() == 0


def test_bytes_of_another_kind_are_compiled_again() -> None:
    compiled()
    for file in kept():
        file.write_bytes(file.read_bytes()[:20] + b"no pickle" * 100)
    assert compiled()
    assert compiled() == 0


def test_a_folder_that_cannot_be_made_costs_time_alone() -> None:
    cache_folder().parent.mkdir(parents=True, exist_ok=True)
    cache_folder().write_bytes(b"a file where the folder would be")
    assert compiled()
    assert compiled()
