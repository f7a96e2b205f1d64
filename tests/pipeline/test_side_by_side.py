"""Work on several files at once."""

from __future__ import annotations

from threading import Event, current_thread

import pytest

from delivery.pipeline.sources import quiet, side_by_side

MOST_S = 60.0
"""How long an item waits for what is to happen beside it; only a fault makes it wait so long."""


@pytest.mark.parametrize(("items", "workers"), [(5, 2), (2, 2), (1, 2), (1, 1), (3, 1)])
def test_what_is_called_meanwhile_runs_beside_the_last_items(items: int, workers: int) -> None:
    """When no item waits for a worker: before, every worker has something to do."""
    called = Event()
    finished: list[int] = []
    seen: list[tuple[list[int], str]] = []
    first_of_last = max(0, items - workers)

    def work(item: int) -> int:
        assert item < first_of_last or called.wait(MOST_S)
        finished.append(item)
        return item * item

    def meanwhile() -> None:
        seen.append((sorted(finished), current_thread().name))
        called.set()

    made = side_by_side(work, range(items), workers, "squares", quiet, meanwhile=meanwhile)
    assert made == [item * item for item in range(items)]
    assert seen == [(list(range(first_of_last)), current_thread().name)]


def test_a_failure_of_what_is_called_meanwhile_ends_the_work() -> None:
    begun: list[int] = []

    def fail() -> None:
        raise OSError("no module could be read")

    with pytest.raises(OSError, match="no module could be read"):
        side_by_side(begun.append, range(3), 1, "items", quiet, meanwhile=fail)
    assert begun[:2] == [0, 1]
