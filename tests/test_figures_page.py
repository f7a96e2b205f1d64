"""Every figure is defined once, and the terminal, the schema of documents and the page print that definition."""

from __future__ import annotations

import json

import pytest

from delivery.__main__ import run
from delivery.meters import figures
from delivery.schema.__main__ import SPECS, generated
from delivery.schema.figures_page import definition, one_line, page


@pytest.mark.parametrize("name", sorted(figures()))
def test_every_figure_is_explained_in_all_three_places(name: str) -> None:
    """Definition, unit and source; the page and the schema hold the same text."""
    lines = definition(name)
    assert lines[0] == figures()[name].sentence
    assert any(line.startswith("Method: ") for line in lines)
    assert lines[-1] == f"Source: {figures()[name].source}."
    assert all(line in page() for line in lines)
    schema = json.loads((SPECS / "output.schema.json").read_text(encoding="utf-8"))
    assert schema["$defs"]["figures"]["properties"][name]["description"] == one_line(name)


def test_the_generated_files_are_up_to_date() -> None:
    """Run ``python -m delivery.schema`` after a change."""
    for name, text in generated().items():
        assert (SPECS / name).read_text(encoding="utf-8") == text, name


def test_the_terminal_explains(capsys: pytest.CaptureFixture[str]) -> None:
    """The definition of loudness range is printed with its gate, window and rank, without measuring a file."""
    assert run(["measure", "--explain", "loudness_range_lu", "--explain", "low_band_correlation_min"]) == 0
    shown = capsys.readouterr().out
    for words in ("95th less 10th percentile", "-70 LUFS", "20 LU below", "Butterworth low-pass of fourth order"):
        assert words in shown
    assert run(["measure", "--explain", "loudnes_range_lu"]) == 2
    assert "loudness_range_lu" in capsys.readouterr().err
    assert run(["measure"]) == 2
