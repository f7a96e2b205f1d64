"""The terminal: plain at 80 columns when piped, and clear without colour."""

from __future__ import annotations

import io
from collections.abc import Sequence

import pytest
from rich.console import Console, RenderableType

from delivery.model.part import Delivery
from delivery.report.text import full
from delivery.report.view.make import view_of
from tests import samples


def piped(renderables: Sequence[RenderableType], width: int = 80) -> str:
    console = Console(file=io.StringIO(), width=width)
    for each in renderables:
        console.print(each)
    assert isinstance(console.file, io.StringIO)
    return console.file.getvalue()


def checked(delivery: Delivery, width: int = 80) -> str:
    return piped(full.check_table(view_of(delivery, samples.FIGURES)), width)


@pytest.mark.parametrize("width", [60, 80, 200])
def test_no_line_is_wider_than_the_terminal_and_nothing_is_escaped(width: int) -> None:
    text = checked(samples.troubled(), width)
    assert max(len(line) for line in text.splitlines()) <= width
    assert "\x1b" not in text


def test_a_fault_shows_track_rule_found_wanted_remedy_and_place() -> None:
    text = checked(samples.troubled())
    after = text[text.index("Refused as received") :]
    for words in (
        "true_peak_max_dbtp",
        "not met (must)",
        "found  +0.32 dBTP",
        "wanted at most -1.00 dBTP",
        "remedy a master 1.32 dB lower, or a waiver",
        "place  0:12.4, 1:01.0",
    ):
        assert words in after


def test_numbers_are_never_broken() -> None:
    assert "2000000140019" in checked(samples.troubled())


def test_every_result_has_a_word() -> None:
    text = checked(samples.troubled())
    for word in ("met", "not met", "not measured", "waived", "unusable"):
        assert word in text


def test_all_well_lists_no_faults() -> None:
    text = checked(samples.delivery(2))
    assert "Refused" not in text
    assert "To note" not in text
    assert "36 checks: 36 met, 0 waived, 0 not met, 0 not measured." in text


def test_a_build_lists_what_is_not_in_the_package() -> None:
    text = piped(full.build_summary(view_of(samples.troubled(3), samples.FIGURES)))
    listed = text[text.index("Not in the package") : text.index("Why")]
    assert listed.count("not ready") == 3
    assert listed.count("unusable") == 3


def test_markup_in_titles_and_reasons_is_inert() -> None:
    text = checked(samples.of_titles(("[red]rich[/red] [/]",)))
    assert "MarkupError" not in text
    summary = piped(
        full.build_summary(view_of(samples.of_titles(("x",), client="[/]", notes="[bold]loud[/]"), samples.FIGURES))
    )
    assert "[bold]loud[/]" in summary
