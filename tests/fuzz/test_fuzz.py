"""A short run of damaged files through every reader: no crash, hang, growth or traceback; no file is changed."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import replace
from pathlib import Path

import pytest

from tests.fuzz.kinds import Kind, kinds
from tests.fuzz.mutate import byte_level
from tests.fuzz.tried import Harm, attempt, kept_children, run
from tests.judges import needs

pytestmark = [pytest.mark.skipif(os.name == "nt", reason="signals differ on Windows"), needs("ffmpeg")]
HANGS_AFTER_S = 1800.0
"""Each case has a limit of its own; this one is for all of them on the busiest machine."""


@pytest.mark.parametrize(
    ("cases", "children"),
    [
        pytest.param(int(os.environ.get("FUZZ_CASES", "3000")), kept_children, id="kept children"),
        pytest.param(105, nullcontext, id="a new child after each damaged file, as in a job"),
    ],
)
def test_damaged_files_are_read_or_refused(
    tmp_path: Path, cases: int, children: Callable[[], AbstractContextManager[None]]
) -> None:
    """``python -m tests.fuzz`` goes on for as long as wished."""
    tried = kinds(tmp_path)
    harms: list[Harm] = []
    counts: Counter[str] = Counter()
    with children():
        for found in run(tried, tmp_path, HANGS_AFTER_S, seed=1, cases=cases):
            if isinstance(found, Harm):
                harms.append(found)
            else:
                counts = found
    assert [(harm.kind, harm.number, harm.how) for harm in harms] == []
    assert len(counts) == len(tried)
    assert counts.total() == cases


@pytest.mark.parametrize("how", ["ValueError", "changed"])
def test_harm_is_noticed(tmp_path: Path, how: str) -> None:
    """The control: a reader that fails, and one that writes."""

    def fails(path: Path) -> None:
        if how == "ValueError":
            raise ValueError(path)
        path.write_bytes(b"")

    assert how in attempt(Kind("a", b"abc", byte_level, fails), b"abc", tmp_path / "a")
    assert attempt(replace(Kind("a", b"abc", byte_level, fails), read=lambda _: None), b"abc", tmp_path / "a") == ""
