"""How much longer a job takes, from what the last items took."""

from __future__ import annotations

from collections import deque

LAST = 100
"""Items that count: files taken from the ledger come fast and first, those to measure are slower."""
FEWEST = 2
"""Finished items before anything is stated."""


class TimeLeft:
    """An estimate for items of one job, which finish one after the other."""

    def __init__(self, begun_s: float) -> None:
        self._finished: deque[tuple[int, float]] = deque([(0, begun_s)], maxlen=LAST + 1)

    def note(self, done: int, now_s: float) -> None:
        """*done* items are finished at the time *now_s*."""
        if done > self._finished[-1][0]:
            self._finished.append((done, now_s))

    def seconds(self, total: int, now_s: float) -> float | None:
        """What is left at the time *now_s*; None if too little is known, and at the end."""
        (first, since_s), (done, _) = self._finished[0], self._finished[-1]
        if done - first < FEWEST or done >= total:
            return None
        return (total - done) * (now_s - since_s) / (done - first)


def time_left(seconds: float | None) -> str:
    """'about 12 min left'; rounded as coarsely as it is known, and upwards."""
    if seconds is None:
        return ""
    if seconds <= 50:
        return f"about {max(5, -(-round(seconds) // 5) * 5)} s left"
    minutes = -(-round(seconds) // 60)
    if minutes < 100:
        return f"about {minutes} min left"
    hours, minutes = divmod(-(-minutes // 10) * 10, 60)
    return f"about {hours:,} h{f' {minutes} min' if minutes else ''} left"
