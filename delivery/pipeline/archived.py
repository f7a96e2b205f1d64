"""A release read back from an archived package: its label copy, and its best lossless file of each track as master."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from delivery.absolute import absolute
from delivery.errors import Unusable
from delivery.ledger.file_state import file_sha256
from delivery.model.fields import fields_kept
from delivery.model.fields.row import Kept
from delivery.model.release import Acceptance, Credit, Identity, Release, Sample, Track, Writer
from delivery.pack import layout
from delivery.pipeline.earlier import UNREADABLE, package_data
from delivery.report.view.words import runs

LOSSLESS = ("pcm", "float")
Document = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Master:
    """The file of a package from which a track is made again."""

    path: str
    """Inside the package."""
    spec: str
    sha256: str
    identical: bool
    """Its samples are the master's, by the audio hash."""


def archived_release(package: Path) -> Release:
    """The release in *package*, each track with the best lossless file in it; its notes state where files come from.

    Routes, waivers, the approval and values for discs are left out: they were about other recipients. So is the date:
    with it the new delivery would count in the month of the old one.

    Raises
    ------
    Unusable : no package, a track without a lossless file, or a file with other bytes than were delivered
    """
    document = package_data(package).document
    try:
        masters = {source["track"]: _best(document, source) for source in document["sources"]}
        release = _release(document, package, masters)
    except UNREADABLE as fault:
        found = f"data that cannot be used ({type(fault).__name__}: {fault})"
        raise Unusable(package.name, found, "the data document of a package", "Verify the package.") from fault
    for master in masters.values():
        if file_sha256(layout.on_disk(package, master.path)) != master.sha256:
            remedy = "Verify the package; use a copy of it that is whole."
            raise Unusable(master.path, "other bytes than were delivered", "the file as delivered", remedy)
    return release


def _best(document: Document, source: Document) -> Master:
    """The file with the master's samples, else the one with the most bits, then the highest rate.

    Raises
    ------
    Unusable : no lossless file of the track
    """
    parts = [each for each in document["parts"] if each["track"] == source["track"] and each["shipped"]]
    lossless = [each for each in parts if each["shipped"]["figures"].get("coding") in LOSSLESS]
    lossless = [each for each in lossless if not layout.escapes(each["shipped"]["path"])]
    if not lossless:
        wanted = "a lossless file of every track"
        remedy = "Nothing is made from lossy copies, and no song is cut out of a disc or side: find the masters."
        raise Unusable(f"track {source['track']}, {source['title']!r}", "none in the package", wanted, remedy)
    known = (source["measured"] or {"figures": {}})["figures"].get("audio_hash")

    def worth(part: Document) -> tuple[bool, float, float]:
        figures = part["shipped"]["figures"]
        return part["shipped"]["audio_hash"] == known, figures.get("bits") or 0, figures.get("rate_hz") or 0

    best = max(lossless, key=worth)
    shipped = best["shipped"]
    return Master(shipped["path"], best["spec"], shipped["sha256"], shipped["audio_hash"] == known)


def _release(document: Document, package: Path, masters: Mapping[int, Master]) -> Release:
    recorded = document["release"]
    plain = ("title", "artist", "version", "label", "catalogue_number", "upc", "p_line", "c_line", "genre", "language",
             "client", "subgenre")  # fmt: skip
    texts: dict[str, Any] = {name: str(recorded[name]) for name in plain}
    return Release(
        path=absolute(package) / "release.yaml",
        tracks=tuple(_track(each, package, masters[each["track"]]) for each in document["sources"]),
        release_date=_day(recorded["release_date"]),
        original_date=_day(recorded["original_date"]),
        revision=int(recorded["revision"]),
        notes=_provenance(document, package, masters),
        territories=tuple(recorded["territories"]),
        identities=tuple(Identity(each["name"], each["code"]) for each in recorded["isni"]),
        accepted=tuple(Acceptance(**each) for each in recorded["accepted"]),
        texts=_texts(recorded, of_release=True),
        **texts,
    )


def _track(recorded: Document, package: Path, master: Master) -> Track:
    plain = ("title", "version", "isrc", "explicit", "language", "side", "iswc", "title_language", "key",
             "recording_studio", "recording_country")  # fmt: skip
    stated = ("gap_before_s", "bpm", "recording_year", "preview_start_s")
    texts: dict[str, Any] = {name: str(recorded[name]) for name in plain} | {name: recorded[name] for name in stated}
    samples = recorded["samples"]
    return Track(
        position=int(recorded["track"]),
        file=layout.on_disk(absolute(package), master.path),
        number=int(recorded["number"]),
        disc=int(recorded["disc"]),
        artists=tuple(Credit(**each) for each in recorded["artists"]),
        composers=tuple(recorded["composers"]),
        lyricists=tuple(recorded["lyricists"]),
        instrumental=bool(recorded["instrumental"]),
        writers=tuple(Writer(**{**each, "roles": tuple(each["roles"])}) for each in recorded["writers"]),
        publishers=tuple(recorded["publishers"]),
        credits=tuple(Credit(**each) for each in recorded["credits"]),
        texts=_texts(recorded, of_release=False),
        samples=None if samples is None else tuple(Sample(**each) for each in samples),
        **texts,
    )


def _texts(recorded: Document, *, of_release: bool) -> tuple[tuple[str, str], ...]:
    kept = (field.id for field in fields_kept(Kept.TEXT, of_release=of_release))
    return tuple((name, str(recorded[name])) for name in kept if recorded.get(name))


def _day(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None


def _provenance(document: Document, package: Path, masters: Mapping[int, Master]) -> str:
    """Where the files come from, for the sheet."""
    revision = document["release"]["revision"]
    said = [f"Made from the archived package {absolute(package).name!r} (revision {revision}), not from the masters."]
    for identical, origin in (
        (True, "samples identical to the masters (same audio hash)"),
        (False, "already converted: not the samples of the masters"),
    ):
        chosen = [(track, each.spec) for track, each in masters.items() if each.identical is identical]
        for spec in dict.fromkeys(spec for _, spec in chosen):
            said.append(f"{_numbers(chosen, spec)}, from {spec}: {origin}.")
    return " ".join(said)


def _numbers(chosen: Sequence[tuple[int, str]], spec: str) -> str:
    numbers = [str(track) for track, of_spec in chosen if of_spec == spec]
    return f"Track{'s' if len(numbers) > 1 else ''} {runs(numbers)}"
