"""Match rows with files by the evidence for each pair; ties become questions. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from delivery.errors import Unusable
from delivery.intake.begin.masters import Master
from delivery.intake.sheet.evidence import Evidence, file_key, name_keys, weigh
from delivery.intake.sheet.parsed import Ask
from delivery.intake.sheet.row import Row

SECURE = 2
"""Minimum points of a pair."""

Before = Mapping[str, Mapping[str, Any]]
"""File name -> fields of the row it was matched with."""
LEAVE_OUT = "leave this row out"
"""Last choice of every question about a row."""
NOTHING: Before = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Matched:
    """Rows and files matched with each other."""

    pairs: tuple[tuple[Row, Master], ...]
    """In row order."""
    spare: tuple[Master, ...]
    """Files matched by no row."""
    remarks: tuple[str, ...]
    faults: tuple[Unusable, ...]
    without_file: tuple[Row, ...] = ()
    """Rows left out by an answer, and those already reported as faults."""


def match(
    rows: Sequence[Row], masters: Sequence[Master], name: str, ask: Ask | None = None, before: Before = NOTHING
) -> Matched:
    """Pairs of rows and files.

    A pair is accepted if it is the best for both, by a clear margin, and strong enough. The rest becomes a question, or
    refused if no questions are possible.

    Parameters
    ----------
    name : of the sheet, for messages
    ask : asks a person; None: no questions are possible
    before : row of each file at the last import, so that no question comes twice; empty: it was left out
    """
    bounces = _new_bounces(masters, before)
    weights = {
        (r, m): weigh(row, master, None if master.name in bounces else before.get(master.name))
        for r, row in enumerate(rows)
        for m, master in enumerate(masters)
    }
    found = _sure(weights, len(rows), len(masters))
    chosen: dict[int, int] = dict(found)
    faults: list[Unusable] = []
    unmatched: list[Row] = []
    left_out: list[Row] = []
    for r, row in enumerate(rows):
        if r in chosen:
            continue
        free = [m for m in range(len(masters)) if m not in chosen.values()]
        likely = sorted((m for m in free if weights[r, m].points > 0), key=lambda m: (-weights[r, m].points, m)) or free
        choices = [*(_described(masters[m]) for m in likely), LEAVE_OUT]
        answer = ask(f"Which file is {row.description}?", choices) if ask else None
        if answer is not None and answer < len(likely):
            chosen[r] = likely[answer]
        elif answer is not None:
            left_out.append(row)
        else:
            unmatched.append(row)
            if not _named_twice(row, rows):  # already reported with both cells
                probable = [masters[m] for m in likely if weights[r, m].points > 0]
                faults.append(_unmatched(row, probable, free != [], name))
    pairs = tuple((rows[r], masters[m]) for r, m in sorted(chosen.items()))
    spare = tuple(master for m, master in enumerate(masters) if m not in chosen.values())
    doubts = [(masters[m].name, rows[r], weights[r, m].against) for r, m in sorted(found.items())]
    remarks = (
        *_doubts([one for one in doubts if one[2]]),
        *(f"{row.description} has no file: left out." for row in left_out),
    )
    return Matched(pairs, spare, remarks, tuple(faults), (*left_out, *unmatched))


def _doubts(pairs: Sequence[tuple[str, Row, tuple[str, ...]]]) -> Iterator[str]:
    """One remark, however many files are matched with rows that disagree."""
    if len(pairs) == 1:
        name, row, against = pairs[0]
        yield f"{name} is matched with {row.description}, although {' and '.join(against)}."
    elif pairs:
        listed = "; ".join(f"{name} for {row.description}: {' and '.join(against)}" for name, row, against in pairs)
        yield f"{len(pairs)} files are matched with rows that differ: {listed}."


def _new_bounces(masters: Sequence[Master], before: Before) -> set[str]:
    """Known files beside which a new one of the same title and version lies: ask again which of the two ships."""
    keys = {master.name: name_keys(master) for master in masters}
    fresh = {key for name, found in keys.items() if before and name not in before for key in found}
    return {name for name, found in keys.items() if before.get(name) and fresh & set(found)}


def _named_twice(row: Row, rows: Sequence[Row]) -> bool:
    return bool(row["file"]) and sum(file_key(str(one["file"])) == file_key(str(row["file"])) for one in rows) > 1


def _sure(weights: Mapping[tuple[int, int], Evidence], rows: int, masters: int) -> dict[int, int]:
    """Pairs that are each other's best by a clear margin; each round may clear others."""
    chosen: dict[int, int] = {}
    changed = True
    while changed:
        changed = False
        free_rows = [r for r in range(rows) if r not in chosen]
        free = [m for m in range(masters) if m not in chosen.values()]
        for r in free_rows:
            best = _best({m: weights[r, m].points for m in free if m not in chosen.values()})
            if best is None or weights[r, best].points < SECURE:
                continue
            if _best({q: weights[q, best].points for q in free_rows if q not in chosen}) == r:
                chosen[r] = best
                changed = True
    return chosen


def _best(points: Mapping[int, int]) -> int | None:
    """The one with most points; None for a tie."""
    top = max(points.values(), default=0)
    best = [key for key, value in points.items() if value == top]
    return best[0] if len(best) == 1 else None


def _unmatched(row: Row, likely: Sequence[Master], free: bool, name: str) -> Unusable:
    place = f"{name} {row.places.get('title', '')} {row.description}".replace("  ", " ")
    remedy = "Name the file in a column 'File', or correct number, title or length."
    if len(likely) > 1:
        return Unusable(
            place,
            f"{len(likely)} files that may be it: {', '.join(one.name for one in likely[:6])}",
            "one file",
            remedy,
        )
    if likely:
        return Unusable(place, f"only {likely[0].name}, a weak match", "a certain match", remedy)
    return Unusable(
        place,
        "no matching file" if free else "no file left",
        "a file for each row",
        f"Put it into the folder, or take the row out. {remedy}",
    )


def _described(master: Master) -> str:
    if master.facts is None:
        return master.name
    minutes, seconds = divmod(round(master.facts.duration_s), 60)
    return f"{master.name} ({minutes}:{seconds:02})"
