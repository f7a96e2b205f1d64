"""Broken sheets: a clear refusal or a reading, never a traceback.

``FUZZ_CASES=20000 pytest tests/hostile/test_sheets.py`` tries more than an ordinary run.
"""

from __future__ import annotations

import io
import os
import random
import signal
import zipfile
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType
from typing import Any

import pytest

from delivery.errors import Unusable
from delivery.intake.sheet import ditto
from delivery.intake.sheet.read import MAX_BYTES, grids_in
from delivery.intake.sheet.rows import read_copy
from tests.intake.sheet.corpus import CORPUS

CASES = int(os.environ.get("FUZZ_CASES", "150"))
WORKBOOKS = [mess.content for mess in CORPUS if mess.content.startswith(b"PK") and not mess.refused]
TEXTS = [mess.content for mess in CORPUS if not mess.content.startswith(b"PK") and not mess.refused]


def survives(path: Path) -> str:
    """'refused' or 'read'; anything else is an exception and fails the test."""
    try:
        for grid in grids_in(path, {}):
            read_copy(grid, {})
    except Unusable as refusal:
        return "refused" if refusal.remedy else "refused without a remedy"
    return "read"


@contextmanager
def ended_if_it_hangs(processor_s: float = 120) -> Iterator[None]:
    """For work of less than a second: no busy machine takes so much processor time for it."""

    def hung(_signal: int, _frame: FrameType | None) -> None:
        pytest.fail(f"took more than {processor_s:g} s of processor time")

    if os.name == "nt":
        yield
        return
    before = signal.signal(signal.SIGPROF, hung)
    signal.setitimer(signal.ITIMER_PROF, processor_s)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


def changed(content: bytes, dice: random.Random) -> bytes:
    """Bytes flipped, pieces cut out, doubled or put elsewhere."""
    made = bytearray(content)
    for _ in range(dice.choice([1, 2, 8])):
        at = dice.randrange(len(made))
        kind = dice.randrange(4)
        if kind == 0:
            made[at] = dice.randrange(256)
        elif kind == 1:
            del made[at : at + dice.randrange(1, 40)]
        elif kind == 2:
            made[at:at] = made[at : at + dice.randrange(1, 40)]
        else:
            made[at:at] = dice.choice([b'"', b"\0", b"\xff\xfe", b"\r", b";;;", b"=1+1", b"1E+99", "½".encode()])
        if not made:
            break
    return bytes(made)


def inside_changed(content: bytes, dice: random.Random) -> bytes:
    """A whole archive around a part that was changed: what a damaged export looks like to the parser inside."""
    into = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(into, "w") as new:
        names = old.namelist()
        victim = dice.choice([name for name in names if name.endswith(".xml")])
        for name in names:
            if name != victim or dice.random() > 0.1:
                new.writestr(name, changed(old.read(name), dice) if name == victim else old.read(name))
    return into.getvalue()


@pytest.mark.parametrize("kind", ["text", "archive", "inside"])
def test_fuzzed_sheets(tmp_path: Path, kind: str) -> None:
    dice = random.Random(f"sheets {kind}")
    seen: Counter[str] = Counter()
    path = tmp_path / "copy"
    for _ in range(CASES // 3):
        content = dice.choice(TEXTS if kind == "text" else WORKBOOKS)
        path.write_bytes(inside_changed(content, dice) if kind == "inside" else changed(content, dice))
        seen[survives(path)] += 1
    assert set(seen) == {"read", "refused"}


def test_a_small_file_that_would_unpack_to_gigabytes(tmp_path: Path) -> None:
    into = io.BytesIO()
    with zipfile.ZipFile(into, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("[Content_Types].xml", "<Types/>")
        archive.writestr("xl/worksheets/sheet1.xml", bytes(300 * 1024 * 1024))
    path = tmp_path / "copy.xlsx"
    path.write_bytes(into.getvalue())
    assert path.stat().st_size < 1024 * 1024
    with pytest.raises(Unusable, match="bytes when unpacked"):
        grids_in(path, {})


def test_a_file_too_large_to_be_label_copy(tmp_path: Path) -> None:
    path = tmp_path / "copy.csv"
    with path.open("wb") as file:
        file.truncate(MAX_BYTES + 1)
    with pytest.raises(Unusable, match="Is this really label copy"):
        grids_in(path, {})


@pytest.mark.parametrize("text", ["& ", "/ ", "a, "])
def test_a_cell_of_separators_takes_no_time(tmp_path: Path, text: str) -> None:
    """Patterns that look ahead are quadratic in the length of a cell; names are bounded before them."""
    path = tmp_path / "copy.csv"
    path.write_text(
        "No,Title,Composer,Artist,Share,Side\n1,A" + "".join(f',"{text * 9000}"' for _ in range(4)) + "\n",
        encoding="utf-8",
    )
    with ended_if_it_hangs():
        assert survives(path) == "read"


def test_many_rows_that_repeat_each_other(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each row repeats the one above: followed to the end from each, that would be eight million steps."""
    rows, steps = 4000, 0
    step = ditto._source

    def counted(*of: Any) -> int | None:
        nonlocal steps
        steps += 1
        return step(*of)

    monkeypatch.setattr(ditto, "_source", counted)
    path = tmp_path / "copy.csv"
    path.write_text(
        "No,Title,Composer\n1,A,Ilse Merrow\n" + "".join(f"{n % 900 + 1},B,dito\n" for n in range(rows)),
        encoding="utf-8",
    )
    assert survives(path) == "read"
    assert rows <= steps <= 4 * rows, "one or two for each cell of three columns"
