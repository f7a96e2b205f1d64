"""Tables of measured figures in the guide: stored as data by the benchmark scripts, printed into the pages.

``results/<page>.json`` has the tables of ``delivery/guide/<page>.md``, each with the command that measures it, the day
and the machine. A table is in the page between ``<!-- figures: NAME -->`` and ``<!-- end -->``. A benchmark calls
`record` (or `record_cells`); ``python -m tests.benchmarks.figures`` writes all pages again from the data.
"""

from __future__ import annotations

import json
import os
import platform
import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
RESULTS = Path(__file__).resolve().parent / "results"
GUIDE = ROOT / "delivery" / "guide"
_BLOCK = re.compile(r"(<!-- figures: ([a-z-]+) -->\n\n).*?(\n\n<!-- end -->)", re.DOTALL)


def tables(page: str) -> dict[str, dict[str, Any]]:
    """The stored tables of *page*, by name."""
    found: dict[str, dict[str, Any]] = json.loads((RESULTS / f"{page}.json").read_text(encoding="utf-8"))
    return found


def markdown(table: Mapping[str, Any]) -> str:
    """A stored table as Markdown; ``align`` has one letter for each column, 'l' or 'r'."""
    marks = {"l": "---", "r": "--:"}
    lines = [table["head"], [marks[side] for side in table["align"]], *table["rows"]]
    head, under, *rows = lines
    return "\n".join([_line(head), "|" + "|".join(under) + "|", *map(_line, rows)])


def page_text(page: str, text: str) -> str:
    """*text* of the page with every block written from the stored tables. Raises KeyError for an unknown table."""
    stored = tables(page)
    return _BLOCK.sub(lambda block: block[1] + markdown(stored[block[2]]) + block[3], text)


def names_in(text: str) -> list[str]:
    """Names of the tables in a page, in order."""
    return [block[2] for block in _BLOCK.finditer(text)]


def outside_blocks(text: str) -> str:
    """*text* of a page without its blocks."""
    return _BLOCK.sub("", text)


def record(page: str, name: str, rows: Iterable[Sequence[str]]) -> None:
    """Store the *rows* of a table, with today's date and this machine, and write the page again."""
    _store(page, name, [list(row) for row in rows])


def record_cells(page: str, name: str, column: str, cells: Mapping[str, str]) -> None:
    """Store *cells* of one column, by the text that begins their row, and write the page again."""
    table = tables(page)[name]
    at = table["head"].index(column)
    rows = [
        [cells[row[0]] if i == at and row[0] in cells else text for i, text in enumerate(row)] for row in table["rows"]
    ]
    _store(page, name, rows)


def write_pages() -> None:
    """Write every page that has stored tables."""
    for path in sorted(RESULTS.glob("*.json")):
        file = GUIDE / f"{path.stem}.md"
        text = page_text(path.stem, file.read_text(encoding="utf-8"))
        file.write_text(text, encoding="utf-8", newline="\n")


def _store(page: str, name: str, rows: list[list[str]]) -> None:
    stored = tables(page)
    stored[name] |= {"recorded": date.today().isoformat(), "machine": _machine(), "rows": rows}
    text = json.dumps(stored, ensure_ascii=False, indent=1)
    (RESULTS / f"{page}.json").write_text(text + "\n", encoding="utf-8", newline="\n")
    write_pages()


def _machine() -> str:
    return f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}"


def _line(cells: Sequence[str]) -> str:
    return "| " + " | ".join(cells) + " |"


if __name__ == "__main__":
    write_pages()
