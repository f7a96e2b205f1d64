"""The view of a release takes time by its songs, not by their square: a month of work is one batch."""

from __future__ import annotations

import sys
from types import FrameType

from delivery.report.view.make import view_of
from tests import samples


def calls(songs: int) -> int:
    """Python and C functions called to make the view of so many songs: steadier than a clock."""
    delivery, counted = samples.delivery(songs), 0

    def count(_frame: FrameType, event: str, _argument: object) -> None:
        nonlocal counted
        counted += event in ("call", "c_call")

    sys.setprofile(count)
    try:
        view_of(delivery, samples.FIGURES)
    finally:
        sys.setprofile(None)
    return counted


def test_four_times_the_songs_take_four_times_the_work() -> None:
    """From 30 to 120; with a tenth for what lists and searches add."""
    calls(2)  # what is kept from then on
    assert calls(120) < 4 * 1.1 * calls(30)
