"""Contents of a disc besides audio: index points, control bits, texts shown by players."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from delivery.model.carrier import Programme, Song, msf
from delivery.model.cd_text import FIELDS, disc_text, track_text
from delivery.model.finding import NotMet, Weight
from delivery.model.release import Release
from delivery.rules.carrier import minutes
from delivery.rules.limits import FLAG
from delivery.rules.rule import Scope, rule
from delivery.rules.words import SECONDS, always, counted, listed

Programmes = Sequence[Programme]
EMPHASIS_PAUSE_S = 2.0
points_wanted = always("every index point in a frame of its own within its track")
pauses_wanted = always("pauses of at least 2 s")
letters_wanted = always("letters of ISO 8859-1")


@rule(
    id="index_points_inside",
    limit=FLAG,
    needs=("programmes", "release"),
    weight=Weight.FACT,
    source="IEC 60908: index 2 to 99 rise within the track; the shortest unit is a frame",
    sentence="there is {limit}",
    value_text=lambda programmes, _release: counted(_points(programmes), "index point"),
    limit_text=points_wanted,
    scope=Scope.RELEASE,
)
def index_points(programmes: Programmes, release: Release, limit: bool) -> Iterator[NotMet]:
    """Index points lie within their track, each in its own frame, in rising order from index 1."""
    for programme in programmes:
        for song in programme.songs:
            if song.pregap >= song.length:
                yield _index_1_behind_the_end(programme, song, release, limit)
            before = (song.begins + song.pregap) // programme.carrier.frame_samples
            for index in song.indices:
                place = index.frame * programme.carrier.frame_samples + index.early
                stated = release.track(song.position).index_points[index.number - 2].as_written
                what = f"track {song.position}: index {index.number} at {stated}"
                fault = ""
                if place >= song.ends:
                    fault = f"{what} is after the end of the track, {_within(programme, song)}"
                elif index.frame <= before:
                    fault = f"{what} is not in a later frame than the point before it"
                if fault:
                    remedy = f"index_points of track {song.position}, rising, at least a frame apart, before its end"
                    where = release.place(f"tracks/{song.position - 1}/index_points/{index.number - 2}")
                    yield NotMet(fault, points_wanted(limit), remedy, where, settled_if=None)
                before = max(before, index.frame)


def _index_1_behind_the_end(programme: Programme, song: Song, release: Release, limit: bool) -> NotMet:
    stated = release.track(song.position).index_1
    return NotMet(
        f"track {song.position}: index 1 at {stated.as_written if stated else ''} is after the end of the track, "
        f"{_within(programme, song)}",
        points_wanted(limit),
        f"index_1 of track {song.position} before its end",
        release.place(f"tracks/{song.position - 1}/index_1"),
        settled_if=None,
    )


def _points(programmes: Programmes) -> int:
    return sum(len(song.indices) for programme in programmes for song in programme.songs)


def _within(programme: Programme, song: Song) -> str:
    frames = programme.carrier.frame_samples
    return msf(song.length // frames) if programme.carrier.in_frames else minutes(song.length / programme.rate_hz)


@rule(
    id="emphasis_changes_in_pauses",
    limit=FLAG,
    needs=("programmes", "release"),
    weight=Weight.FACT,
    source="IEC 60908, control bits: changed in the lead-in and in pauses of at least 2 s only; from memory",
    sentence="pre-emphasis changes only in {limit}",
    limit_text=pauses_wanted,
    scope=Scope.RELEASE,
)
def emphasis_change(programmes: Programmes, release: Release, limit: bool) -> Iterator[NotMet]:
    """A player can switch its de-emphasis in a pause of two seconds, not between songs that follow closely."""
    for programme in programmes:
        for before, after in pairwise(programme.songs):
            one, other = (release.track(song.position) for song in (before, after))
            pause_s = (after.mark - after.pause) * programme.carrier.frame_samples / programme.rate_hz
            if one.pre_emphasis != other.pre_emphasis and pause_s < EMPHASIS_PAUSE_S:
                yield NotMet(
                    f"pre-emphasis changes between tracks {one.position} and {other.position} in {SECONDS(pause_s)}",
                    pauses_wanted(limit),
                    f"gap_before_s of track {other.position}, at least 2; or both masters without emphasis",
                    release.place(f"tracks/{other.position - 1}/pre_emphasis"),
                )


@rule(
    id="cd_text_latin",
    limit=FLAG,
    needs=("release",),
    weight=Weight.FACT,
    source="IEC 61866 as commonly used: ISO 8859-1; from memory",
    sentence="titles and names are spelt in {limit}",
    limit_text=letters_wanted,
    scope=Scope.RELEASE,
)
def cd_text(release: Release, limit: bool) -> Iterator[NotMet]:
    """Players show CD-Text in western European letters; other titles need a spelling agreed with the plant."""
    texts = [("the disc", "", disc_text(release))]
    for track in release.tracks:
        texts.append((f"track {track.position}", f"tracks/{track.position - 1}/", track_text(track, release)))
    seen: set[str] = set()
    for where, pointer, text in texts:
        for field in FIELDS:
            as_written = getattr(text, field)
            foreign = sorted({letter for letter in as_written if not _in_latin_1(letter)})
            if foreign and as_written not in seen:
                seen.add(as_written)
                yield NotMet(
                    f"{field} of {where}: {as_written!r} has {listed(foreign)}",
                    letters_wanted(limit),
                    f"cd_text: {{{field}: ...}} of {where}, a spelling for players agreed with artist and plant",
                    release.place(f"{pointer}cd_text/{field}"),
                )


def _in_latin_1(letter: str) -> bool:
    try:
        letter.encode("iso-8859-1")
    except UnicodeEncodeError:
        return False
    return True
