"""The time left in a progress line, by a clock that the tests turn."""

from __future__ import annotations

import pytest

from delivery.report.text.time_left import LAST, TimeLeft, time_left


def test_from_the_pace_so_far() -> None:
    left = TimeLeft(0.0)
    assert left.seconds(10, 5.0) is None, "nothing is finished"
    left.note(1, 6.0)
    assert left.seconds(10, 6.0) is None, "one is too few"
    left.note(4, 24.0)
    assert left.seconds(10, 24.0) == pytest.approx(36.0), "six more of 6 s each"
    assert left.seconds(10, 28.0) == pytest.approx(42.0), "a slow item makes the pace slower while it lasts"
    left.note(10, 60.0)
    assert left.seconds(10, 60.0) is None, "nothing is left"


def test_files_that_were_known_do_not_promise_too_much() -> None:
    """A thousand from the ledger in a second, then 10 s each: after a hundred of these the pace is theirs."""
    left = TimeLeft(0.0)
    left.note(1000, 1.0)
    for number in range(1, LAST + 2):
        left.note(1000 + number, 1.0 + 10.0 * number)
    assert left.seconds(2000, 1.0 + 10.0 * (LAST + 1)) == pytest.approx(10.0 * (1000 - LAST - 1))


@pytest.mark.parametrize(
    ("seconds", "expected"),
    [
        (None, ""),
        (0.2, "about 5 s left"),
        (12, "about 15 s left"),
        (50, "about 50 s left"),
        (51, "about 1 min left"),
        (61, "about 2 min left"),
        (5_940, "about 99 min left"),
        (6_001, "about 1 h 50 min left"),
        (7_200, "about 2 h left"),
        (3_600_000, "about 1,000 h left"),
    ],
)
def test_as_people_say_it(seconds: float | None, expected: str) -> None:
    assert time_left(seconds) == expected
