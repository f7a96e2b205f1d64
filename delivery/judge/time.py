"""Tops, tails, length and gaps."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from delivery.judge.limits import FLAG, LONGEST_S, edges, number, outside, window
from delivery.judge.rule import rule
from delivery.judge.words import DBFS, PERCENT, SECONDS, always, at_most, enough, listed, within
from delivery.model.finding import NotMet, Weight

span_wanted = within(SECONDS)
gap_wanted = at_most(SECONDS)
faded_wanted = always("an end that is cut nowhere and falls below -80 dBFS")
step_wanted = at_most(PERCENT)
whole_wanted = always("sound that neither starts nor ends within 10 ms of the file's edge")


@rule(
    id="lead_in_s",
    limit=window(SECONDS, minimum=0, maximum=LONGEST_S),
    needs=("lead_in_s",),
    weight=Weight.FACT,
    source="common practice, no source: silence before the first sample above -60 dBFS",
    sentence="the silence before the first sound is {limit}",
    value_text=SECONDS,
    limit_text=span_wanted,
)
def lead_in(lead_in_s: float, limit: Mapping[str, float]) -> Iterator[NotMet]:
    """The silence in front is as long as the recipient likes it; a join that must not be padded is a waiver."""
    yield from _silence(lead_in_s, limit, "in front")


@rule(
    id="tail_s",
    limit=window(SECONDS, minimum=0, maximum=LONGEST_S),
    needs=("tail_s",),
    weight=Weight.FACT,
    source="common practice, no source: silence after the last sample above -60 dBFS",
    sentence="the silence after the last sound is {limit}",
    value_text=SECONDS,
    limit_text=span_wanted,
)
def tail(tail_s: float, limit: Mapping[str, float]) -> Iterator[NotMet]:
    """The silence at the end is as long as the recipient likes it; a join that must not be padded is a waiver."""
    yield from _silence(tail_s, limit, "at the end")


def _silence(silence_s: float, limit: Mapping[str, float], where: str) -> Iterator[NotMet]:
    off_s = outside(silence_s, limit)
    if off_s:
        what = "less" if off_s > 0 else "more"
        yield NotMet(
            SECONDS.beside(silence_s, *edges(limit)),
            span_wanted(limit),
            f"{enough(abs(off_s), SECONDS)} {what} silence {where}, or a waiver",
        )


@rule(
    id="duration_s",
    limit=window(SECONDS, minimum=0, maximum=LONGEST_S),
    needs=("duration_s",),
    weight=Weight.FACT,
    source="the limit is the spec's own",
    sentence="the length is {limit}",
    value_text=SECONDS,
    limit_text=span_wanted,
)
def duration(duration_s: float, limit: Mapping[str, float]) -> Iterator[NotMet]:
    """The file is as long as asked."""
    off_s = outside(duration_s, limit)
    if off_s:
        what = "shorter" if off_s > 0 else "longer"
        yield NotMet(
            SECONDS.beside(duration_s, *edges(limit)),
            span_wanted(limit),
            f"an edit {enough(abs(off_s), SECONDS)} {what}, or a waiver",
        )


@rule(
    id="inner_silence_max_s",
    limit=number(SECONDS, minimum=0, maximum=LONGEST_S),
    needs=("inner_silence_longest_s",),
    weight=Weight.FACT,
    source="common practice, no source: the longest stretch under -60 dBFS between first and last sound",
    sentence="the longest silence inside is {limit}",
    value_text=SECONDS,
    limit_text=gap_wanted,
    at="inner_silence_at_s",
)
def inner_silence(inner_silence_longest_s: float, limit: float) -> Iterator[NotMet]:
    """No silence inside is so long that it looks like a fault of transfer."""
    if inner_silence_longest_s > limit:
        yield NotMet(
            SECONDS.beside(inner_silence_longest_s, limit),
            gap_wanted(limit),
            "listen at the time given; an edit without the gap, or a waiver if it is meant",
        )


@rule(
    id="not_cut",
    limit=FLAG,
    needs=("starts_cut", "ends_cut"),
    weight=Weight.FACT,
    source="common practice, no source: sound above -60 dBFS within 10 ms of the file's edge",
    sentence="start and end are whole: {limit}",
    limit_text=whole_wanted,
)
def cut_edges(starts_cut: bool, ends_cut: bool, limit: bool) -> Iterator[NotMet]:
    """The sound neither starts nor stops at the file's very edge, as a bad cut does; a segue is a waiver."""
    cut = [edge for edge, is_cut in (("start", starts_cut), ("end", ends_cut)) if is_cut]
    if cut:
        yield NotMet(
            f"sound at the very {listed(cut)} of the file",
            whole_wanted(limit),
            f"an edit with its {listed(cut)} whole, or a waiver if it joins its neighbour",
        )


@rule(
    id="fade_finished",
    limit=FLAG,
    needs=("fade_unfinished",),
    weight=Weight.FACT,
    source="common practice, no source: rms of the last 50 ms against -80 dBFS",
    sentence="the end is quiet: {limit}",
    limit_text=faded_wanted,
    aided=("last_50_ms_dbfs",),
)
def fade_end(fade_unfinished: bool, last_50_ms_dbfs: float | None, limit: bool) -> Iterator[NotMet]:
    """The last 50 ms fall below -80 dBFS; a fade or a reverb that is still heard there was stopped too early."""
    if fade_unfinished:
        level = "" if last_50_ms_dbfs is None else f" at {DBFS(last_50_ms_dbfs)} rms"
        yield NotMet(
            f"the last 50 ms still sound{level}",
            faded_wanted(limit),
            "an edit whose fade reaches silence, or a waiver if room or noise is meant to stand there",
        )


@rule(
    id="edge_step_max_percent",
    limit=number(PERCENT, minimum=0, maximum=100),
    needs=("first_sample_percent", "last_sample_percent"),
    weight=Weight.FACT,
    source="common practice, no source: height of the very first and last sample",
    sentence="the file begins and ends with a step of {limit} of full scale",
    limit_text=step_wanted,
)
def edge_step(first_sample_percent: float, last_sample_percent: float, limit: float) -> Iterator[NotMet]:
    """The file begins and ends at zero: a player starts and stops in silence, and a step there is a click."""
    for edge, height in (("begins", first_sample_percent), ("ends", last_sample_percent)):
        if height > limit:
            yield NotMet(
                f"the file {edge} with a step of {PERCENT.beside(height, limit)}",
                step_wanted(limit),
                "an edit with a short fade there, or a waiver if it joins its neighbour",
            )
