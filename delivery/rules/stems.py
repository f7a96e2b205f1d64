"""Stems and versions of one song compared: length, start, and whether the stems add up to the main mix."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from delivery.model.finding import NotMet, Weight
from delivery.model.stems import StemSum
from delivery.rules.album import Tracks, one_value
from delivery.rules.limits import FLAG, number
from delivery.rules.rule import Scope, Unanswered, rule
from delivery.rules.words import DB, SECONDS, always, at_most, counted, enough, listed

lengths_wanted = always("one length, to the sample")
start_wanted = always("one start")
residual_wanted = at_most(DB)


def samples(frames: int) -> str:
    """'3 samples'."""
    return counted(frames, "sample")


@rule(
    id="equal_lengths",
    limit=FLAG,
    needs=("tracks",),
    weight=Weight.FACT,
    source="common practice, no source: stems and versions to be aligned have equal length",
    sentence="all files of a song have {limit}",
    limit_text=lengths_wanted,
    scope=Scope.RELEASE,
)
def equal_lengths(tracks: Tracks, limit: bool) -> Iterator[NotMet | Unanswered]:
    """All files of a song are equally long, to the sample, so that they line up.

    Files of one title are a song; where no title occurs twice, all files of the release are one.
    """
    for song in _songs(tracks):
        yield from one_value(song, "frames", samples, lengths_wanted(limit))


@rule(
    id="equal_time_references",
    limit=FLAG,
    needs=("tracks",),
    weight=Weight.FACT,
    source="EBU Tech 3285, TimeReference: first sample since midnight; the limit is the spec's own",
    sentence="all files of a song state {limit}",
    limit_text=start_wanted,
    scope=Scope.RELEASE,
)
def equal_time_references(tracks: Tracks, limit: bool) -> Iterator[NotMet | Unanswered]:
    """All files of a song state the same time for their first sample. Files are grouped as in equal_lengths."""
    for song in _songs(tracks):
        yield from one_value(song, "time_reference_s", SECONDS, start_wanted(limit))


@rule(
    id="stem_residual_max_db",
    limit=number(DB, minimum=-200, maximum=0),
    needs=("stem_sums",),
    weight=Weight.FACT,
    source="common practice, no source: RMS of the stems' sum minus the main mix, relative to the RMS of the main mix",
    sentence="the sum of a song's stems differs from its main mix by {limit}",
    value_text=lambda sums: "; ".join(
        f"{one.title}: {DB(one.residual_db)}" for one in sums if one.residual_db is not None
    ),
    limit_text=residual_wanted,
    scope=Scope.RELEASE,
)
def stem_residual(stem_sums: Sequence[StemSum], limit: float) -> Iterator[NotMet | Unanswered]:
    """Stems printed at unity add up to the main mix; the effect of a bus compressor or limiter on the mix remains.

    Stems are tracks with the word "stem" in their version; the main mix is the track of the same title without version.
    """
    if not stem_sums:
        yield Unanswered("no track has the word 'stem' in its version")
    for one in stem_sums:
        if one.residual_db is None:
            yield Unanswered(f"{one.title}: {one.why_missing}")
        elif one.residual_db > limit:
            found = f"{one.title}: {DB.beside(one.residual_db, limit)} ({listed(map(str, one.stems))} less {one.main})"
            yield NotMet(
                found,
                residual_wanted(limit),
                f"stems whose sum is {enough(one.residual_db - limit)} closer: each from the same start and printed at "
                "unity, without the bus processing of the mix",
                settled_if="that names it",
            )


def _songs(tracks: Tracks) -> Sequence[Tracks]:
    songs: dict[str, list[Any]] = {}
    for track, facts in tracks:
        songs.setdefault(track.title.casefold(), []).append((track, facts))
    return list(songs.values()) if len(songs) < len(tracks) else [tracks]
