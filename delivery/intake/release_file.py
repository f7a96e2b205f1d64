"""The release file: an album as the client means it, from YAML to a frozen Release, or all its faults together."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from delivery.errors import Faulty
from delivery.intake.as_meant import as_meant, lost_texts
from delivery.intake.forms import stored_barcode, stored_isrc
from delivery.intake.on_disk import composed, find_beside
from delivery.intake.places import Located, in_file_order, located
from delivery.intake.release_checks import contradictions, numbered, whole
from delivery.intake.schema_faults import located_faults
from delivery.intake.shipped_files import shipped_schema
from delivery.intake.yaml_text import Document, read_document
from delivery.intake.yaml_write import one_line
from delivery.model.release import Credit, Release, Track, Waiver

SCHEMA = "release.schema.json"


def load_release(path: Path) -> Release:
    """Read a release file. Texts are composed (NFC); codes are stored without hyphens; files are found beside it.

    A master that is not there is no fault of the text: whoever measures it says so, track by track.

    Raises
    ------
    Faulty : everything that is wrong with the text, in file order
    """
    return release_of(read_document(path), path)


def release_of(document: Document, path: Path) -> Release:
    """As `load_release`, from a document already read."""
    schema = shipped_schema(SCHEMA)
    data = as_meant(document.data, schema, document.written, schema)
    folder = path.absolute().parent
    faults = [
        *located_faults(data, schema, document.lines, path.name, document.written),
        *_cut_texts(data, document, path.name),
        *contradictions(data, folder, document.lines, path.name),
    ]
    if faults:
        raise Faulty(in_file_order(faults))
    return _release(data, path.absolute(), document.lines)


def _cut_texts(data: Any, document: Document, name: str) -> list[Located]:
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
            _track(track, position, place, folder)
            for position, (track, place) in enumerate(zip(data["tracks"], places, strict=True), start=1)
        ),
        **_texts(
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
        ),
        upc=stored_barcode(data.get("upc", "")),
        release_date=_day(data, "release_date"),
        original_date=_day(data, "original_date"),
        dated=_day(data, "dated"),
        artwork=find_beside(folder, data["artwork"]) if "artwork" in data else None,
        deliver_to=_names(data, "deliver_to"),
        waivers=tuple(_waiver(waiver) for waiver in data.get("waivers", ())),
        revision=int(data.get("revision", 1)),
        lines=dict(lines),
    )


def _track(data: Mapping[str, Any], position: int, place: tuple[int, int], folder: Path) -> Track:
    disc, number = place
    return Track(
        position=position,
        file=find_beside(folder, data["file"]),
        number=number,
        disc=disc,
        **_texts(data, "title", "version", "explicit", "language"),
        artists=tuple(_credit(credit) for credit in data.get("artists", ())),
        isrc=stored_isrc(data.get("isrc", "")),
        composers=_names(data, "composers"),
        lyricists=_names(data, "lyricists"),
        instrumental=data.get("instrumental", False),
        gap_before_s=float(data["gap_before_s"]) if "gap_before_s" in data else None,
    )


def _credit(data: str | Mapping[str, Any]) -> Credit:
    if isinstance(data, str):
        return Credit(composed(data))
    return Credit(composed(data["name"]), composed(data.get("role", "main")).strip().lower())


def _waiver(data: Mapping[str, Any]) -> Waiver:
    why = composed(one_line(data["why"]))
    return Waiver(**_texts(data, "rule", "by"), why=why, track=whole(data.get("track")), spec=data.get("spec"))


def _texts(data: Mapping[str, Any], *keys: str) -> dict[str, Any]:
    return {key: composed(data.get(key, "")) for key in keys}


def _names(data: Mapping[str, Any], key: str) -> tuple[str, ...]:
    return tuple(composed(name) for name in data.get(key, ()))


def _day(data: Mapping[str, Any], key: str) -> date | None:
    return date.fromisoformat(data[key]) if key in data else None
