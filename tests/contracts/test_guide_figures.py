"""Measured figures in the guide are those that the benchmark scripts stored."""

from __future__ import annotations

import platform
import re
from datetime import date
from pathlib import Path

import pytest

from tests.benchmarks import figures

PAGES = sorted(path.stem for path in figures.RESULTS.glob("*.json"))


NOT_MEASURED = {"| code | meaning |", "| figure | class | rule | what it is |"}
"""Heads of tables that state no measured value."""


def test_pages_of_measurements_have_stored_figures() -> None:
    assert {"accuracy", "comparing", "conversion", "detectors", "history", "safety", "speed"} <= set(PAGES)


def typed_tables(text: str) -> set[str]:
    """First lines of the tables outside all blocks."""
    return set(re.findall(r"(?:\A|\n\n)(\|.*)", figures.outside_blocks(text)))


@pytest.mark.parametrize("page", PAGES)
def test_page_and_stored_tables_agree(page: str) -> None:
    """`python -m tests.benchmarks.figures` writes the page again."""
    text = (figures.GUIDE / f"{page}.md").read_text(encoding="utf-8")
    assert figures.page_text(page, text) == text
    assert sorted(figures.names_in(text)) == sorted(figures.tables(page))
    assert typed_tables(text) <= NOT_MEASURED, "a table typed by hand"


@pytest.mark.parametrize("page", PAGES)
def test_every_block_names_its_script_day_and_machine(page: str) -> None:
    for name, table in figures.tables(page).items():
        assert re.fullmatch(r"\d{4}-\d\d-\d\d", table["recorded"]), name
        assert table["machine"], name
        modules = re.findall(r"tests\.benchmarks\.(\w+)", table["by"])
        files = [figures.ROOT / "tests" / "benchmarks" / f"{module}.py" for module in modules]
        assert all(file.is_file() for file in files or [figures.ROOT / table["by"]]), name
        if "text" in table:
            assert set(re.findall(r"{(\w+)}", table["text"])) == set(table["values"]), name
        else:
            assert {len(row) for row in table["rows"]} == {len(table["head"])} == {len(table["align"])}, name


MEASURED_IN_PROSE = re.compile(
    r"\d[\d.,]* (?:s|ms|min|minutes) of processor time|\d+ of \d+ (?:pieces|files|copies)|[\d.]+ x (?:ffmpeg|sox)"
    r"|\d+ MB (?:for|at|of memory)|precision \d|F measure \d|\d+ % (?:found|right)"
)
"""What a benchmark prints, in sentences."""


@pytest.mark.parametrize("page", sorted(path.stem for path in figures.GUIDE.glob("*.md")))
def test_no_sentence_has_a_measured_value_typed_by_hand(page: str) -> None:
    text = figures.outside_blocks((figures.GUIDE / f"{page}.md").read_text(encoding="utf-8"))
    assert not MEASURED_IN_PROSE.findall(" ".join(text.split()))


def test_a_recorded_value_is_written_into_its_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """`record_values` changes the stored value, the day and the page; an unknown name is refused."""
    for attribute, source in {"RESULTS": figures.RESULTS / "safety.json", "GUIDE": figures.GUIDE / "safety.md"}.items():
        (tmp_path / source.name).write_bytes(source.read_bytes())
        monkeypatch.setattr(figures, attribute, tmp_path)
    figures.record_values("safety", "browser-check", {"chromium_s": "4321"})
    text = (tmp_path / "safety.md").read_text(encoding="utf-8")
    assert "in Chromium in 4321 s" in " ".join(text.split())
    assert date.today().isoformat() in text
    with pytest.raises(KeyError, match="minutes"):
        figures.record_values("safety", "browser-check", {"minutes": "1"})


def test_rows_measured_on_different_days_say_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for attribute, source in {"RESULTS": figures.RESULTS / "speed.json", "GUIDE": figures.GUIDE / "speed.md"}.items():
        (tmp_path / source.name).write_bytes(source.read_bytes())
        monkeypatch.setattr(figures, attribute, tmp_path)
    text_before = (tmp_path / "speed.md").read_text(encoding="utf-8")
    first, second, *_ = figures.tables("speed")["against-other-tools"]["rows"]
    figures.record_cells("speed", "against-other-tools", "ratio", {first[0]: "0.11"})
    lines = (tmp_path / "speed.md").read_text(encoding="utf-8").splitlines()
    new, old = (next(line for line in lines if line.startswith(f"| {row[0]} |")) for row in (first, second))
    assert "| 0.11 |" in new
    assert date.today().isoformat() in new
    assert platform.python_version() in new
    assert old in text_before


def test_a_changed_value_is_noticed() -> None:
    text = (figures.GUIDE / "accuracy.md").read_text(encoding="utf-8")
    value = figures.tables("accuracy")["k-weighting"]["rows"][0][1]
    assert figures.page_text("accuracy", text.replace(value, "0.5", 1)) == text
