"""Which columns of a table are worth printing, and how wide they are. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeVar

from delivery.report.view import words

WITHOUT_CONTENT = frozenset({"", "–", words.NOT_STATED, words.NOT_SUPPLIED})

T = TypeVar("T")


def telling(rows: Sequence[Sequence[str]]) -> tuple[int, ...]:
    """Indexes of the columns with content in at least one row; none if there are no rows."""
    if not rows:
        return ()
    return tuple(at for at in range(len(rows[0])) if any(row[at] not in WITHOUT_CONTENT for row in rows))


def only(cells: Sequence[T], columns: Iterable[int]) -> tuple[T, ...]:
    """The cells of those columns."""
    return tuple(cells[at] for at in columns)


def widened(shares: Sequence[float], columns: Iterable[int]) -> tuple[float, ...]:
    """The shares of these *columns*, so that they add up to 1 again."""
    kept = only(shares, columns)
    return tuple(share / sum(kept) for share in kept)
