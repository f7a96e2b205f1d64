"""The release file: from YAML to a frozen Release, or all its faults together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from delivery.absolute import absolute
from delivery.errors import Faulty
from delivery.intake.release.carrier import on_sides
from delivery.intake.release.checks import contradictions, numbered, whole
from delivery.intake.release.track import cd_text, credit, names, plain_texts, texts, track_of
from delivery.intake.resolve_paths import composed, find_beside
from delivery.intake.shipped_files import shipped_schema
from delivery.intake.yaml.coerce_scalars import coerced, lost_texts
from delivery.intake.yaml.quoting import one_line
from delivery.intake.yaml.renamed_keys import remark
from delivery.intake.yaml.schema_faults import located_faults
from delivery.intake.yaml.schema_formats import WORLD, seconds_of, stored_barcode
from delivery.intake.yaml.source_locations import Located, in_file_order, located
from delivery.intake.yaml.text import Document, read_document
from delivery.model.approval import Approval, CopyMarks, Earlier
from delivery.model.codes import CODES
from delivery.model.release import Acceptance, Identity, LogEntry, Release, Waiver

SCHEMA = "release.schema.json"


def load_release(path: str | Path) -> Release:
    """Read a release file. Texts are composed (NFC); codes are stored without hyphens; files are found beside it.

    A missing master is not a fault of the text: it is reported when it is measured, track by track.

    Raises
    ------
    Faulty : everything that is wrong with the text, in file order
    """
    path = Path(path)
    return release_of(read_document(path), path)


def release_of(document: Document, path: Path) -> Release:
    """As `load_release`, from a document already read."""
    schema = shipped_schema(SCHEMA)
    data = coerced(document.data, schema, document.written, schema)
    folder = absolute(path).parent
    faults = [
        *located_faults(data, schema, document.lines, path.name, document.written),
        *_cuttexts(data, document, path.name),
        *contradictions(data, folder, document.lines, path.name),
    ]
    if faults:
        raise Faulty(in_file_order(faults))
    release = _release(data, absolute(path), document.lines)
    return on_sides(replace(release, outdated=remark(path.name, document.renames)), data)


def _cuttexts(data: Any, document: Document, name: str) -> list[Located]:
    return [
        located(
            name,
            document.lines,
            pointer,
            f"{rest!r} after the text, which YAML takes for a comment",
            "the whole text, or a blank after the '#' of a comment",
            f'If it belongs to the text, put all of it in quotes: "{text} {rest}"',
        )
        for pointer, text, rest in lost_texts(data, document.after_hash)
    ]


def _release(data: Mapping[str, Any], path: Path, lines: Mapping[str, int]) -> Release:
    folder = path.parent
    places = numbered(data["tracks"])
    return Release(
        path=path,
        tracks=tuple(
            track_of({**_shared(data), **track}, position, place, folder)
            for position, (track, place) in enumerate(zip(data["tracks"], places, strict=True), start=1)
        ),
        **texts(
            data,
            "title",
            "artist",
            "version",
            "label",
            "catalogue_number",
            "p_line",
            "c_line",
            "genre",
            "language",
            "client",
            "approved_by",
            "notes",
            "subgenre",
        ),
        texts=plain_texts(data, of_release=True),
        territories=tuple(land.lower() if land.lower() == WORLD else land for land in names(data, "territories")),
        credits=tuple(credit(one) for one in data.get("credits", ())),
        accepted_titles=names(data, "accepted_titles"),
        papers=names(data, "papers"),
        to_confirm=names(data, "to_confirm"),
        cd_text=cd_text(data),
        identities=tuple(_identity(one) for one in data.get("isni", ())),
        upc=stored_barcode(data.get("upc", "")),
        release_date=_day(data, "release_date"),
        original_date=_day(data, "original_date"),
        dated=_day(data, "dated"),
        artwork=find_beside(folder, data["artwork"]) if "artwork" in data else None,
        deliver_to=names(data, "deliver_to"),
        approval=_approval(data["approved"]) if "approved" in data else None,
        track_count=len(data["tracks"]),
        waivers=tuple(_waiver(waiver) for waiver in data.get("waivers", ())),
        accepted=tuple(_acceptance(acceptance) for acceptance in data.get("accepted", ())),
        qc_log=tuple(_log_entry(entry, len(data["tracks"])) for entry in data.get("qc_log", ())),
        revision=int(data.get("revision", 1)),
        lines=dict(lines),
    )


def _shared(data: Mapping[str, Any]) -> dict[str, Any]:
    """Release-level values for tracks that have none of their own."""
    keys = ("recording_studio", "recording_country", "recording_year", "credits", "mono_as")
    return {key: data[key] for key in keys if key in data}


def _identity(data: Mapping[str, Any]) -> Identity:
    return Identity(composed(data["name"]), CODES["isni"].stored(data["code"]))


def _waiver(data: Mapping[str, Any]) -> Waiver:
    why = composed(one_line(data["why"]))
    track, revision = whole(data.get("track")), whole(data.get("revision"))
    return Waiver(**texts(data, "rule", "by"), why=why, track=track, spec=data.get("spec"), revision=revision)


def _approval(data: Mapping[str, Any]) -> Approval:
    hashes = tuple(audio_hash.lower() for audio_hash in data["audio_hashes"])
    return Approval(
        by=composed(data["by"]),
        dated=date.fromisoformat(data["date"]),
        audio_hashes=hashes,
        label_copy=tuple(_copy_marks(one) for one in data.get("label_copy", ())),
        earlier=tuple(_earlier(one) for one in data.get("earlier", ())),
    )


def _copy_marks(data: Mapping[str, Any]) -> CopyMarks:
    pairs = (pair.partition("=") for pair in data["fields"].split())
    return CopyMarks(composed(data["title"]), {key: mark for key, _, mark in pairs})


def _earlier(data: Mapping[str, Any]) -> Earlier:
    return Earlier(composed(data["by"]), date.fromisoformat(data["date"]), tuple(map(int, data["tracks"])))


def _acceptance(data: Mapping[str, Any]) -> Acceptance:
    return Acceptance(
        **texts(data, "rule", "by"),
        track=int(data["track"]),
        audio_hash=data["audio_hash"].lower(),
        why=composed(one_line(data["why"])),
    )


def _log_entry(data: Mapping[str, Any], tracks: int) -> LogEntry:
    """A log entry; a single has only one track, so every time is in it."""
    at = data.get("at")
    track = whole(data.get("track"))
    return LogEntry(
        **{key: composed(one_line(str(data.get(key, "")))) for key in ("what", "decision", "by", "channel")},
        track=1 if track is None and at is not None and tracks == 1 else track,
        at_s=None if at is None else seconds_of(at),
    )


def _day(data: Mapping[str, Any], key: str) -> date | None:
    return date.fromisoformat(data[key]) if key in data else None
