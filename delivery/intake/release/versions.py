"""Sections of a track and versions of another one in a release file: what a schema cannot check."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

from delivery.intake.yaml.schema_formats import is_play_time, seconds_of

Contradiction = tuple[str, str, str, str]


def sections_fall_back(tracks: Sequence[Mapping[str, Any]]) -> Iterator[Contradiction]:
    """Sections that do not begin one after the other."""
    for index, track in enumerate(tracks):
        stated = track.get("sections")
        begins = [_from(one) for one in stated] if isinstance(stated, list) else []
        for at, (before, here) in enumerate(pairwise(begins), start=1):
            if before is not None and here is not None and here[1] <= before[1]:
                found, wanted = f"{here[0]} after {before[0]}", "each section later than the one before"
                yield f"tracks/{index}/sections/{at}/from", found, wanted, "Put the sections in order."


def _from(section: Any) -> tuple[str, float] | None:
    """As written, and in seconds; None where the schema reports a fault."""
    stated = section.get("from") if isinstance(section, Mapping) else None
    if isinstance(stated, str):
        return (stated, seconds_of(stated)) if is_play_time(stated) else None
    if isinstance(stated, (int, float)) and not isinstance(stated, bool):
        return f"{stated:g}", float(stated)
    return None


def versions_of_none(tracks: Sequence[Mapping[str, Any]], positions: Sequence[int | None]) -> Iterator[Contradiction]:
    """Versions of a track that does not exist, of themselves, or of a version.

    Parameters
    ----------
    positions : `version_of` of each track as an integer; None: not stated
    """
    for index, main in enumerate(positions):
        if main is None:
            continue
        pointer, wanted = f"tracks/{index}/version_of", f"the position of the main version, 1 to {len(tracks)}"
        if main > len(tracks):
            yield pointer, f"track {main}", wanted, "Count through all discs."
        elif main == index + 1:
            yield pointer, f"track {main}, which is the track itself", wanted, "Leave it out of the main version."
        elif positions[main - 1] is not None:
            found = f"track {main}, which is a version of track {positions[main - 1]} itself"
            yield pointer, found, wanted, f"Write version_of: {positions[main - 1]}."
