"""Label copy as cells: one text for each field of the release and of each track, for all outputs. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from delivery.model.codes import CODES
from delivery.model.fields import FIELDS, fields_kept
from delivery.model.fields.row import Kept
from delivery.model.label_copy import ROUTES
from delivery.model.release import Release, Sample, Track, Writer
from delivery.report.view import words
from delivery.report.view.model import View

WRITER_COLUMNS = ("writer", "share", "ipi", "society", "publisher")
SHORT_ROLES = {"composer": "C", "lyricist": "A", "arranger": "AR", "translator": "TR"}
ROLES = {field.role for field in fields_kept(Kept.CREDIT)}


@dataclass(frozen=True, slots=True)
class LabelCopy:
    """Label copy as texts, ready to set."""

    release: tuple[tuple[str, str], ...]
    """Heading and text of each release field."""
    columns: tuple[str, ...]
    """Headings of the table."""
    rows: tuple[tuple[str, ...], ...]


def label_copy(view: View) -> LabelCopy:
    """Every field in its column; what was not supplied is an empty cell."""
    release = view.delivery.release
    lengths = {source.track.position: source.measurement for source in view.delivery.sources}
    seconds = {at: one.value("duration_s") if one else None for at, one in lengths.items()}
    most = max((len(track.writers) for track in release.tracks), default=0)
    unused = [name for name in ROUTES if not any(getattr(track, name) for track in release.tracks)]
    plain = [
        column
        for column in FIELDS.values()
        if not column.of_release and column.id not in ("writer", "share", "ipi", "society", *unused)
    ]
    numbered = [f"{FIELDS[name].title.removesuffix('s')} {n}" for n in range(1, most + 1) for name in WRITER_COLUMNS]
    rows = [
        (*(words.plain(_cell(column.id, track, seconds, release)) for column in plain), *_writers(track, most))
        for track in release.tracks
    ]
    return LabelCopy(
        tuple(
            (column.title, words.plain(_of_release(column.id, release)))
            for column in FIELDS.values()
            if column.of_release
        ),
        (*(column.title for column in plain), *numbered),
        tuple(rows),
    )


def _cell(name: str, track: Track, seconds: Mapping[int, float | None], release: Release) -> str:
    if name == "duration":
        return _clock(seconds.get(track.position))
    if name == "isni":
        return identities(release, release.named_on(track))
    if name in TRACK:
        return TRACK[name](track)
    if FIELDS[name].kept is Kept.TEXT:
        return track.text(name)
    if FIELDS[name].kept in (Kept.CREDIT, Kept.ARTIST):
        return "; ".join(track.named_as(FIELDS[name]))
    return str(getattr(track, name) or "")


def identities(release: Release, names: Iterable[str]) -> str:
    """'Ilse Merrow: 9999 0000 0000 014X; ...' of those *names* that have a code, as it is printed."""
    known = ((name, release.isni_of(name)) for name in names)
    return "; ".join(f"{words.plain(name)}: {CODES['isni'].printed(code)}" for name, code in known if code)


def _clock(seconds: float | None) -> str:
    return "" if seconds is None else words.clock(seconds, 0)


def _besides(names: Iterable[str], writers: Iterable[Writer]) -> str:
    known = {writer.name for writer in writers}
    return "; ".join(name for name in names if name not in known)


def _others(track: Track) -> str:
    return "; ".join(f"{credit.role}: {credit.name}" for credit in track.credits if credit.role not in ROLES)


def _samples(samples: tuple[Sample, ...] | None) -> str:
    if samples is None:
        return ""
    marks = (("cleared: " + one.by if one.by else "cleared") if one.cleared else "not cleared" for one in samples)
    return "; ".join(f"{one.of} ({mark})" for one, mark in zip(samples, marks, strict=True)) or "none"


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:g}"


TRACK: Mapping[str, Callable[[Track], str]] = {
    "disc": lambda track: str(track.disc),
    "number": lambda track: str(track.number),
    "isrc": lambda track: CODES["isrc"].printed(track.isrc),
    "iswc": lambda track: CODES["iswc"].printed(track.iswc),
    "instrumental": lambda track: "yes" if track.instrumental else "",
    "composer": lambda track: _besides(track.composers, track.writers),
    "lyricist": lambda track: _besides(track.lyricists, track.writers),
    "publisher": lambda track: "; ".join(
        name for name in track.publishers if name not in {w.publisher for w in track.writers}
    ),
    "other_credits": _others,
    "bpm": lambda track: _number(track.bpm),
    "preview_start": lambda track: _clock(track.preview_start_s),
    "gap_before": lambda track: _number(track.gap_before_s),
    "samples": lambda track: _samples(track.samples),
    "only_for": lambda track: "; ".join(track.only_for),
    "not_for": lambda track: "; ".join(track.not_for),
    "file": lambda track: track.file.name,
}
"""Cells of fields with a form of their own."""


def _writers(track: Track, most: int) -> list[str]:
    cells: list[str] = []
    for writer in track.writers:
        roles = "".join(SHORT_ROLES[role] for role in writer.roles)
        texts = (
            f"{writer.name} ({roles})",
            _number(writer.share_percent),
            writer.ipi,
            writer.society,
            writer.publisher,
        )
        cells += map(words.plain, texts)
    return cells + [""] * (most * len(WRITER_COLUMNS) - len(cells))


def _of_release(name: str, release: Release) -> str:
    special = {
        "album": release.title,
        "album_version": release.version,
        "album_artist": release.artist,
        "release_language": release.language,
        "territories": "; ".join(release.territories),
        "release_date": release.release_date.isoformat() if release.release_date else "",
        "original_date": release.original_date.isoformat() if release.original_date else "",
    }
    if FIELDS[name].kept is Kept.TEXT:
        return release.text(name)
    return special[name] if name in special else str(getattr(release, name))
