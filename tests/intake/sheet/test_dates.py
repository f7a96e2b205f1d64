"""Dates with strokes: the order of day and month is certain where one of them cannot be a month, and never guessed."""

from __future__ import annotations

import pytest

from delivery.intake.sheet.cells import Cell
from delivery.intake.sheet.parsed import CellError
from delivery.intake.sheet.times import read_date


def cell(text: str) -> Cell:
    return Cell("C2", text, text)


@pytest.mark.parametrize("text", ["12/05/2026", "05/12/2026", "1/2/2026", "12-11-2026", "01/12/2026"])
def test_what_can_be_two_days_becomes_a_question(text: str) -> None:
    """12 May in one half of the world, 5 December in the other; both are offered, none is taken."""
    one, two = (int(part) for part in text.replace("-", "/").split("/")[:2])
    with pytest.raises(CellError, match="day and month cannot be mistaken") as refused:
        read_date(cell(text))
    assert {choice.value for choice in refused.value.choices} == {
        f"2026-{one:02}-{two:02}",
        f"2026-{two:02}-{one:02}",
    }


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("13/05/2026", "2026-05-13"),
        ("05/13/2026", "2026-05-13"),
        ("12/13/2026", "2026-12-13"),
        ("13/12/2026", "2026-12-13"),
        ("12/12/2026", "2026-12-12"),
        ("12.05.2026", "2026-05-12"),  # with dots the day comes first, wherever dots are used
        ("2026-05-12", "2026-05-12"),
    ],
)
def test_what_can_be_one_day_only_is_that_day(text: str, day: str) -> None:
    assert read_date(cell(text)).value == day
