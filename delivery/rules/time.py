"""Starts, ends, length and gaps."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from delivery.model.finding import NotMet, Weight
from delivery.rules.limits import FLAG, LONGEST_S, edges, number, outside, window
from delivery.rules.rule import rule
from delivery.rules.words import DBFS, PERCENT, SECONDS, Unit, always, at_most, enough, listed, within

span_wanted = within(SECONDS)
gap_wanted = at_most(SECONDS)
faded_wanted = always("a fade that falls below -70 dBFS")
whole_wanted = always("no audible cut")


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
    """The silence at the start has the length the recipient requires; waive it for a join that must not be padded."""
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
    """The silence at the end has the length the recipient requires; waive it for a join that must not be padded."""
    yield from _silence(tail_s, limit, "at the end")


def _silence(silence_s: float, limit: Mapping[str, float], where: str) -> Iterator[NotMet]:
    off_s = outside(silence_s, limit)
    if off_s:
        what = "less" if off_s > 0 else "more"
        yield NotMet(
            SECONDS.beside(silence_s, *edges(limit)),
            span_wanted(limit),
            f"{enough(abs(off_s), SECONDS)} {what} silence {where}",
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
    """The file is as long as required."""
    off_s = outside(duration_s, limit)
    if off_s:
        what = "shorter" if off_s > 0 else "longer"
        yield NotMet(
            SECONDS.beside(duration_s, *edges(limit)),
            span_wanted(limit),
            f"an edit {enough(abs(off_s), SECONDS)} {what}",
        )


@rule(
    id="inner_silence_max_s",
    limit=number(SECONDS, minimum=0, maximum=LONGEST_S),
    needs=("inner_silence_longest_s",),
    weight=Weight.FACT,
    source="common practice, no source: the longest span under -60 dBFS between first and last sound",
    sentence="the longest silence inside is {limit}",
    value_text=SECONDS,
    limit_text=gap_wanted,
    at="inner_silence_at_s",
)
def inner_silence(inner_silence_longest_s: float, limit: float) -> Iterator[NotMet]:
    """No silence inside is long enough to look like a transfer error."""
    if inner_silence_longest_s > limit:
        yield NotMet(
            SECONDS.beside(inner_silence_longest_s, limit),
            gap_wanted(limit),
            "listen at the time given; an edit without the gap",
            settled_if="if intended",
        )


@rule(
    id="no_audible_cut",
    limit=FLAG,
    needs=("starts_cut", "ends_cut"),
    weight=Weight.FACT,
    source="common practice, no source: first sample relative to the next 10 ms; RMS of the last 10 ms",
    sentence="start and end are whole: {limit}",
    limit_text=whole_wanted,
    aided=("first_sample_percent", "last_10_ms_dbfs"),
)
def audible_cut(
    starts_cut: bool,
    ends_cut: bool,
    first_sample_percent: float | None,
    last_10_ms_dbfs: float | None,
    limit: bool,
) -> Iterator[NotMet]:
    """No audible cut: the audio neither begins in its middle, with a click, nor stops before it has faded.

    A tightly trimmed attack is not a cut, nor is noise that stops below -50 dBFS; waive it for a segue.
    """
    cut = [edge for edge, is_cut in (("start", starts_cut), ("end", ends_cut)) if is_cut]
    if cut:
        yield NotMet(
            listed(
                [
                    *([f"the file begins within a sound{_behind(PERCENT, first_sample_percent)}"] * starts_cut),
                    *([f"the file stops within a sound{_behind(DBFS, last_10_ms_dbfs)}"] * ends_cut),
                ]
            ),
            whole_wanted(limit),
            f"listen to the {listed(cut)}; an edit with the {listed(cut)} whole",
            settled_if="if it joins its neighbour",
        )


def _behind(unit: Unit, value: float | None) -> str:
    return "" if value is None else f", at {unit(value)}"


@rule(
    id="fade_finished",
    limit=FLAG,
    needs=("fade_unfinished",),
    weight=Weight.FACT,
    source="common practice, no source: RMS of the last 10 and 50 ms against -70 dBFS, and falling",
    sentence="the end is quiet: {limit}",
    limit_text=faded_wanted,
    aided=("last_50_ms_dbfs",),
)
def fade_end(fade_unfinished: bool, last_50_ms_dbfs: float | None, limit: bool) -> Iterator[NotMet]:
    """The end falls below -70 dBFS; a fade or reverb still audible, and still falling, was stopped too early.

    Steady noise, of a room or a tape, is not an unfinished fade. An end above -50 dBFS is an audible cut.
    """
    if fade_unfinished:
        level = "" if last_50_ms_dbfs is None else f" at {DBFS(last_50_ms_dbfs)} RMS"
        yield NotMet(
            f"the last 50 ms still sound{level}",
            faded_wanted(limit),
            "an edit whose fade reaches silence",
            settled_if="if room tone or noise is intended there",
        )
