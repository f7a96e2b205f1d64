"""Positions stated in a file: loop points, and the time stamp of its first sample."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from delivery.model.finding import NotMet, Weight
from delivery.rules.limits import LONGEST_S, edges, outside, window
from delivery.rules.rule import rule
from delivery.rules.words import SECONDS, counted, within

Loop = tuple[int, int]
"""First and last frame played, from 0."""

time_wanted = within(SECONDS)
LOOPS = {
    "inside": "a loop inside the file",
    "to_end": "a loop that ends on the file's last sample, with no padding after it",
    "whole": "a loop over the whole file, from its first sample to its last",
}


def loops_wanted(limit: str) -> str:
    """What a spec requires of loop points, in words."""
    return LOOPS[limit]


def loops_shown(loops: Sequence[Loop], _frames: int) -> str:
    """Loop points found, in samples."""
    return "; ".join(f"samples {first:,} to {last:,}" for first, last in loops)


@rule(
    id="loop_points",
    limit={"type": "string", "enum": sorted(LOOPS), "description": "where loops lie: inside, to_end or whole"},
    needs=("loops", "frames"),
    weight=Weight.FACT,
    source="RIFF, smpl chunk (first and last sample of a loop, both played); the limit is the spec's own",
    sentence="the file states {limit}",
    value_text=loops_shown,
    limit_text=loops_wanted,
)
def loop_points(loops: Sequence[Loop], frames: int, limit: str) -> Iterator[NotMet]:
    """A WAV states its loop points, at the positions that the recipient's engine expects, to the sample."""
    if not loops:
        yield NotMet("no loop points", LOOPS[limit], "a file whose smpl chunk states the loop")
    for first, last in loops:
        wrong = _wrong(first, last, frames, limit)
        if wrong:
            found = f"samples {first:,} to {last:,} of a file of {counted(frames, 'sample')}: {wrong}"
            yield NotMet(found, LOOPS[limit], "loop points set again, or an edit to them")


def _wrong(first: int, last: int, frames: int, limit: str) -> str:
    if first >= last:
        return "it ends where it begins or before"
    if last >= frames:
        return f"it ends {counted(last - frames + 1, 'sample')} after the file does"
    if limit == "whole" and first > 0:
        return f"{counted(first, 'sample')} before it"
    if limit in ("whole", "to_end") and last < frames - 1:
        return f"{counted(frames - 1 - last, 'sample')} after it"
    return ""


@rule(
    id="time_reference",
    limit=window(SECONDS, minimum=0, maximum=LONGEST_S),
    needs=("broadcast_chunk",),
    aided=("time_reference_s",),
    weight=Weight.FACT,
    source="EBU Tech 3285, TimeReference: first sample since midnight; the limit is the spec's own",
    sentence="the file states the time of its first sample, {limit} since midnight",
    limit_text=time_wanted,
)
def time_reference(
    broadcast_chunk: bool, time_reference_s: float | None, limit: Mapping[str, float]
) -> Iterator[NotMet]:
    """A broadcast wave states the time of its first sample, within the window."""
    if not broadcast_chunk or time_reference_s is None:
        yield NotMet("no time reference", time_wanted(limit), "a broadcast wave with its time stamp")
    elif outside(time_reference_s, limit):
        found = SECONDS.beside(time_reference_s, *edges(limit))
        yield NotMet(found, time_wanted(limit), "a file stamped with its own time")
