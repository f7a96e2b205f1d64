"""Peaks, clipping and offset: measured on the sample values."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from delivery.model.finding import NotMet, Weight
from delivery.rules.limits import LOWEST_DBFS, count, edges, number, outside, window
from delivery.rules.rule import rule
from delivery.rules.words import DBFS, DBTP, PERCENT, Unit, at_most, counted, enough, within

sample_peak_wanted = at_most(DBFS)
true_peak_wanted = at_most(DBTP)
rms_wanted = within(DBFS)
offset_wanted = at_most(PERCENT)
Place = tuple[float, int, float]
"""Time in s, channel, dBTP."""


def runs(count: int, *_more: int) -> str:
    """'3 runs'."""
    return counted(count, "run")


def runs_wanted(limit: int) -> str:
    """The greatest number of runs, as the requirement states it."""
    return f"at most {runs(limit)}"


@rule(
    id="sample_peak_max_dbfs",
    limit=number(DBFS, minimum=LOWEST_DBFS, maximum=0),
    needs=("sample_peak_dbfs",),
    weight=Weight.FACT,
    source="AES17 (full scale); the limit is the spec's own",
    sentence="the highest sample is {limit}",
    value_text=DBFS,
    limit_text=sample_peak_wanted,
)
def sample_peak_ceiling(sample_peak_dbfs: float, limit: float) -> Iterator[NotMet]:
    """The highest sample does not exceed the ceiling."""
    over_db = sample_peak_dbfs - limit
    if over_db > 0:
        yield NotMet(
            DBFS.beside(sample_peak_dbfs, limit),
            sample_peak_wanted(limit),
            f"a master {enough(over_db)} lower",
            excess_db=over_db,
        )


@rule(
    id="rms_dbfs",
    limit=window(DBFS, minimum=LOWEST_DBFS, maximum=0),
    needs=("programme_rms_dbfs",),
    weight=Weight.FACT,
    source="common practice, no source: a full-scale sine reads -3.01 dBFS; the limit is the spec's own",
    sentence="the RMS level of the whole file is {limit}",
    value_text=DBFS,
    limit_text=rms_wanted,
)
def rms_level(programme_rms_dbfs: float, limit: Mapping[str, float]) -> Iterator[NotMet]:
    """The RMS level of the whole file lies in the recipient's window, as audiobook producers state loudness."""
    off_db = outside(programme_rms_dbfs, limit)
    if off_db:
        way = "lower" if off_db > 0 else "higher"
        yield NotMet(
            DBFS.beside(programme_rms_dbfs, *edges(limit)),
            rms_wanted(limit),
            f"a master {enough(abs(off_db))} {way}",
        )


@rule(
    id="noise_floor_max_dbfs",
    limit=number(DBFS, minimum=-150, maximum=0),
    needs=("noise_floor_dbfs",),
    weight=Weight.FACT,
    source="common practice, no source: the quietest 0.5 s without digital silence; the limit is the spec's own",
    sentence="the noise floor is {limit}",
    value_text=DBFS,
    limit_text=sample_peak_wanted,
    at="noise_floor_at_s",
)
def noise_floor(noise_floor_dbfs: float, limit: float) -> Iterator[NotMet]:
    """The quietest half second of speech, the room tone between words, is as quiet as the recipient requires."""
    over_db = noise_floor_dbfs - limit
    if over_db > 0:
        yield NotMet(
            DBFS.beside(noise_floor_dbfs, limit),
            sample_peak_wanted(limit),
            f"listen at the time given; a recording whose noise is {enough(over_db)} lower",
        )


@rule(
    id="true_peak_max_dbtp",
    limit=number(DBTP, minimum=LOWEST_DBFS, maximum=0),
    needs=("true_peak_dbtp",),
    weight=Weight.FACT,
    source="ITU-R BS.1770-5, Annex 2 (method); the limit is the spec's own",
    sentence="the true peak is {limit}",
    value_text=DBTP,
    limit_text=true_peak_wanted,
    at="true_peak_at_s",
    aided=("ceilings_dbtp", "places_above_ceilings", "highest_places"),
)
def true_peak_ceiling(
    true_peak_dbtp: float,
    ceilings_dbtp: Sequence[float] | None,
    places_above_ceilings: Sequence[int] | None,
    highest_places: Sequence[Place] | None,
    limit: float,
) -> Iterator[NotMet]:
    """Reconstructed peaks do not exceed the ceiling. States how many separate places do, and lists ten."""
    over_db = true_peak_dbtp - limit
    if over_db > 0:
        found = DBTP.beside(true_peak_dbtp, limit)
        above = [place for place in highest_places or () if place[2] > limit]
        if ceilings_dbtp and places_above_ceilings and any(_same(place[2], true_peak_dbtp) for place in above):
            found += f", {_places(ceilings_dbtp, places_above_ceilings, limit)}"
        else:
            above = []  # the peak is predicted, and its places are not
        yield NotMet(
            found,
            true_peak_wanted(limit),
            f"a master {enough(over_db)} lower",
            at_s=tuple(at_s for at_s, _, _ in above),
            excess_db=over_db,
        )


def _same(one: float, other: float) -> bool:
    return abs(one - other) < 1e-6


def _places(ceilings_dbtp: Sequence[float], counts: Sequence[int], limit: float) -> str:
    """'in 37 separate places', or a range if the limit lies between two of the levels counted."""
    least = max((n for ceiling, n in zip(ceilings_dbtp, counts, strict=True) if ceiling > limit - 1e-9), default=1)
    most = min((n for ceiling, n in zip(ceilings_dbtp, counts, strict=True) if ceiling < limit + 1e-9), default=None)
    if most is None:
        return f"in more than {counted(least, 'separate place')}"
    return f"in {counted(most, 'separate place')}" if most == least else f"in {least:,} to {most:,} separate places"


@rule(
    id="clip_runs_max",
    limit=count(Unit("runs", 0)),
    needs=("clip_run_count", "clip_run_longest"),
    weight=Weight.FACT,
    source="common practice, no source: runs of equal samples at the channel's own extreme",
    sentence="the number of clipped runs is {limit}",
    value_text=runs,
    limit_text=runs_wanted,
    at="clip_runs_at_s",
)
def clipped_runs(clip_run_count: int, clip_run_longest: int, limit: int) -> Iterator[NotMet]:
    """No more runs of equal samples at full scale than allowed. The count is a fact; audibility is not."""
    if clip_run_count > limit:
        yield NotMet(
            f"{runs(clip_run_count)}, the longest {counted(clip_run_longest, 'sample')}",
            runs_wanted(limit),
            "listen at the times given; a render before the clipping stage",
        )


@rule(
    id="dithered_clip_runs_max",
    limit=count(Unit("runs", 0)),
    needs=("dithered_clip_run_count", "dithered_clip_run_longest"),
    weight=Weight.WEAK_SIGN,
    source="common practice, no source: runs of nearly equal samples at the channel's own extreme",
    sentence="the number of clipped runs under dither is {limit}",
    value_text=runs,
    limit_text=runs_wanted,
    at="dithered_clip_runs_at_s",
)
def dithered_clipped_runs(dithered_clip_run_count: int, dithered_clip_run_longest: int, limit: int) -> Iterator[NotMet]:
    """No more flat tops than allowed that were lowered and dithered since. Square waves look the same: listen there."""
    if dithered_clip_run_count > limit:
        yield NotMet(
            f"{runs(dithered_clip_run_count)}, the longest {counted(dithered_clip_run_longest, 'sample')}",
            runs_wanted(limit),
            "listen at the times given; a render before the clipping stage",
        )


@rule(
    id="dc_offset_max_percent",
    limit=number(PERCENT, minimum=0, maximum=100),
    needs=("dc_offset_percent",),
    weight=Weight.FACT,
    source="common practice, no source",
    sentence="the mean of each channel is {limit} of full scale away from zero",
    value_text=PERCENT,
    limit_text=offset_wanted,
)
def dc_offset(dc_offset_percent: float, limit: float) -> Iterator[NotMet]:
    """No channel's mean is further from zero than allowed."""
    if dc_offset_percent > limit:
        yield NotMet(
            PERCENT.beside(dc_offset_percent, limit),
            offset_wanted(limit),
            "a render without the offset (a high-pass below 20 Hz)",
        )
