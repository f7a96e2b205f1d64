"""Propose sides for a first release file: songs in order, sides as equal as possible, each within the good length.
Pure.

Only a proposal: it is written with its figures above the tracks, and nothing is proposed if the songs do not fit or a
length is not known.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from string import ascii_uppercase

from delivery.intake.begin.masters import Master
from delivery.model.spec import Spec

MOST_SIDES = 8
"""Four records; larger sets are left to a person."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """Proposed division of the tracks into sides."""

    begins: tuple[int, ...] = ()
    """Index of the first track of each side; empty if nothing is proposed."""
    remark: str = ""
    """One sentence for the release file and the terminal; empty if no spec needs sides."""

    def letter(self, index: int) -> str:
        """Letter of the side that begins with this track; empty within a side."""
        return ascii_uppercase[self.begins.index(index)] if index in self.begins else ""


NOTHING = Proposal()


def propose(masters: Sequence[Master], specs: Iterable[Spec]) -> Proposal:
    """Sides for *specs* with sides; the shortest limit applies."""
    requested = [
        (spec, limit) for spec in specs if spec.carrier and spec.carrier.part == "side" and (limit := _good_s(spec))
    ]
    if not requested:
        return NOTHING
    spec, limit_s = min(requested, key=lambda pair: pair[1])
    who = f"for {spec.id}"
    unknown = [master.name for master in masters if master.facts is None]
    if unknown:
        return Proposal(remark=f"No sides are proposed {who}: the length of {unknown[0]} is not known.")
    lengths = [master.facts.duration_s for master in masters if master.facts]
    longest = max(range(len(lengths)), key=lambda index: lengths[index])
    if lengths[longest] > limit_s:
        reason = f"{masters[longest].name} alone lasts {_clock(lengths[longest])}, a good side {_clock(limit_s)}"
        return Proposal(remark=f"No sides are proposed {who}: {reason}.")
    begins = split(lengths, limit_s)
    if not begins:
        reason = f"{_clock(sum(lengths))} in this order do not fit on {MOST_SIDES} sides of {_clock(limit_s)}"
        return Proposal(remark=f"No sides are proposed {who}: {reason}.")
    ends = (*begins[1:], len(lengths))
    sides = [
        f"{ascii_uppercase[at]} {_clock(sum(lengths[start:end]))}"
        for at, (start, end) in enumerate(zip(begins, ends, strict=True))
    ]
    return Proposal(
        begins,
        f"Sides proposed {who}, by length, without gaps: {', '.join(sides)}; good is up to {_clock(limit_s)}. "
        "The artist decides where a side begins.",
    )


def split(lengths: Sequence[float], limit_s: float) -> tuple[int, ...]:
    """Index of each side's first song, for the fewest sides (1, or an even number) that hold all within the limit.

    Among those the most equal: the least sum of squares; of two equal ones, the one with longer early sides. Empty if
    ``MOST_SIDES`` are not enough.
    """
    for sides in (1, *range(2, MOST_SIDES + 1, 2)):
        if sides <= len(lengths) and (found := _most_equal(lengths, sides, limit_s)):
            return found
    return ()


def _most_equal(lengths: Sequence[float], sides: int, limit_s: float) -> tuple[int, ...]:
    """Dynamic programming over the number of songs and sides left."""
    count = len(lengths)
    best: dict[int, tuple[float, tuple[int, ...]]] = {count: (0.0, ())}
    for _ in range(sides):
        longer: dict[int, tuple[float, tuple[int, ...]]] = {}
        for start in range(count):
            total = 0.0
            for end in range(start + 1, count + 1):
                total += lengths[end - 1]
                if total > limit_s:
                    break
                if end in best:
                    cost, begins = best[end]
                    found = (round(cost + total**2, 6), (start, *begins))
                    if start not in longer or (found[0], [-b for b in found[1]]) < (
                        longer[start][0],
                        [-b for b in longer[start][1]],
                    ):
                        longer[start] = found
        best = longer
    return best[0][1] if 0 in best else ()


def _good_s(spec: Spec) -> float | None:
    """Good length of a side, or the maximum if the spec has no good length, for the size and speed it assumes."""
    assert spec.carrier
    return next(
        (
            limit
            for key in ("part_length_good", "part_length_max")
            if (limit := spec.carrier.pressing.limit_s(spec.limit(key) or ())) is not None
        ),
        None,
    )


def _clock(seconds: float) -> str:
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02}"
