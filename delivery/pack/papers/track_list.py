"""The running order as plain text: number, title, length, ISRC. Lengths are those of the shipped files."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from itertools import groupby

from delivery.model.artist import display_artist
from delivery.model.part import Part, Shipped
from delivery.model.release import Release, Track
from delivery.model.spec import Spec
from delivery.pack.paper import Paper, shipped

_NOT_SUPPLIED = "not supplied"


def render(release: Release, spec: Spec, parts: Sequence[Part]) -> bytes:
    """UTF-8 text with LF; every track of the release, shipped or not."""
    files = {part.track: file for part, file in shipped(parts)}
    lengths_s = {track.position: _duration_s(files.get(track.position)) for track in release.tracks}
    lines = [*_head(release, spec), ""]
    for disc, tracks in groupby(release.tracks, key=lambda track: track.disc):
        if release.tracks[-1].disc != release.tracks[0].disc:
            lines += [f"Disc {disc}", ""]
        lines += [*_table(list(tracks), release, lengths_s), ""]
    lines.append(f"Total {_total(list(lengths_s.values()))}. Lengths in min:s, rounded to the second.")
    return "".join(f"{line.rstrip()}\n" for line in lines).encode("utf-8")


def _head(release: Release, spec: Spec) -> list[str]:
    return [
        release.artist,
        release.title + (f" ({release.version})" if release.version else ""),
        f"Catalogue number {release.catalogue_number or _NOT_SUPPLIED}, UPC/EAN {release.upc or _NOT_SUPPLIED}",
        f"Revision {release.revision}, dated {release.dated or 'not stated'}, files for: {spec.title}",
    ]


def _table(tracks: list[Track], release: Release, lengths_s: dict[int, float | None]) -> list[str]:
    rows = [
        (f"{t.number:>3}", _title(t, release), _min_s(lengths_s[t.position]), t.isrc or f"ISRC {_NOT_SUPPLIED}")
        for t in tracks
    ]
    title_columns = max(_columns(title) for _, title, _, _ in rows)
    return [
        f"{number}  {title}{' ' * (title_columns - _columns(title))}  {length:>8}  {isrc}"
        for number, title, length, isrc in rows
    ]


def _title(track: Track, release: Release) -> str:
    title = track.title + (f" ({track.version})" if track.version else "")
    artist = display_artist(track.artists, release.artist)
    named = title if artist == release.artist else f"{artist}: {title}"
    return " ".join(named.split()) or f"title {_NOT_SUPPLIED}"


def _duration_s(file: Shipped | None) -> float | None:
    return file.measurement.value("duration_s") if file else None


def _min_s(length_s: float | None) -> str:
    if length_s is None:
        return "no file"
    minutes, seconds = divmod(int(length_s + 0.5), 60)
    return f"{minutes}:{seconds:02}"


def _total(lengths_s: list[float | None]) -> str:
    known = [length_s for length_s in lengths_s if length_s is not None]
    missing = len(lengths_s) - len(known)
    return _min_s(sum(known)) + (f" without {missing} of {len(lengths_s)} tracks" if missing else "")


def _columns(text: str) -> int:
    """Columns on a terminal or in plain-text mail: wide letters take two, marks none (Unicode UAX #11)."""
    return sum(0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in text)


PAPER = Paper(
    id="track_list",
    file_name="track-list.txt",
    sentence="the running order as plain text, with lengths and ISRCs",
    render=render,
)
