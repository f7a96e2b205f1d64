"""The release and its tracks as the data document holds them: label copy, waivers, acceptances, the QC log."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from datetime import date
from fractions import Fraction
from typing import Any

from delivery.model.fields import fields_kept
from delivery.model.fields.row import Kept
from delivery.model.release import Acceptance, Credit, LogEntry, Release, Sample, Track, Waiver, Writer


def release_copy(release: Release) -> dict[str, Any]:
    """Label copy of the release, as plain data."""
    return {
        "title": release.title,
        "version": release.version,
        "artist": release.artist,
        "label": release.label,
        "catalogue_number": release.catalogue_number,
        "upc": release.upc,
        "release_date": day(release.release_date),
        "original_date": day(release.original_date),
        "p_line": release.p_line,
        "c_line": release.c_line,
        "genre": release.genre,
        "language": release.language,
        "client": release.client,
        "revision": release.revision,
        "dated": day(release.dated),
        "notes": release.notes,
        "subgenre": release.subgenre,
        **{field.id: release.text(field.id) for field in fields_kept(Kept.TEXT, of_release=True)},
        "territories": list(release.territories),
        "isni": [{"name": one.name, "code": one.isni} for one in release.identities],
        "waivers": [_waiver(waiver) for waiver in release.waivers],
        "accepted": [_acceptance(acceptance) for acceptance in release.accepted],
        "qc_log": [_log_entry(entry) for entry in release.qc_log],
    }


def track_copy(track: Track) -> dict[str, Any]:
    """Label copy of a track, as plain data."""
    return {
        "track": track.position,
        "number": track.number,
        "disc": track.disc,
        "title": track.title,
        "version": track.version,
        "artists": [_credit(credit) for credit in track.artists],
        "isrc": track.isrc,
        "explicit": track.explicit,
        "composers": list(track.composers),
        "lyricists": list(track.lyricists),
        "language": track.language,
        "instrumental": track.instrumental,
        "gap_before_s": track.gap_before_s,
        "side": track.side,
        "only_for": list(track.only_for),
        "not_for": list(track.not_for),
        "writers": [_writer(writer) for writer in track.writers],
        "publishers": list(track.publishers),
        "credits": [_credit(credit) for credit in track.credits],
        "iswc": track.iswc,
        "title_language": track.title_language,
        "bpm": track.bpm,
        "key": track.key,
        **{field.id: track.text(field.id) for field in fields_kept(Kept.TEXT)},
        "recording_studio": track.recording_studio,
        "recording_country": track.recording_country,
        "recording_year": track.recording_year,
        "preview_start_s": track.preview_start_s,
        "samples": None if track.samples is None else [_sample(sample) for sample in track.samples],
    }


def production(stated: Release | Track) -> dict[str, Any]:
    """Values for discs, records and single masters that are no label copy, by name; only those that are stated."""
    names = _OF_RELEASE if isinstance(stated, Release) else _OF_TRACK
    unset = {field.name: field.default for field in fields(stated)}
    found = {name: getattr(stated, name) for name in names}
    return {name: _dumped(value) for name, value in found.items() if value != unset[name]}


_OF_RELEASE = ("pressing", "cutting", "cd_text", "papers", "accepted_titles")
_OF_TRACK = (
    "index_points",
    "index_1",
    "mono_as",
    "copy_permitted",
    "pre_emphasis",
    "cd_text",
    "band",
    "sections",
    "version_of",
)


def _dumped(value: Any) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: _dumped(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, tuple):
        return [_dumped(each) for each in value]
    if isinstance(value, Fraction):  # a place in CD frames, exact
        return str(value)
    return value.isoformat() if isinstance(value, date) else value


def _waiver(waiver: Waiver) -> dict[str, Any]:
    stated = {key: getattr(waiver, key) for key in ("rule", "by", "why", "track", "spec")}
    return stated if waiver.revision is None else {**stated, "revision": waiver.revision}


def _acceptance(acceptance: Acceptance) -> dict[str, Any]:
    return {
        "rule": acceptance.rule,
        "track": acceptance.track,
        "audio_hash": acceptance.audio_hash,
        "by": acceptance.by,
        "why": acceptance.why,
    }


def _log_entry(entry: LogEntry) -> dict[str, Any]:
    return {
        "track": entry.track,
        "at_s": entry.at_s,
        "channel": entry.channel,
        "what": entry.what,
        "decision": entry.decision,
        "by": entry.by,
    }


def _credit(credit: Credit) -> dict[str, str]:
    return {"name": credit.name, "role": credit.role}


def _writer(writer: Writer) -> dict[str, Any]:
    return {
        "name": writer.name,
        "roles": list(writer.roles),
        "share_percent": writer.share_percent,
        "publisher": writer.publisher,
        "society": writer.society,
        "ipi": writer.ipi,
    }


def _sample(sample: Sample) -> dict[str, Any]:
    return {"of": sample.of, "cleared": sample.cleared, "by": sample.by}


def day(value: date | None) -> str | None:
    """ISO 8601 date; None if not stated."""
    return value.isoformat() if value else None
