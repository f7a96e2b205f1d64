"""Loudness against a recipient's window. Without a requirement loudness is information, never a verdict."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from delivery.model.finding import NotMet, Weight
from delivery.rules.limits import LOWEST_DBFS, edges, number, outside, window
from delivery.rules.rule import Scope, rule
from delivery.rules.words import LU, LUFS, at_most, enough, within

window_wanted = within(LUFS)
ceiling_wanted = at_most(LUFS)
range_wanted = at_most(LU)


@rule(
    id="integrated_lufs",
    limit=window(LUFS, minimum=LOWEST_DBFS, maximum=0, target=True),
    needs=("integrated_lufs",),
    weight=Weight.FACT,
    source="ITU-R BS.1770-5, Annex 1 (method); the limit is the spec's own",
    sentence="the integrated loudness is {limit}",
    value_text=LUFS,
    limit_text=window_wanted,
)
def integrated_loudness(integrated_lufs: float, limit: Mapping[str, float]) -> Iterator[NotMet]:
    """The programme loudness lies in the recipient's window."""
    off_lu = outside(integrated_lufs, limit)
    if off_lu:
        way = "lower" if off_lu > 0 else "higher"
        yield NotMet(
            LUFS.beside(integrated_lufs, *edges(limit)),
            window_wanted(limit),
            f"a master {enough(abs(off_lu))} {way}, a spec that requires the gain (convert: gain)",
        )


@rule(
    id="album_integrated_lufs",
    limit=window(LUFS, minimum=LOWEST_DBFS, maximum=0, target=True),
    needs=("album_integrated_lufs",),
    weight=Weight.FACT,
    source="ITU-R BS.1770-5, Annex 1, gated over all songs as one programme; the limit is the spec's own",
    sentence="the integrated loudness of the whole release is {limit}",
    value_text=LUFS,
    limit_text=window_wanted,
    scope=Scope.RELEASE,
)
def album_loudness(album_integrated_lufs: float, limit: Mapping[str, float]) -> Iterator[NotMet]:
    """The release as one programme lies in the recipient's window; the balance between songs is as approved."""
    off_lu = outside(album_integrated_lufs, limit)
    if off_lu:
        way = "lower" if off_lu > 0 else "higher"
        yield NotMet(
            LUFS.beside(album_integrated_lufs, *edges(limit)),
            window_wanted(limit),
            f"all masters {enough(abs(off_lu))} {way}, a spec that requires one gain for the album "
            "(convert: gain, gain_scope)",
        )


@rule(
    id="loudness_range_max_lu",
    limit=number(LU, minimum=0, maximum=100),
    needs=("loudness_range_lu",),
    weight=Weight.FACT,
    source="EBU Tech 3342 (method; not meant for programmes under a minute); the limit is the spec's own",
    sentence="the loudness range is {limit}",
    value_text=LU,
    limit_text=range_wanted,
)
def loudness_range(loudness_range_lu: float, limit: float) -> Iterator[NotMet]:
    """The programme's loudness range is no wider than allowed."""
    over_lu = loudness_range_lu - limit
    if over_lu > 0:
        yield NotMet(
            LU.beside(loudness_range_lu, limit),
            range_wanted(limit),
            f"a master whose range is {enough(over_lu, LU)} narrower",
        )


@rule(
    id="momentary_max_lufs",
    limit=number(LUFS, minimum=LOWEST_DBFS, maximum=0),
    needs=("momentary_max_lufs",),
    weight=Weight.FACT,
    source="EBU Tech 3341 (400 ms); the limit is the spec's own",
    sentence="the highest momentary loudness is {limit}",
    value_text=LUFS,
    limit_text=ceiling_wanted,
    at="momentary_max_at_s",
)
def momentary_loudness(momentary_max_lufs: float, limit: float) -> Iterator[NotMet]:
    """No 400 ms are louder than allowed."""
    yield from _over(momentary_max_lufs, limit)


@rule(
    id="short_term_max_lufs",
    limit=number(LUFS, minimum=LOWEST_DBFS, maximum=0),
    needs=("short_term_max_lufs",),
    weight=Weight.FACT,
    source="EBU Tech 3341 (3 s); the limit is the spec's own",
    sentence="the highest short-term loudness is {limit}",
    value_text=LUFS,
    limit_text=ceiling_wanted,
    at="short_term_max_at_s",
)
def short_term_loudness(short_term_max_lufs: float, limit: float) -> Iterator[NotMet]:
    """No 3 s are louder than allowed."""
    yield from _over(short_term_max_lufs, limit)


def _over(loudness_lufs: float, limit: float) -> Iterator[NotMet]:
    over_lu = loudness_lufs - limit
    if over_lu > 0:
        yield NotMet(
            LUFS.beside(loudness_lufs, limit),
            ceiling_wanted(limit),
            f"a master {enough(over_lu)} lower",
        )
