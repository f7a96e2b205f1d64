"""The view of a release takes time by its songs, not by their square: a month of work is one batch."""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path
from types import FrameType
from typing import Any

import delivery
from delivery.report.view.make import view_of
from tests import samples

OURS = str(Path(delivery.__file__).parent)


def calls(songs: int) -> int:
    """Python and C functions called to make the view of so many songs: steadier than a clock."""
    album, counted = samples.delivery(songs), 0

    def count(_frame: FrameType, event: str, _argument: object) -> None:
        nonlocal counted
        counted += event in ("call", "c_call")

    sys.setprofile(count)
    try:
        view_of(album, samples.FIGURES)
    finally:
        sys.setprofile(None)
    return counted


def test_four_times_the_songs_take_four_times_the_work() -> None:
    """From 30 to 120; with a tenth for what lists and searches add."""
    calls(2)  # what is kept from then on
    assert calls(120) < 4 * 1.1 * calls(30)


def lines(songs: int, **of_release: Any) -> Counter[str]:
    """Lines of the program's own run to make the view, by function: a search within one function counts too."""
    album, counted = samples.delivery(songs, **of_release), Counter[str]()

    def of_line(frame: FrameType, _event: str, _argument: object) -> Any:
        if not frame.f_code.co_filename.startswith(OURS):
            return None
        counted[f"{frame.f_code.co_filename.removeprefix(OURS)} {frame.f_code.co_qualname}"] += 1
        return of_line

    before = sys.gettrace()
    sys.settrace(of_line)
    try:
        view_of(album, samples.FIGURES)
    finally:
        sys.settrace(before)
    return counted


def test_no_function_runs_more_lines_than_in_proportion_to_the_songs() -> None:
    """Of the lines for 60 more songs, over those for 30 more: 2 where they grow with the songs, 4 with their square."""
    lines(2)
    few, some, many = lines(30), lines(60), lines(120)
    assert few.total() > 10_000  # else nothing was counted
    faster = {
        name: (few[name], some[name], count)
        for name, count in many.items()
        if count - some[name] > 2.5 * max(0, some[name] - few[name]) + 60
    }
    assert not faster
