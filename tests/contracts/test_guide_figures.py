"""Tables of measured figures in the guide are those that the benchmark scripts stored."""

from __future__ import annotations

import re

import pytest

from tests.benchmarks import figures

PAGES = sorted(path.stem for path in figures.RESULTS.glob("*.json"))


def test_pages_of_measurements_have_stored_tables() -> None:
    assert {"accuracy", "conversion", "detectors", "speed"} <= set(PAGES)


@pytest.mark.parametrize("page", PAGES)
def test_page_and_stored_tables_agree(page: str) -> None:
    """`python -m tests.benchmarks.figures` writes the page again."""
    text = (figures.GUIDE / f"{page}.md").read_text(encoding="utf-8")
    assert figures.page_text(page, text) == text
    assert sorted(figures.names_in(text)) == sorted(figures.tables(page))
    assert not re.search(r"^\|", figures.outside_blocks(text), re.MULTILINE), "a table typed by hand"


@pytest.mark.parametrize("page", PAGES)
def test_every_table_names_its_script_day_and_machine(page: str) -> None:
    for name, table in figures.tables(page).items():
        assert re.fullmatch(r"\d{4}-\d\d-\d\d", table["recorded"]), name
        assert table["machine"], name
        modules = re.findall(r"tests\.benchmarks\.(\w+)", table["by"])
        files = [figures.ROOT / "tests" / "benchmarks" / f"{module}.py" for module in modules]
        assert all(file.is_file() for file in files or [figures.ROOT / table["by"]]), name
        assert {len(row) for row in table["rows"]} == {len(table["head"])} == {len(table["align"])}, name


def test_a_changed_value_is_noticed() -> None:
    text = (figures.GUIDE / "accuracy.md").read_text(encoding="utf-8")
    value = figures.tables("accuracy")["k-weighting"]["rows"][0][1]
    assert figures.page_text("accuracy", text.replace(value, "0.5", 1)) == text
