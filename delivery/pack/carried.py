"""Shared by papers about discs and sides: performers, positions, codes. Pure."""

from __future__ import annotations

from collections.abc import Iterator

from delivery.model.artist import display_artist
from delivery.model.carrier import Programme, Song
from delivery.model.part import Delivery, Image, Shipped
from delivery.model.release import Release, Track
from delivery.model.spec import Spec

NOT_SUPPLIED = "not supplied"


def shipped_images(delivery: Delivery, spec: Spec) -> Iterator[tuple[Image, Shipped]]:
    """The discs or sides that were written, in order."""
    for image in delivery.images_of(spec.id):
        if image.shipped:
            yield image, image.shipped


def track_of(release: Release, song: Song) -> Track:
    """The track of *song*."""
    return release.track(song.position)


def named(track: Track, release: Release) -> str:
    """Title and version on one line, with the track's artists if they differ from the release's."""
    title = track.title + (f" ({track.version})" if track.version else "")
    artist = display_artist(track.artists, release.artist)
    return " ".join((title if artist == release.artist else f"{title}, {artist}").split())


def number_of(programme: Programme, song: Song) -> str:
    """'A1' on a side, '01' on a disc."""
    return f"{song.number:02}" if programme.carrier.part == "disc" else f"{programme.label}{song.number}"


def clock(samples: int, rate_hz: int) -> str:
    """'4:03.250': a position in a file, to the millisecond, halves rounded up."""
    milliseconds = (2000 * samples + rate_hz) // (2 * rate_hz)
    return f"{milliseconds // 60_000}:{milliseconds // 1000 % 60:02}.{milliseconds % 1000:03}"
