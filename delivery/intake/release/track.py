"""One track of a release file: from checked data to a frozen Track. Pure except for finding the master."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from pathlib import Path
from typing import Any

from delivery.intake.release.checks import whole
from delivery.intake.resolve_paths import composed, find_beside
from delivery.intake.yaml.schema_formats import index_point_of, seconds_of, stored_isrc
from delivery.model.codes import CODES
from delivery.model.fields import fields_kept
from delivery.model.fields.row import Kept
from delivery.model.release import Credit, Sample, Track, Writer
from delivery.model.sections import SectionStart
from delivery.model.subcode import CdText


def track_of(data: Mapping[str, Any], position: int, place: tuple[int, int], folder: Path) -> Track:
    """The track at *position* of the release; *place* is its disc and number."""
    disc, number = place
    writers = tuple(_writer(writer) for writer in data.get("writers", ()))
    return Track(
        position=position,
        file=find_beside(folder, data["file"]),
        number=number,
        disc=disc,
        **texts(data, "title", "version", "explicit", "language", "title_language", "key"),
        texts=plain_texts(data, of_release=False),
        **texts(data, "recording_studio", "recording_country"),
        artists=tuple(credit(one) for one in data.get("artists", ())),
        isrc=stored_isrc(data.get("isrc", "")),
        iswc=CODES["iswc"].stored(data.get("iswc", "")),
        composers=_with(names(data, "composers"), writers, "composer"),
        lyricists=_with(names(data, "lyricists"), writers, "lyricist"),
        writers=writers,
        publishers=_once((*names(data, "publishers"), *(writer.publisher for writer in writers))),
        credits=tuple(credit(one) for one in data.get("credits", ())),
        instrumental=data.get("instrumental", False),
        gap_before_s=_number(data, "gap_before_s"),
        bpm=_number(data, "bpm"),
        recording_year=whole(data.get("recording_year")),
        preview_start_s=_number(data, "preview_start_s"),
        samples=tuple(_sample(one) for one in data["samples"]) if "samples" in data else None,
        index_points=tuple(index_point_of(at) for at in data.get("index_points", ())),
        mono_as=data.get("mono_as", ""),
        index_1=index_point_of(data["index_1"]) if "index_1" in data else None,
        copy_permitted=data.get("copy_permitted"),
        pre_emphasis=data.get("pre_emphasis", False),
        cd_text=cd_text(data),
        band=data.get("band"),
        to_confirm=names(data, "to_confirm"),
        only_for=names(data, "only_for"),
        not_for=names(data, "not_for"),
        sections=tuple(
            SectionStart(composed(one["name"]), seconds_of(one["from"])) for one in data.get("sections", ())
        ),
        version_of=whole(data.get("version_of")),
    )


def credit(data: str | Mapping[str, Any]) -> Credit:
    """A credit from a name alone, or from name and role."""
    if isinstance(data, str):
        return Credit(composed(data))
    return Credit(composed(data["name"]), composed(data.get("role", "main")).strip().lower())


def cd_text(data: Mapping[str, Any]) -> CdText:
    """CD-Text stated in *data*, of a track or of the release."""
    stated = data.get("cd_text", {})
    return CdText(**texts(stated, *(field.name for field in fields(CdText) if field.name in stated)))


def texts(data: Mapping[str, Any], *keys: str) -> dict[str, Any]:
    """The texts under *keys*, in composed form (NFC); empty if missing."""
    return {key: composed(data.get(key, "")) for key in keys}


def plain_texts(data: Mapping[str, Any], *, of_release: bool) -> tuple[tuple[str, str], ...]:
    """Id and value of each supplied text that has no attribute of its own."""
    return tuple(
        (field.id, composed(data[field.key]))
        for field in fields_kept(Kept.TEXT, of_release=of_release)
        if field.key in data
    )


def names(data: Mapping[str, Any], key: str) -> tuple[str, ...]:
    """The names listed under *key*, in composed form (NFC)."""
    return tuple(composed(name) for name in data.get(key, ()))


def _writer(data: Mapping[str, Any]) -> Writer:
    return Writer(
        **texts(data, "name", "publisher", "society"),
        roles=tuple(data.get("roles", ("composer",))),
        share_percent=_number(data, "share_percent"),
        ipi=CODES["ipi"].stored(data.get("ipi", "")),
    )


def _sample(data: Mapping[str, Any]) -> Sample:
    return Sample(**texts(data, "of", "by"), cleared=data["cleared"])


def _with(named: tuple[str, ...], writers: tuple[Writer, ...], role: str) -> tuple[str, ...]:
    """Writers of a role are added to the names of that role."""
    return _once((*named, *(writer.name for writer in writers if role in writer.roles)))


def _once(items: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(item for item in items if item))


def _number(data: Mapping[str, Any], key: str) -> float | None:
    return float(data[key]) if key in data else None
