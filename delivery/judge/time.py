"""Tops, tails, length and gaps."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from delivery.judge.limits import FLAG, edges, number, outside, window
from delivery.judge.rule import rule
from delivery.judge.words import SECONDS, always, at_most, enough, listed, within
from delivery.model.finding import Shortfall, Weight

span_wanted = within(SECONDS)
gap_wanted = at_most(SECONDS)
whole_wanted = always("sound that neither starts nor ends within 10 ms of the file's edge")


@rule(
    id="lead-in",
    asks="lead_in_s",
    limit=window(SECONDS, minimum=0),
    needs=("lead_in_s",),
    weight=Weight.FACT,
    source="common practice, no source: silence before the first sample above -60 dBFS",
    says="the silence before the first sound is {limit}",
    shows=SECONDS,
    wants=span_wanted,
)
def lead_in(lead_in_s: float, limit: Mapping[str, float]) -> Iterator[Shortfall]:
    """The silence in front is as long as the recipient likes it; a join that must not be padded is a waiver."""
    yield from _silence(lead_in_s, limit, "in front")


@rule(
    id="tail",
    asks="tail_s",
    limit=window(SECONDS, minimum=0),
    needs=("tail_s",),
    weight=Weight.FACT,
    source="common practice, no source: silence after the last sample above -60 dBFS",
    says="the silence after the last sound is {limit}",
    shows=SECONDS,
    wants=span_wanted,
)
def tail(tail_s: float, limit: Mapping[str, float]) -> Iterator[Shortfall]:
    """The silence at the end is as long as the recipient likes it; a join that must not be padded is a waiver."""
    yield from _silence(tail_s, limit, "at the end")


def _silence(silence_s: float, limit: Mapping[str, float], where: str) -> Iterator[Shortfall]:
    off_s = outside(silence_s, limit)
    if off_s:
        what = "less" if off_s > 0 else "more"
        yield Shortfall(
            SECONDS.beside(silence_s, *edges(limit)),
            span_wanted(limit),
            f"{enough(abs(off_s), SECONDS)} {what} silence {where}, or a waiver",
        )


@rule(
    id="duration",
    asks="duration_s",
    limit=window(SECONDS, minimum=0),
    needs=("duration_s",),
    weight=Weight.FACT,
    source="the limit is the spec's own",
    says="the length is {limit}",
    shows=SECONDS,
    wants=span_wanted,
)
def duration(duration_s: float, limit: Mapping[str, float]) -> Iterator[Shortfall]:
    """The file is as long as asked."""
    off_s = outside(duration_s, limit)
    if off_s:
        what = "shorter" if off_s > 0 else "longer"
        yield Shortfall(
            SECONDS.beside(duration_s, *edges(limit)),
            span_wanted(limit),
            f"an edit {enough(abs(off_s), SECONDS)} {what}, or a waiver",
        )


@rule(
    id="inner-silence",
    asks="inner_silence_max_s",
    limit=number(SECONDS, minimum=0),
    needs=("inner_silence_longest_s",),
    weight=Weight.FACT,
    source="common practice, no source: the longest stretch under -60 dBFS between first and last sound",
    says="the longest silence inside is {limit}",
    shows=SECONDS,
    wants=gap_wanted,
    at="inner_silence_at_s",
)
def inner_silence(inner_silence_longest_s: float, limit: float) -> Iterator[Shortfall]:
    """No silence inside is so long that it looks like a fault of transfer."""
    if inner_silence_longest_s > limit:
        yield Shortfall(
            SECONDS.beside(inner_silence_longest_s, limit),
            gap_wanted(limit),
            "listen at the time given; an edit without the gap, or a waiver if it is meant",
        )


@rule(
    id="cut-edges",
    asks="not_cut",
    limit=FLAG,
    needs=("starts_cut", "ends_cut"),
    weight=Weight.FACT,
    source="common practice, no source: sound above -60 dBFS within 10 ms of the file's edge",
    says="start and end are whole: {limit}",
    wants=whole_wanted,
)
def cut_edges(starts_cut: bool, ends_cut: bool, limit: bool) -> Iterator[Shortfall]:
    """The sound neither starts nor stops at the file's very edge, as a bad cut does; a segue is a waiver."""
    cut = [edge for edge, is_cut in (("start", starts_cut), ("end", ends_cut)) if is_cut]
    if cut:
        yield Shortfall(
            f"sound at the very {listed(cut)} of the file",
            whole_wanted(limit),
            f"an edit with its {listed(cut)} whole, or a waiver if it joins its neighbour",
        )
