"""What is said of many tracks is said once."""

from __future__ import annotations

from dataclasses import replace

import pytest

from delivery.model.finding import Answer
from delivery.report.view_notices import by_words
from delivery.report.view_nouns import Notice
from delivery.report.view_words import runs, verdict

LEAD_IN = Notice(
    "1", 1, "lead-in", verdict(Answer.NOT_MET), "should", ("Store",), found="0.00 s", wanted="0.05 to 2.00 s"
)


@pytest.mark.parametrize(
    ("numbers", "said"),
    [
        (["1"], "1"),
        (["1", "2"], "1, 2"),
        (["1", "2", "3"], "1 to 3"),
        (["1", "3", "4", "5", "9", "10"], "1, 3 to 5, 9, 10"),
        (["1-01", "1-02"], "1-01, 1-02"),
        (["release"], "release"),
    ],
)
def test_neighbours_are_drawn_together(numbers: list[str], said: str) -> None:
    assert runs(numbers) == said


def test_the_same_words_about_several_tracks_are_one_row_with_every_place() -> None:
    second = replace(LEAD_IN, track="2", position=2, place="0:01.0", at_s=(1.0,))
    third = replace(LEAD_IN, track="3", position=3, place="0:07.5", at_s=(7.5,))
    other = replace(LEAD_IN, track="4", position=4, found="0.01 s")
    rows = by_words([LEAD_IN, second, third, other])
    assert [(row.track, row.tracks) for row in rows] == [("1 to 3", 3), ("4", 1)]
    assert rows[0].place == "track 2: 0:01.0; track 3: 0:07.5"
    assert rows[1] is other
