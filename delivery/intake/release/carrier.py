"""Values for discs and sides in a release file: where a side begins, and which record is pressed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from typing import Any

from delivery.intake.resolve_paths import composed
from delivery.intake.yaml.quoting import one_line
from delivery.intake.yaml.schema_formats import index_point_of, is_index_point
from delivery.model.carrier import Pressing
from delivery.model.release import Cutting, Release
from delivery.model.subcode import IndexPoint

MOST_POINTS = 98
"""IEC 60908: index 0 is the pause, index 1 the beginning, and 99 the last."""


def on_sides(release: Release, data: Mapping[str, Any]) -> Release:
    """*release* with the side of every track, and its pressing; *data* is the file's, checked."""
    tracks = zip(release.tracks, sided(data["tracks"]), strict=True)
    return replace(
        release,
        tracks=tuple(replace(track, side=side) for track, side in tracks),
        pressing=_pressing(data.get("pressing", {})),
        cutting=_cutting(data.get("pressing", {})),
    )


def sided(tracks: Sequence[Mapping[str, Any]]) -> list[str]:
    """Side of each track: as stated, else that of the track before; empty before the first stated one."""
    sides: list[str] = []
    for track in tracks:
        stated = track.get("side")
        before = sides[-1] if sides else ""
        sides.append(stated.strip().upper() if isinstance(stated, str) else before)
    return sides


def sides_come_back(
    tracks: Sequence[Mapping[str, Any]], groups: Iterable[Sequence[int]]
) -> Iterator[tuple[str, str, str, str]]:
    """Pointer, found, wanted and remedy for each side that resumes after another: the tracks of a side must be
    consecutive.

    Parameters
    ----------
    groups : indices of the tracks delivered together
    """
    stated = sided(tracks)
    for group in groups:
        sides = [stated[index] for index in group]
        for at, (before, here) in enumerate(pairwise(sides), start=1):
            if here != before and here in sides[: at - 1]:
                found = f"side {here} again, after side {before}"
                yield f"tracks/{group[at]}/side", found, "all tracks of a side together", "Put the tracks in order."


def index_points_fall_back(tracks: Sequence[Mapping[str, Any]]) -> Iterator[tuple[str, str, str, str]]:
    """Index points of a track that do not rise; points in samples are compared by a rule, since that needs the rate."""
    for index, track in enumerate(tracks):
        stated = track.get("index_points")
        points = stated if isinstance(stated, list) else []
        if len(points) > MOST_POINTS:
            found, wanted = f"{len(points)} index points", f"at most {MOST_POINTS}: index 2 to 99"
            yield f"tracks/{index}/index_points", found, wanted, "Leave some out."
        before = _point(track.get("index_1"))
        if before and _place(before) == 0:
            wanted = "a position after the start of the master, where index 1 is by default"
            yield f"tracks/{index}/index_1", before.as_written, wanted, "Leave it out."
        for at, point in enumerate(points):
            here = _point(point)
            if here and _place(here) == 0:
                wanted = "a position after the start of the track, which is index 1"
                yield (
                    f"tracks/{index}/index_points/{at}",
                    here.as_written,
                    wanted,
                    "Leave it out; points count from index 2.",
                )
            elif here and before and _falls_back(before, here):
                found, wanted = (
                    f"{here.as_written} after {before.as_written}",
                    "each index point later than the one before",
                )
                yield f"tracks/{index}/index_points/{at}", found, wanted, "Put them in order."
            before = here or before


def _point(stated: Any) -> IndexPoint | None:
    """The point, or None if the schema reports a fault."""
    if isinstance(stated, str):
        return index_point_of(stated) if is_index_point(stated) else None
    is_number = isinstance(stated, (int, float)) and not isinstance(stated, bool)
    return index_point_of(stated) if is_number and stated >= 0 else None


def _place(point: IndexPoint) -> Fraction | int:
    return (point.sample or 0) if point.at_s is None else point.at_s


def _falls_back(before: IndexPoint, here: IndexPoint) -> bool:
    return (before.at_s is None) == (here.at_s is None) and _place(here) <= _place(before)


def _cutting(data: Mapping[str, Any]) -> Cutting:
    return Cutting(data.get("cut", ""), composed(one_line(str(data.get("notes", "")))))


def _pressing(data: Mapping[str, Any]) -> Pressing:
    size, speed = data.get("size_inch"), data.get("speed_rpm")
    return Pressing(int(size) if size else None, int(speed) if speed else None)
