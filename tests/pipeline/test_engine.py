"""Work on many items side by side, in a steady order."""

from __future__ import annotations

from threading import Event

import pytest

from delivery.pipeline.engine import in_order


def test_after_an_interrupt_those_that_have_begun_still_come() -> None:
    """A package that was built is named, although the one before it was interrupted."""
    second_is_made, made = Event(), []

    def work(item: int) -> int:
        if item == 1:
            second_is_made.wait()
            raise KeyboardInterrupt
        if item == 2:
            second_is_made.set()
        return item

    def take_all() -> None:
        for item in in_order(work, range(1, 100), 2):
            made.append(item)

    with pytest.raises(KeyboardInterrupt):
        take_all()
    assert made[0] == 2
    assert made == sorted(made)
    assert len(made) < 5
