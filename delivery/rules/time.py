"""Tops, tails, length and gaps."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from delivery.model.finding import NotMet, Weight
from delivery.rules.limits import FLAG, LONGEST_S, edges, number, outside, window
from delivery.rules.rule import rule
from delivery.rules.words import DBFS, PERCENT, SECONDS, Unit, always, at_most, enough, listed, within

span_wanted = within(SECONDS)
gap_wanted = at_most(SECONDS)
faded_wanted = always("a fade that falls below -70 dBFS")
whole_wanted = always("no cut that a listener would hear")


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
    id="no_audible_cut",
    limit=FLAG,
    needs=("starts_cut", "ends_cut"),
    weight=Weight.FACT,
    source="common practice, no source: height of the first sample beside the next 10 ms; rms of the last 10 ms",
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
    """A listener hears no cut: the sound neither begins in its middle, with a click, nor stops before it has faded.

    A tightly trimmed attack is no cut, and neither is noise that stops below -50 dBFS; a segue is a waiver.
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
            f"listen to the {listed(cut)}; an edit with the {listed(cut)} whole, or a waiver if it joins its neighbour",
        )


def _behind(unit: Unit, value: float | None) -> str:
    return "" if value is None else f", at {unit(value)}"


@rule(
    id="fade_finished",
    limit=FLAG,
    needs=("fade_unfinished",),
    weight=Weight.FACT,
    source="common practice, no source: rms of the last 10 and 50 ms against -70 dBFS, and falling",
    sentence="the end is quiet: {limit}",
    limit_text=faded_wanted,
    aided=("last_50_ms_dbfs",),
)
def fade_end(fade_unfinished: bool, last_50_ms_dbfs: float | None, limit: bool) -> Iterator[NotMet]:
    """The end falls below -70 dBFS; a fade or a reverb that is still heard, and still falling, was stopped too early.

    Steady noise, of a room or a tape, is no unfinished fade. An end above -50 dBFS is an audible cut.
    """
    if fade_unfinished:
        level = "" if last_50_ms_dbfs is None else f" at {DBFS(last_50_ms_dbfs)} rms"
        yield NotMet(
            f"the last 50 ms still sound{level}",
            faded_wanted(limit),
            "an edit whose fade reaches silence, or a waiver if room or noise is meant to stand there",
        )
