"""Discs and sides: length, number of tracks, start of sides, and joins between songs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

from delivery.model.album import Cut, Join
from delivery.model.carrier import Pressing, Programme, msf
from delivery.model.finding import NotMet, Weight
from delivery.model.release import Release
from delivery.rules.limits import FLAG, LONGEST_S, number
from delivery.rules.rule import Scope, Unanswered, rule
from delivery.rules.words import SECONDS, always, at_most, counted, enough, listed

Programmes = Sequence[Programme]
Rows = Sequence[Mapping[str, float]]

LENGTHS: dict[str, Any] = {
    "type": "array",
    "minItems": 1,
    "uniqueItems": True,
    "description": "rows of size, speed and length: {size_inch: 12, speed_rpm: 33, at_most_s: 1380}",
    "items": {
        "type": "object",
        "description": "size and speed where the length depends on them",
        "properties": {
            "size_inch": {"enum": [7, 10, 12], "description": "inches"},
            "speed_rpm": {"enum": [33, 45], "description": "turns a minute, 33 for 33 1/3"},
            "at_most_s": {"type": "number", "minimum": 1, "description": "s"},
        },
        "required": ["at_most_s"],
        "additionalProperties": False,
    },
}


def minutes(seconds: float, *limits: float) -> str:
    """'23:00 min:s': decimals to the millisecond, or as many as needed to show the side of each limit."""
    digits = next(
        (n for n in range(3, 9) if all((round(seconds, n) > at) == (seconds > at) for at in limits)),
        9,
    )
    whole, part = divmod(round(seconds * 10**digits), 10**digits)
    return f"{whole // 60}:{whole % 60:02}" + (f".{part:0{digits}}".rstrip("0") if part else "") + " min:s"


def lengths_wanted(rows: Rows) -> str:
    """The lengths of a table, as the requirement states them."""
    return listed((_row_words(row) for row in rows), "or")


def _row_words(row: Mapping[str, float]) -> str:
    pressed = str(_pressing(row))
    return f"at most {minutes(row['at_most_s'])}" + (f" on {pressed}" if pressed else "")


def _pressing(row: Mapping[str, Any]) -> Pressing:
    return Pressing(row.get("size_inch"), row.get("speed_rpm"))


def tracks_wanted(limit: int) -> str:
    """The greatest number of tracks, as the requirement states it."""
    return f"at most {counted(limit, 'track')}"


gaps_wanted = always("a stated gap before every song but the first of a side or disc")
sides_wanted = always("a side for every track")
one_rate_wanted = always("one sample rate and channel count among songs joined without a gap")
runs_on_wanted = always("audio that continues across every cut without a gap")
balance_wanted = at_most(SECONDS)


@rule(
    id="part_length_max",
    limit=LENGTHS,
    needs=("programmes",),
    weight=Weight.FACT,
    source="the limit is the spec's own; the length includes pauses and the carrier's first pause",
    sentence="each disc or side is {limit}",
    value_text=lambda programmes: listed(_length(each) for each in programmes),
    limit_text=lengths_wanted,
    scope=Scope.RELEASE,
)
def part_length(programmes: Programmes, limit: Rows) -> Iterator[NotMet | Unanswered]:
    """No disc or side is longer than the carrier holds."""
    yield from _over(programmes, limit)


@rule(
    id="part_length_good",
    limit=LENGTHS,
    needs=("programmes",),
    weight=Weight.FACT,
    source="the limit is the spec's own; the length includes pauses and the carrier's first pause",
    sentence="for the best result each disc or side is {limit}",
    value_text=lambda programmes: listed(_length(each) for each in programmes),
    limit_text=lengths_wanted,
    scope=Scope.RELEASE,
)
def part_length_good(programmes: Programmes, limit: Rows) -> Iterator[NotMet | Unanswered]:
    """No disc or side is longer than its manufacturer recommends; longer ones cost level or need a plant's consent."""
    yield from _over(programmes, limit)


def _over(programmes: Programmes, limit: Rows) -> Iterator[NotMet | Unanswered]:
    for programme in programmes:
        most_s = programme.pressing.limit_s(limit)
        if most_s is None:
            yield Unanswered(
                f"{programme.name}: the spec has no length for {str(programme.pressing) or 'no size and speed'}"
            )
        elif programme.length_s > most_s:
            over = enough(programme.length_s - most_s, SECONDS)
            wanted = lengths_wanted([row for row in limit if _concerns(row, programme.pressing)][:1])
            yield NotMet(_length(programme, most_s), wanted, f"{over} less on {programme.name}")


def _concerns(row: Mapping[str, Any], pressing: Pressing) -> bool:
    return pressing.fits(row.get("size_inch"), row.get("speed_rpm"))


def _length(programme: Programme, *limits: float) -> str:
    pressed = f" ({programme.pressing})" if str(programme.pressing) else ""
    frames = programme.carrier.in_frames
    length = f"{msf(programme.lead_out)} min:s:frames" if frames else minutes(programme.length_s, *limits)
    return f"{programme.name}{pressed}: {length}"


@rule(
    id="part_tracks_max",
    limit={"type": "integer", "minimum": 1, "description": "tracks"},
    needs=("programmes",),
    weight=Weight.FACT,
    source="the limit is the spec's own",
    sentence="each disc or side has {limit}",
    value_text=lambda programmes: listed(f"{each.name}: {counted(len(each.songs), 'track')}" for each in programmes),
    limit_text=tracks_wanted,
    scope=Scope.RELEASE,
)
def tracks_on_part(programmes: Programmes, limit: int) -> Iterator[NotMet]:
    """No disc or side has more tracks than can be numbered on it."""
    for programme in programmes:
        if len(programme.songs) > limit:
            found = f"{programme.name}: {counted(len(programme.songs), 'track')}"
            yield NotMet(found, tracks_wanted(limit), "another disc or songs joined to one track", settled_if=None)


@rule(
    id="gaps_stated",
    limit=FLAG,
    needs=("programmes", "release"),
    weight=Weight.FACT,
    source="common practice, no source: an unstated gap has not been listened to",
    sentence="there is {limit}",
    limit_text=gaps_wanted,
    scope=Scope.RELEASE,
)
def gaps_stated(programmes: Programmes, release: Release, limit: bool) -> Iterator[NotMet]:
    """Every gap between two songs is stated; unstated gaps are joined, which may be intended."""
    for programme in programmes:
        for song in programme.songs[1:]:
            if release.track(song.position).gap_before_s is None:
                yield NotMet(
                    f"no gap stated before track {song.position}; the songs are joined without a gap",
                    gaps_wanted(limit),
                    f"gap_before_s of track {song.position}, 0 if it continues without a break",
                    release.place(f"tracks/{song.position - 1}/gap_before_s"),
                )


@rule(
    id="sides_stated",
    limit=FLAG,
    needs=("release",),
    weight=Weight.FACT,
    source="common practice, no source: the artist decides where a side begins",
    sentence="the release file names {limit}",
    value_text=lambda release: listed(dict.fromkeys(track.side for track in release.tracks)),
    limit_text=sides_wanted,
    scope=Scope.RELEASE,
)
def sides_stated(release: Release, limit: bool) -> Iterator[NotMet]:
    """The release file states the side of every track; an album is never divided automatically."""
    without = [track.position for track in release.tracks if not track.side]
    if without:
        found = "no track names its side" if len(without) == len(release.tracks) else "no side for the first tracks"
        remedy = f"side: A at track {without[0]}, and a side wherever another one begins"
        yield NotMet(
            found, sides_wanted(limit), remedy, release.place(f"tracks/{without[0] - 1}/side"), settled_if=None
        )


@rule(
    id="joins_of_one_form",
    limit=FLAG,
    needs=("unlike_neighbours",),
    weight=Weight.FACT,
    source="songs that are one stream are converted as one, and a stream has one rate",
    sentence="there is {limit}",
    limit_text=one_rate_wanted,
    scope=Scope.RELEASE,
)
def joins_of_one_form(unlike_neighbours: Sequence[tuple[int, int]], limit: bool) -> Iterator[NotMet]:
    """Songs joined without a gap have one sample rate and channel count."""
    for _, after in unlike_neighbours:
        yield NotMet(
            "joined without a gap to the track before, but their masters differ in rate or channels",
            one_rate_wanted(limit),
            "masters of one form or a gap between them",
            track=after,
        )


@rule(
    id="joins_run_on",
    limit=FLAG,
    needs=("joins", "programmes"),
    weight=Weight.STRONG_SIGN,
    source="linear prediction across the cut, against the same with samples lost or doubled; a sign, never proof",
    sentence="there is {limit}",
    value_text=lambda joins, programmes: _proven(_met(joins, programmes)),
    limit_text=runs_on_wanted,
    scope=Scope.RELEASE,
)
def joins_run_on(joins: Sequence[Join], programmes: Programmes, limit: bool) -> Iterator[NotMet]:
    """Where songs are joined without a gap and both are audible at the cut, the later one continues the waveform."""
    for join in _met(joins, programmes):
        if join.cut is Cut.STEP:
            found = (
                f"tracks {join.before} and {join.after}: the waveform jumps at the cut, {join.step_db:.0f} dB too far"
            )
            remedy = "listen to the join; both masters cut at one sample or a gap"
            yield NotMet(found, runs_on_wanted(limit), remedy)


def _met(joins: Sequence[Join], programmes: Programmes) -> list[Join]:
    """The joins to be made: those of songs that continue without a break on the same disc or side."""
    later = {song.position for programme in programmes for song in programme.songs if song.joined}
    return [join for join in joins if join.after in later]


def _proven(joins: Sequence[Join]) -> str:
    return "; ".join(f"{join.before} to {join.after}: {join.cut.value}" for join in joins)


@rule(
    id="side_difference_max_s",
    limit=number(SECONDS, minimum=0, maximum=LONGEST_S),
    needs=("programmes",),
    weight=Weight.FACT,
    source="common practice, no source: sides of one record or cassette are about as long",
    sentence="two sides of one record differ by {limit}",
    value_text=lambda programmes: listed(_length(each) for each in programmes),
    limit_text=balance_wanted,
    scope=Scope.RELEASE,
)
def side_balance(programmes: Programmes, limit: float) -> Iterator[NotMet]:
    """Both sides of a record or cassette are about equally long: one groove spacing, one level, no blank tape."""
    for front, back in list(pairwise(programmes))[::2]:
        apart_s = abs(front.length_s - back.length_s)
        if apart_s > limit:
            longer = max(front, back, key=lambda each: each.length_s)
            yield NotMet(
                f"{_length(front)}; {_length(back)}: {SECONDS.beside(apart_s, limit)} apart",
                balance_wanted(limit),
                f"another order with less on {longer.name}",
            )
