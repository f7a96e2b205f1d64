"""Contradictions in a release file that a schema cannot express."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from difflib import get_close_matches
from itertools import pairwise
from pathlib import Path
from typing import Any

from delivery.intake.release.carrier import index_points_fall_back, sides_come_back
from delivery.intake.release.routes import groups, routed, stated_twice
from delivery.intake.release.versions import sections_fall_back, versions_of_none
from delivery.intake.resolve_paths import composed, find_beside, identity
from delivery.intake.yaml.source_locations import Located, located, shown
from delivery.model.release_for import never_together

ACTING_ROLES = ("main", "featured", "remixer")
"""Roles that affect what is written into files; any other is printed unchanged."""


Contradiction = tuple[str, str, str, str]
"""Pointer, found, wanted, remedy."""


def contradictions(data: Any, folder: Path, lines: Mapping[str, int], file_name: str) -> Iterator[Located]:
    """Every contradiction in *data*, which may itself have faults: values of the wrong kind are ignored."""
    tracks = [_group(track) for track in _list(_group(data).get("tracks"))]
    log = _list(_group(data).get("qc_log"))
    for pointer, found, wanted, remedy in (
        *_one_file_twice(tracks, folder, lines),
        *_numbers_out_of_order(tracks),
        *sides_come_back(tracks, groups(tracks)),
        *stated_twice(tracks),
        *index_points_fall_back(tracks),
        *sections_fall_back(tracks),
        *versions_of_none(tracks, [whole(track.get("version_of")) for track in tracks]),
        *_mistyped_roles(tracks),
        *_identities(_list(_group(data).get("isni")), _names_in(_group(data), tracks)),
        *(
            found
            for key in ("waivers", "accepted", "qc_log")
            for found in _tracks_that_are_none(key, _list(_group(data).get(key)), len(tracks))
        ),
        *_times_in_no_track(log, len(tracks)),
    ):
        yield located(file_name, lines, pointer, found, wanted, remedy)


def _group(value: Any) -> Mapping[str, Any]:
    return value if isinstance(value, Mapping) else {}


def _list(value: Any) -> Sequence[Any]:
    return value if isinstance(value, list) else []


def _one_file_twice(
    tracks: Sequence[Mapping[str, Any]], folder: Path, lines: Mapping[str, int]
) -> Iterator[Contradiction]:
    """Files used twice within one spec; a master may occur once for each carrier, in its own order."""
    earlier: dict[tuple[object, ...], list[int]] = {}
    bare = routed(tracks)
    for index, track in enumerate(tracks):
        name = track.get("file")
        if not isinstance(name, str):
            continue
        same = earlier.setdefault(identity(find_beside(folder, name)), [])
        before = next((at for at in same if not never_together(bare[at], bare[index])), None)
        same.append(index)
        if before is not None:
            line = lines.get(f"tracks/{before}/file")
            found = f"the file of track {before + 1} again ({name}, line {line})"
            yield (f"tracks/{index}/file", found, "a file of its own for each track", "Name the right one.")


def numbered(tracks: Sequence[Mapping[str, Any]]) -> list[tuple[int, int]]:
    """Disc and number of each track: as stated, else the disc of the track before and one number more."""
    places: list[tuple[int, int]] = []
    for track in tracks:
        last_disc, last_number = places[-1] if places else (1, 0)
        disc = whole(track.get("disc")) or last_disc
        number = whole(track.get("number")) or (last_number + 1 if disc == last_disc else 1)
        places.append((disc, number))
    return places


def whole(value: Any) -> int | None:
    """An integer (in JSON Schema 3.0 counts as one), or None for anything else."""
    is_number = isinstance(value, (int, float)) and not isinstance(value, bool)
    return int(value) if is_number and value == int(value) else None


def _numbers_out_of_order(tracks: Sequence[Mapping[str, Any]]) -> Iterator[Contradiction]:
    places = numbered(tracks)
    for index, (before, here) in enumerate(pairwise(places), start=1):
        if here > before:
            continue
        key = "disc" if here[0] != before[0] and "disc" in tracks[index] else "number"
        pointer = f"tracks/{index}/{key}" if key in tracks[index] else f"tracks/{index}"
        found = f"{_place_text(here)} after {_place_text(before)}"
        wanted = "each number once on its disc, rising in release order"
        yield (pointer, found, wanted, "Put the tracks in order, or leave the numbers out.")


def _place_text(place: tuple[int, int]) -> str:
    return f"number {place[1]} of disc {place[0]}"


def _mistyped_roles(tracks: Sequence[Mapping[str, Any]]) -> Iterator[Contradiction]:
    for index, track in enumerate(tracks):
        for position, credit in enumerate(_list(track.get("artists"))):
            role = _group(credit).get("role")
            if not isinstance(role, str) or role.strip().lower() in ACTING_ROLES:
                continue
            close = get_close_matches(role.strip().lower().rstrip("."), ACTING_ROLES, n=1, cutoff=0.65)
            if close:
                pointer = f"tracks/{index}/artists/{position}/role"
                yield (pointer, f"the role {shown(role)}", f"'{close[0]}'", f"Write {close[0]}.")


def _names_in(data: Mapping[str, Any], tracks: Sequence[Mapping[str, Any]]) -> tuple[str, ...]:
    """Every name of an artist, writer or contributor in the file."""
    listed = [data.get("artist"), *_list(data.get("credits"))]
    for track in tracks:
        for key in ("artists", "composers", "lyricists", "writers", "credits"):
            listed += _list(track.get(key))
    listed_names = (one.get("name") if isinstance(one, Mapping) else one for one in listed)
    return tuple(dict.fromkeys(composed(name) for name in listed_names if isinstance(name, str)))


def _identities(entries: Sequence[Any], names: Sequence[str]) -> Iterator[Contradiction]:
    """Codes of names: each name occurs in the release and has one code."""
    seen: set[str] = set()
    for index, entry in enumerate(entries):
        name = _group(entry).get("name")
        if not isinstance(name, str):
            continue
        pointer, wanted = f"isni/{index}/name", "each name of the release once, spelt as in the release"
        if composed(name) in seen:
            yield (pointer, f"{shown(name)} a second time", wanted, "Keep the right one.")
        elif composed(name) not in names:
            near = get_close_matches(composed(name), names, n=1)
            remedy = f"Write {shown(near[0])}." if near else "Correct the name, or take the entry out."
            yield (pointer, f"{shown(name)}, a name that the release does not have", wanted, remedy)
        seen.add(composed(name))


def _tracks_that_are_none(key: str, entries: Sequence[Any], tracks: int) -> Iterator[Contradiction]:
    for index, entry in enumerate(entries):
        track = whole(_group(entry).get("track"))
        if track is not None and track > tracks:
            wanted = f"a position from 1 to {tracks}"
            yield (f"{key}/{index}/track", f"track {track}", wanted, "Count through all discs.")


def _times_in_no_track(log: Sequence[Any], tracks: int) -> Iterator[Contradiction]:
    for index, entry in enumerate(log):
        known = _group(entry)
        if "at" in known and "track" not in known and tracks > 1:
            yield (f"qc_log/{index}/at", "a time, but no track", "the track it is in", "Add its position as 'track'.")
