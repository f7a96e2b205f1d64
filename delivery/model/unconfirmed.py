"""Values of a release taken from folder and file names and not confirmed yet. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from delivery.model.release import Credit, Release, Track

ORDER = "tracks"
"""Stands for the order of the tracks in `to_confirm` of the release."""
MOST_SHOWN = 5
"""Maximum values quoted for one field in one sentence; `delivery confirm` prints the whole list."""


@dataclass(frozen=True, slots=True)
class Unconfirmed:
    """One value that a person must check before it ships."""

    key: str
    """As in the release file: 'title', 'isrc', 'artwork' ...; 'tracks' is their order."""
    track: int | None
    """Position of the track; None: the release itself."""
    value: str
    """In words, for the person who decides."""
    pointer: str
    """'tracks/2/title', counting from 0."""

    @property
    def address(self) -> str:
        """As on the command line: 'title' of the release, 'title:3' of the third track."""
        return self.key if self.track is None else f"{self.key}:{self.track}"


def unconfirmed(release: Release) -> tuple[Unconfirmed, ...]:
    """The release's own first, then by track. A name in `to_confirm` whose value is gone no longer counts."""
    return (*_of_release(release), *(one for track in release.tracks for one in _of_track(track)))


def in_short(found: Iterable[Unconfirmed]) -> str:
    """'title "masters"; track titles "Low Water", "Lamps" (tracks 1, 2)': one sentence for all of them."""
    ordered = sorted(found, key=lambda one: (one.track is not None, one.key))
    grouped = groupby(ordered, key=lambda one: (one.track is not None, one.key))
    return "; ".join(_sentence(key, list(same)) for (_, key), same in grouped)


def _sentence(key: str, same: list[Unconfirmed]) -> str:
    word = "order of the tracks" if key == ORDER else key.replace("_", " ")
    quoted = ", ".join(repr(one.value) for one in same[:MOST_SHOWN])
    quoted += f" and {len(same) - MOST_SHOWN} more" if len(same) > MOST_SHOWN else ""
    if same[0].track is None:
        return word if key == ORDER else f"{word} {quoted}"
    return f"{word} of track{'s' if len(same) > 1 else ''} {', '.join(str(one.track) for one in same)} ({quoted})"


def _of_release(release: Release) -> Iterator[Unconfirmed]:
    for key in release.to_confirm:
        if key == ORDER:
            titles = ", ".join(track.title for track in release.tracks)
            yield Unconfirmed(key, None, titles, key)
        elif value := _value_text(getattr(release, key, "")):
            yield Unconfirmed(key, None, value, key)


def _of_track(track: Track) -> Iterator[Unconfirmed]:
    for key in track.to_confirm:
        if value := _value_text(getattr(track, key, "")):
            yield Unconfirmed(key, track.position, value, f"tracks/{track.position - 1}/{key}")


def _value_text(value: Any) -> str:
    """In words; empty where there is no value."""
    if isinstance(value, tuple):
        return ", ".join(map(_value_text, value))
    if isinstance(value, Credit):
        return value.name if value.role == "main" else f"{value.name} ({value.role})"
    if value is None:
        return ""
    return str(getattr(value, "name", value))  # of a path its last step
