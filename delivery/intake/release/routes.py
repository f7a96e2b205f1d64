"""Which specs receive a track: as stated in the release file, and contradictions there. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from delivery.errors import Faulty, Unusable
from delivery.intake.yaml.source_locations import place_of, shown
from delivery.model.release import Release, Track
from delivery.model.release_for import received

KEYS = ("only_for", "not_for")
ANY_OTHER = ""
"""Stands for every spec that no track names."""


def routed(tracks: Sequence[Mapping[str, Any]]) -> list[Track]:
    """Tracks with their routes only; *tracks* come from the file and may have faults."""
    return [
        Track(at, Path(), "", only_for=_ids(track, "only_for"), not_for=_ids(track, "not_for"))
        for at, track in enumerate(tracks)
    ]


def groups(tracks: Sequence[Mapping[str, Any]]) -> list[list[int]]:
    """Indices of the tracks delivered together, once for each different set."""
    bare = routed(tracks)
    named = dict.fromkeys((ANY_OTHER, *(spec for track in bare for spec in (*track.only_for, *track.not_for))))
    sets = dict.fromkeys(tuple(at for at, track in enumerate(bare) if track.goes_to(spec)) for spec in named)
    return [list(group) for group in sets]


def stated_twice(tracks: Sequence[Mapping[str, Any]]) -> Iterator[tuple[str, str, str, str]]:
    """Pointer, found, wanted and remedy for each track with both lists."""
    for index, track in enumerate(tracks):
        if all(_ids(track, key) for key in KEYS):
            yield (
                f"tracks/{index}/not_for",
                "only_for and not_for of one track",
                "one of the two",
                "Remove one of them.",
            )


def check_routes(release: Release, specs: Sequence[str], known: Sequence[str]) -> None:
    """Every id under ``only_for`` and ``not_for`` is that of a known spec, and every spec of the job has a track.

    Parameters
    ----------
    specs : ids of the specs of this job
    known : known ids

    Raises
    ------
    Faulty : an unknown id, or a spec without tracks; all of them
    """
    faults = [*_unknown(release, known), *_empty(release, specs)]
    if faults:
        raise Faulty(tuple(faults))


def _unknown(release: Release, known: Sequence[str]) -> Iterator[Unusable]:
    for track in release.tracks:
        for key in KEYS:
            for index, spec in enumerate(getattr(track, key)):
                if spec not in known:
                    near = get_close_matches(spec, known, n=1)
                    pointer = f"tracks/{track.position - 1}/{key}/{index}"
                    yield Unusable(
                        place_of(release.path.name, release.lines, pointer),
                        f"{shown(spec)}, which is no spec of this delivery",
                        f"the id of a spec under deliver_to ({', '.join(known)})",
                        f"Write {near[0]}." if near else "Correct the id, or name the spec under deliver_to.",
                    )


def _empty(release: Release, specs: Sequence[str]) -> Iterator[Unusable]:
    for spec in specs:
        if not received(release, (spec,)).tracks:
            yield Unusable(
                place_of(release.path.name, release.lines, "tracks"),
                f"no track for {spec}",
                "at least one track for each spec",
                "Correct only_for and not_for, or remove the spec from deliver_to.",
            )


def _ids(track: Mapping[str, Any], key: str) -> tuple[str, ...]:
    stated = track.get(key)
    return tuple(spec for spec in stated if isinstance(spec, str)) if isinstance(stated, list) else ()
