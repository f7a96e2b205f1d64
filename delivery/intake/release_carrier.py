"""What a release file says for discs and sides: where a side begins, and what record is pressed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any

from delivery.model.carrier import Pressing
from delivery.model.release import Release


def on_sides(release: Release, data: Mapping[str, Any]) -> Release:
    """*release* with the side of every track, and its pressing; *data* is the file's, checked."""
    tracks = zip(release.tracks, sided(data["tracks"]), strict=True)
    return replace(
        release,
        tracks=tuple(replace(track, side=side) for track, side in tracks),
        pressing=_pressing(data.get("pressing", {})),
    )


def sided(tracks: Sequence[Mapping[str, Any]]) -> list[str]:
    """Side of each track: as stated, else that of the track before; empty before the first stated one."""
    sides: list[str] = []
    for track in tracks:
        stated = track.get("side")
        before = sides[-1] if sides else ""
        sides.append(stated.strip().upper() if isinstance(stated, str) else before)
    return sides


def sides_come_back(tracks: Sequence[Mapping[str, Any]]) -> Iterator[tuple[str, str, str, str]]:
    """A side is one stretch of the release; pointer, found, wanted and remedy for each that comes back later."""
    sides = sided(tracks)
    for index, (before, here) in enumerate(pairwise(sides), start=1):
        if here != before and here in sides[: index - 1]:
            found = f"side {here} again, after side {before}"
            yield f"tracks/{index}/side", found, "all tracks of a side together", "Put the tracks in order."


def _pressing(data: Mapping[str, Any]) -> Pressing:
    size, speed = data.get("size_inch"), data.get("speed_rpm")
    return Pressing(int(size) if size else None, int(speed) if speed else None)
