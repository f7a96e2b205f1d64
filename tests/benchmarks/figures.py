"""Measured figures in the guide: stored as data by the benchmark scripts, printed into the pages.

``results/<page>.json`` has the blocks of ``delivery/guide/<page>.md``, each with the command that measures it, the day
and the machine. A block is a table (`record`, `record_cells`) or a sentence with values in it (`record_values`), in the
page between ``<!-- figures: NAME -->`` and ``<!-- end -->``. Its last line states when, where and by which command.
``python -m tests.benchmarks.figures`` writes all pages again from the data.
"""

from __future__ import annotations

import json
import os
import platform
import re
import textwrap
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
RESULTS = Path(__file__).resolve().parent / "results"
GUIDE = ROOT / "delivery" / "guide"
WIDTH = 140
_BLOCK = re.compile(r"(<!-- figures: ([a-z-]+) -->\n\n).*?<!-- end -->", re.DOTALL)


def tables(page: str) -> dict[str, dict[str, Any]]:
    """The stored blocks of *page*, by name."""
    found: dict[str, dict[str, Any]] = json.loads((RESULTS / f"{page}.json").read_text(encoding="utf-8"))
    return found


def markdown(block: Mapping[str, Any]) -> str:
    """A stored table or sentence as Markdown, and below it when, where and by what it was measured."""
    return (_sentence(block) if "text" in block else _table(block)) + "\n\n" + _caption(block)


def page_text(page: str, text: str) -> str:
    """*text* of the page with every block written from the stored data. Raises KeyError for an unknown block."""
    stored = tables(page)
    return _BLOCK.sub(lambda block: block[1] + markdown(stored[block[2]]) + "\n\n<!-- end -->", text)


def names_in(text: str) -> list[str]:
    """Names of the blocks in a page, in order."""
    return [block[2] for block in _BLOCK.finditer(text)]


def outside_blocks(text: str) -> str:
    """*text* of a page without its blocks."""
    return _BLOCK.sub("", text)


def record(page: str, name: str, rows: Iterable[Sequence[str]]) -> None:
    """Store the *rows* of a table, with today's date and this machine, and write the page again."""
    _store(page, name, rows=[list(row) for row in rows])


def record_cells(page: str, name: str, column: str, cells: Mapping[str, str]) -> None:
    """Store *cells* of one column, by the text that begins their row, and write the page again."""
    table = tables(page)[name]
    at = table["head"].index(column)
    rows = [
        [cells[row[0]] if i == at and row[0] in cells else text for i, text in enumerate(row)] for row in table["rows"]
    ]
    of_rows = {row[0]: table.get("of_rows", {}).get(row[0], _when_and_where(table)) for row in rows}
    _store(page, name, rows=rows, of_rows=of_rows | dict.fromkeys(cells, _when_and_where(_now())))


def record_rows(page: str, name: str, rows: Iterable[Sequence[str]]) -> None:
    """Store *rows*, each in place of the one that begins with the same text, or at the end; write the page again."""
    table, given = tables(page)[name], {row[0]: list(row) for row in rows}
    kept = [given.get(row[0], row) for row in table["rows"]]
    known = {row[0] for row in kept}
    of_rows = {row[0]: table.get("of_rows", {}).get(row[0], _when_and_where(table)) for row in kept}
    dated = of_rows | dict.fromkeys(given, _when_and_where(_now()))
    _store(page, name, rows=[*kept, *(row for first, row in given.items() if first not in known)], of_rows=dated)


def record_values(page: str, name: str, values: Mapping[str, str]) -> None:
    """Store *values* of a sentence, by their names in its text, and write the page again.

    Raises KeyError for a name that the text does not have.
    """
    stored = tables(page)[name]["values"]
    if unknown := set(values) - set(stored):
        raise KeyError(f"{page}, {name}: no {sorted(unknown)}")
    _store(page, name, values=stored | dict(values))


def write_pages() -> None:
    """Write every page that has stored blocks."""
    for path in sorted(RESULTS.glob("*.json")):
        file = GUIDE / f"{path.stem}.md"
        text = page_text(path.stem, file.read_text(encoding="utf-8"))
        file.write_text(text, encoding="utf-8", newline="\n")


def _table(table: Mapping[str, Any]) -> str:
    """``align`` has 'l' or 'r' for each column; ``of_rows`` is the day and machine of each row, if they differ."""
    marks = {"l": "---", "r": "--:"}
    head, under, rows = table["head"], [marks[side] for side in table["align"]], table["rows"]
    if of_rows := table.get("of_rows"):
        head, under, rows = [*head, "measured"], [*under, "---"], [[*row, of_rows[row[0]]] for row in rows]
    return "\n".join([_line(head), "|" + "|".join(under) + "|", *map(_line, rows)])


def _sentence(block: Mapping[str, Any]) -> str:
    text: str = block["text"].format(**block["values"])
    return textwrap.fill(text, WIDTH, break_long_words=False, break_on_hyphens=False)


def _caption(block: Mapping[str, Any]) -> str:
    by = re.sub(r"(python -m )?tests[./][\w./]*\w", r"`\g<0>`", block["by"])
    when = "" if block.get("of_rows") else f", {_when_and_where(block)}"
    return f"*Measured by {by}{when}.*"


def _when_and_where(block: Mapping[str, Any]) -> str:
    return f"{block['recorded']}, {block['machine']}"


def _now() -> dict[str, str]:
    return {"recorded": date.today().isoformat(), "machine": _machine()}


def _store(page: str, name: str, **changed: Any) -> None:
    stored = tables(page)
    stored[name] |= _now() | changed
    text = json.dumps(stored, ensure_ascii=False, indent=1)
    (RESULTS / f"{page}.json").write_text(text + "\n", encoding="utf-8", newline="\n")
    write_pages()


def _machine() -> str:
    return f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}"


def _line(cells: Sequence[str]) -> str:
    return "| " + " | ".join(cells) + " |"


if __name__ == "__main__":
    write_pages()
