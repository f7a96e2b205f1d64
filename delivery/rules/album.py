"""Compare the files with each other, and the album as one programme.

A file that could not be read is 'not measured', by name; the others are still compared.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from delivery.model.album import Likeness
from delivery.model.figure import Reading
from delivery.model.finding import NotMet, Weight
from delivery.model.release import Track
from delivery.rules.limits import FLAG, LONGEST_S, number
from delivery.rules.rule import Scope, Unanswered, rule
from delivery.rules.words import BITS, SECONDS, Keyed, always, at_most, enough, kilohertz, listed, runs

Tracks = Sequence[tuple[Track, Mapping[str, Reading]]]

rate_wanted = always("one sample rate")
depth_wanted = always("one bit depth")
once_wanted = always("different sound in every file")
unlike_wanted = always("one recording once")
length_wanted = at_most(SECONDS)


@rule(
    id="one_rate",
    limit=FLAG,
    needs=("tracks",),
    weight=Weight.FACT,
    source="the limit is the spec's own",
    sentence="all files of the release share {limit}",
    value_text=lambda tracks: _shown(tracks, "rate_hz", kilohertz),
    limit_text=rate_wanted,
    scope=Scope.RELEASE,
)
def one_rate(tracks: Tracks, limit: bool) -> Iterator[NotMet | Unanswered]:
    """All files of the release have one sample rate."""
    yield from one_value(tracks, "rate_hz", kilohertz, rate_wanted(limit))


@rule(
    id="one_depth",
    limit=FLAG,
    needs=("tracks",),
    weight=Weight.FACT,
    source="the limit is the spec's own",
    sentence="all files of the release share {limit}",
    value_text=lambda tracks: _shown(tracks, "bits", BITS),
    limit_text=depth_wanted,
    scope=Scope.RELEASE,
)
def one_depth(tracks: Tracks, limit: bool) -> Iterator[NotMet | Unanswered]:
    """All files of the release have one bit depth."""
    yield from one_value(tracks, "bits", BITS, depth_wanted(limit))


@rule(
    id="no_duplicate_audio",
    limit=FLAG,
    needs=("tracks",),
    weight=Weight.FACT,
    source="SHA-256 of the samples: the same hash is the same sound",
    sentence="there is {limit}",
    limit_text=once_wanted,
    scope=Scope.RELEASE,
)
def duplicate_audio(tracks: Tracks, limit: bool) -> Iterator[NotMet | Unanswered]:
    """No two files of the release hold the same samples."""
    yield from _absent(tracks, "audio_hash")
    for same in _grouped(tracks, "audio_hash").values():
        if len(same) > 1:
            yield NotMet(f"the same samples on {_on(same)}", once_wanted(limit), "the right file for each")


@rule(
    id="no_near_duplicate",
    limit=FLAG,
    needs=("likenesses",),
    weight=Weight.STRONG_SIGN,
    source="common practice, no source: loudness over time and tone agree at one offset; a sign, never proof",
    sentence="the release has {limit}",
    limit_text=unlike_wanted,
    scope=Scope.RELEASE,
)
def near_duplicate_audio(likenesses: Sequence[Likeness], limit: bool) -> Iterator[NotMet]:
    """No two tracks are one recording at another level, shifted, coded or cut; a radio version may well be one."""
    for pair in likenesses:
        if not pair.exact:
            yield NotMet(
                _alike(pair),
                unlike_wanted(limit),
                "listen to both; the right file for each",
                settled_if="if they are versions of one song",
            )


def _alike(pair: Likeness) -> str:
    if not pair.stretches:
        return (
            f"tracks {pair.one} and {pair.other} rise and fall as one (correlation {pair.correlation:.3f}), "
            f"{pair.gain_db:+.1f} dB and {pair.offset_s:+.2f} s apart"
        )
    held = listed(
        f"{_clock(each.one_s)} of {pair.one} is {_clock(each.other_s)} of {pair.other}, for {each.length_s:.0f} s"
        for each in pair.stretches
    )
    return (
        f"{pair.share:.0%} of the shorter of tracks {pair.one} and {pair.other} is in the other (correlation "
        f"{pair.correlation:.3f}, {pair.gain_db:+.1f} dB): {held}"
    )


def _clock(at_s: float) -> str:
    return f"{round(at_s) // 60}:{round(at_s) % 60:02}"


@rule(
    id="total_duration_max_s",
    limit=number(SECONDS, minimum=0, maximum=LONGEST_S),
    needs=("album",),
    weight=Weight.FACT,
    source="the limit is the spec's own",
    sentence="the duration of the whole release is {limit}",
    value_text=Keyed("duration_s", SECONDS),
    limit_text=length_wanted,
    scope=Scope.RELEASE,
)
def total_duration(album: Mapping[str, float], limit: float) -> Iterator[NotMet | Unanswered]:
    """The release as one programme is no longer than the medium holds."""
    if "duration_s" not in album:
        yield Unanswered("the length of the whole release is not known")
    elif album["duration_s"] > limit:
        over = enough(album["duration_s"] - limit, SECONDS)
        yield NotMet(SECONDS.beside(album["duration_s"], limit), length_wanted(limit), f"{over} less")


def one_value(tracks: Tracks, figure: str, words: Callable[[Any], str], wanted: str) -> Iterator[NotMet | Unanswered]:
    """One finding if *figure* has more than one value; the most frequent value is taken as the intended one."""
    yield from _absent(tracks, figure)
    groups = _grouped(tracks, figure)
    if len(groups) > 1:
        usual = max(groups, key=lambda value: (len(groups[value]), value))
        others = sorted(position for value, at in groups.items() if value != usual for position in at)
        found = "; ".join(f"{words(value)} on {_on(at)}" for value, at in sorted(groups.items()))
        yield NotMet(found, wanted, f"{_on(others)} at {words(usual)}")


def _absent(tracks: Tracks, figure: str) -> Iterator[Unanswered]:
    for track, facts in tracks:
        reading = facts.get(figure, Reading.missing("its file could not be read"))
        if not reading.exists:
            yield Unanswered(f"track {track.position}: {reading.why_missing}")


def _grouped(tracks: Tracks, figure: str) -> dict[Any, list[int]]:
    """Value -> positions of the tracks with that value."""
    groups: dict[Any, list[int]] = {}
    for track, facts in tracks:
        reading = facts.get(figure)
        if reading and reading.exists:
            groups.setdefault(reading.value, []).append(track.position)
    return groups


def _shown(tracks: Tracks, figure: str, words: Callable[[Any], str]) -> str:
    return listed(words(value) for value in sorted(_grouped(tracks, figure)))


def _on(positions: Sequence[int]) -> str:
    numbers = listed(runs(positions))
    return f"track {numbers}" if len(positions) == 1 else f"tracks {numbers}"
