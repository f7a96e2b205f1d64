"""The release in the open vocabulary of schema.org, as JSON-LD: MusicAlbum, MusicRelease, MusicRecording.

Types and properties: schema.org, from memory; a test holds each against a copy of the vocabulary that others keep.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any

from delivery.model.artist import main_artists
from delivery.model.fields import fields_kept
from delivery.model.fields.row import NOT_STORED, Field, Kept
from delivery.model.label_copy import without_sign
from delivery.model.release import Credit, Release, Track
from delivery.report.view import words
from delivery.report.view.model import View
from delivery.report.view.report import Report

AS_ROLE = "contributor"
"""Property that names what the person did; `producer` has a property of its own."""


def render(view: View) -> bytes:
    """UTF-8, LF, keys in the order of reading; what was not supplied is left out."""
    document = {"@context": "https://schema.org", **album(view)}
    text = json.dumps(document, ensure_ascii=False, allow_nan=False, indent=2)
    return (text + "\n").encode("utf-8", errors="replace")


def album(view: View) -> dict[str, Any]:
    """The release as a schema.org MusicAlbum."""
    release = view.delivery.release
    lengths = {source.track.position: source.measurement for source in view.delivery.sources}
    tracks = [
        {
            "@type": "ListItem",
            "position": number,
            "item": _recording(
                track, release, one.value("duration_s") if (one := lengths.get(track.position)) else None
            ),
        }
        for number, track in enumerate(release.tracks, start=1)
    ]
    return _supplied(
        {
            "@type": "MusicAlbum",
            "name": view.title,
            "byArtist": _group(release.artist, release),
            "genre": [text for text in map(words.plain, (release.genre, release.subgenre)) if text],
            "inLanguage": words.plain(release.language),
            "datePublished": (release.original_date or release.release_date or ""),
            "copyrightNotice": _line("©", release.c_line),
            "albumRelease": _release(release),
            **_texts(release, fields_kept(Kept.TEXT, of_release=True)),
            "numTracks": len(tracks),
            "track": {"@type": "ItemList", "numberOfItems": len(tracks), "itemListElement": tracks},
        }
    )


def _release(release: Release) -> dict[str, Any]:
    return _supplied(
        {
            "@type": "MusicRelease",
            "catalogNumber": words.plain(release.catalogue_number),
            "identifier": _identifier(f"GTIN-{len(release.upc)}", release.upc),
            "recordLabel": {"@type": "Organization", "name": words.plain(release.label)} if release.label else None,
            "creditedTo": _group(release.artist, release),
            "datePublished": release.release_date or "",
            "creditText": _line("℗", release.p_line),
        }
    )


def _recording(track: Track, release: Release, seconds: float | None) -> dict[str, Any]:
    others = [credit for credit in track.artists if credit.role != "main"]
    own = {field.role: field for field in fields_kept(Kept.CREDIT) if field.json_ld != AS_ROLE}
    return _supplied(
        {
            "@type": "MusicRecording",
            "name": words.titled(track.title, track.version),
            "byArtist": [_group(name, release) for name in main_artists(track.artists, release.artist)],
            "contributor": [_role(credit, release) for credit in (*others, *track.credits) if credit.role not in own],
            **{field.json_ld: _persons(track.named_as(field), release) for field in own.values()},
            "isrcCode": words.plain(track.isrc),
            "duration": _period(seconds),
            "inLanguage": "zxx" if track.instrumental else words.plain(track.language),
            "isFamilyFriendly": {"no": True, "clean": True, "explicit": False}.get(track.explicit),
            "locationCreated": {"@type": "Place", "name": words.plain(track.recording_studio)}
            if track.recording_studio
            else None,
            "recordingOf": _work(track, release),
            **_texts(track, fields_kept(Kept.TEXT)),
        }
    )


def _work(track: Track, release: Release) -> dict[str, Any]:
    return _supplied(
        {
            "@type": "MusicComposition",
            "name": words.plain(track.title),
            "iswcCode": words.plain(track.iswc),
            "composer": _persons(track.composers, release),
            "lyricist": _persons(track.lyricists, release),
            "musicalKey": words.plain(track.key),
            "publisher": [{"@type": "Organization", "name": words.plain(name)} for name in track.publishers],
        }
    )


def _texts(of: Track | Release, fields: Iterable[Field]) -> dict[str, str]:
    return {field.json_ld: words.plain(of.text(field.id)) for field in fields if field.json_ld != NOT_STORED}


def _supplied(pairs: Mapping[str, Any]) -> dict[str, Any]:
    return {key: _plain(value) for key, value in pairs.items() if value is not None and value not in ("", [], {})}


def _plain(value: Any) -> Any:
    return value.isoformat() if hasattr(value, "isoformat") else value


def _group(name: str, release: Release) -> dict[str, Any] | None:
    return _party("MusicGroup", name, release) if words.plain(name) else None


def _persons(names: Iterable[str], release: Release) -> list[dict[str, Any]]:
    return [_party("Person", name, release) for name in names]


def _party(kind: str, name: str, release: Release) -> dict[str, Any]:
    code = _identifier("ISNI", release.isni_of(name))
    return {"@type": kind, "name": words.plain(name), **({"identifier": code} if code else {})}


def _role(credit: Credit, release: Release) -> dict[str, Any]:
    person = _party("Person", credit.name, release)
    return {"@type": "Role", "roleName": words.plain(credit.role), "contributor": person}


def _identifier(kind: str, code: str) -> dict[str, str] | None:
    return {"@type": "PropertyValue", "propertyID": kind, "value": code} if code else None


def _line(sign: str, text: str) -> str:
    """With its sign once, whether the release file has it or not."""
    bare = without_sign(words.plain(text))
    return f"{sign} {bare}" if bare else ""


def _period(seconds: float | None) -> str:
    """ISO 8601: 'PT3M45S', to the second."""
    if seconds is None:
        return ""
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return "PT" + (f"{hours}H" if hours else "") + (f"{minutes}M" if minutes or hours else "") + f"{rest}S"


REPORT = Report(
    "label_copy_jsonld",
    "label-copy.jsonld",
    "for programs, in the open vocabulary of schema.org",
    render,
    on_request=True,
)
