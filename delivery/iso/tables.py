"""The tables: one row a line, cells separated by tabs; lines that begin with '#' state source and licence."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path


def rows(name: str) -> Iterator[tuple[str, ...]]:
    """Rows of the table *name*, without the heading."""
    text = (Path(__file__).parent / f"{name}.tsv").read_text(encoding="utf-8")
    lines = (line for line in text.splitlines() if not line.startswith("#"))
    next(lines)
    return (tuple(line.split("\t")) for line in lines)
