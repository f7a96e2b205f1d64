"""A short run of damaged files through every reader: no crash, hang, growth or traceback; no file is changed."""

from __future__ import annotations

import os
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

from tests.fuzz.kinds import Kind, kinds
from tests.fuzz.mutate import byte_level
from tests.fuzz.tried import Harm, attempt, run
from tests.judges import needs

pytestmark = [pytest.mark.skipif(os.name == "nt", reason="signals differ on Windows"), needs("ffmpeg")]
SECONDS = float(os.environ.get("FUZZ_SECONDS", "60" if os.environ.get("CI") else "15"))


def test_damaged_files_are_read_or_refused(tmp_path: Path) -> None:
    tried = kinds(tmp_path)
    harms: list[Harm] = []
    counts: Counter[str] = Counter()
    for found in run(tried, tmp_path, SECONDS, seed=1):
        if isinstance(found, Harm):
            harms.append(found)
        else:
            counts = found
    assert [(harm.kind, harm.number, harm.how) for harm in harms] == []
    assert len(counts) == len(tried)


@pytest.mark.parametrize("how", ["ValueError", "changed"])
def test_harm_is_noticed(tmp_path: Path, how: str) -> None:
    """The control: a reader that fails, and one that writes."""

    def fails(path: Path) -> None:
        if how == "ValueError":
            raise ValueError(path)
        path.write_bytes(b"")

    assert how in attempt(Kind("a", b"abc", byte_level, fails), b"abc", tmp_path / "a")
    assert attempt(replace(Kind("a", b"abc", byte_level, fails), read=lambda _: None), b"abc", tmp_path / "a") == ""
