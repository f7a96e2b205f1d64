"""The release as one spec receives it: without the tracks it does not receive, numbered without them. Pure.

Everything made for a spec (names, tags, papers, discs, sides, totals) uses this view, so no other code deals with
tracks left out. A track keeps its ``position``, by which waivers, findings and lines of the release file refer to it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from delivery.model.release import Release, Track

Name = TypeVar("Name", int, str)


def release_for(release: Release, spec: str) -> Release:
    """*release* with the tracks that the spec of that id receives; *release* itself if that is all of them.

    Sides, discs and the numbers on each disc are renumbered: the second side that is left takes the name of the second
    one of the release file. Waivers and log entries about a track that is left out are left out too; acceptances stay,
    since they belong to audio, not to a position.
    """
    kept = received(release, (spec,))
    if kept is release:
        return release
    return replace(kept, tracks=tuple(_closed_up(kept.tracks, release.tracks)))


def received(release: Release, specs: Collection[str]) -> Release:
    """*release* with the tracks that at least one of *specs* receives, numbered as in the release file."""
    kept = tuple(track for track in release.tracks if any(track.goes_to(spec) for spec in specs))
    if len(kept) == len(release.tracks):
        return release
    positions = {None, *(track.position for track in kept)}
    named = {release.artist, *(name for track in kept for name in release.named_on(track))}
    return replace(
        release,
        tracks=kept,
        waivers=tuple(one for one in release.waivers if one.track in positions),
        qc_log=tuple(one for one in release.qc_log if one.track in positions),
        identities=tuple(one for one in release.identities if one.name in named),
    )


def never_together(one: Track, other: Track) -> bool:
    """True if no spec, whatever its id, receives both tracks."""
    for this, that in ((one, other), (other, one)):
        if this.only_for:
            return not any(this.goes_to(spec) and that.goes_to(spec) for spec in this.only_for)
    return False


def _closed_up(kept: Sequence[Track], every: Sequence[Track]) -> Iterator[Track]:
    discs = _renamed([track.disc for track in kept], [track.disc for track in every])
    sides = _renamed([track.side for track in kept if track.side], [track.side for track in every if track.side])
    for track in kept:
        numbers = _renamed(_numbers(kept, track.disc), _numbers(every, track.disc))
        side = sides.get(track.side, track.side)
        yield replace(track, disc=discs[track.disc], number=numbers[track.number], side=side)


def _numbers(tracks: Iterable[Track], disc: int) -> list[int]:
    return [track.number for track in tracks if track.disc == disc]


def _renamed(kept: Iterable[Name], every: Iterable[Name]) -> dict[Name, Name]:
    """Each of *kept*, in order of first occurrence, -> the name at that index in *every*."""
    return dict(zip(dict.fromkeys(kept), dict.fromkeys(every), strict=False))
