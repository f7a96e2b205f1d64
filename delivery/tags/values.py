"""Tag texts of one track, from the release file. Pure."""

from __future__ import annotations

import re

from delivery.model.artist import display_artist
from delivery.model.fields import fields_kept
from delivery.model.fields.row import Kept
from delivery.model.label_copy import without_sign
from delivery.model.release import Release, Track, Writer

JOINT = "; "
"""Separator of several composers in one text; Vorbis comments repeat the field instead, as their specification
recommends."""

_ROLES = {field.role for field in fields_kept(Kept.CREDIT)}
"""Roles with a field of their own; all others share one."""

_KEY = re.compile(r"(?P<note>[A-Ga-g])(?P<sign>[#b]?)\s*(?P<mode>m|M|[Mm]in|[Mm]inor|[Mm]aj|[Mm]ajor|[Mm]oll|[Dd]ur)?")


def with_version(title: str, version: str) -> str:
    """'Low Water (Instrumental)': a title with its version, for a single line."""
    return f"{title} ({version})" if title and version else title


def tag_values(release: Release, track: Track) -> dict[str, str]:
    """Field id -> text for one track; only what was supplied.

    The title has no version (a field of its own); the album has its version in brackets, since no tag format stores it
    separately. © and ℗ lines lose their sign: in ID3v2.4 (TCOP, TPRO) and the Vorbis recommendation they begin with the
    year, and players print the sign.
    """
    values = _plain(release, track) | {
        "title": track.title,
        "version": track.version,
        "artist": display_artist(track.artists, release.artist),
        "album": with_version(release.title, release.version),
        "album_artist": release.artist,
        "track_number": str(track.number),
        "track_total": str(release.discs[track.disc]),
        "disc_number": str(track.disc),
        "disc_total": str(max(release.discs, default=track.disc)),
        "isrc": track.isrc,
        "composers": JOINT.join(track.composers),
        "lyricists": JOINT.join(track.lyricists),
        "recording_studio": track.recording_studio,
        "recording_country": track.recording_country,
        "recording_year": str(track.recording_year or ""),
        "iswc": track.iswc,
        "writers": JOINT.join(map(_writer, track.writers)),
        "publishers": JOINT.join(track.publishers),
        "isni": JOINT.join(f"{name}: {code}" for name in release.named_on(track) if (code := release.isni_of(name))),
        "credits": JOINT.join(f"{credit.role}: {credit.name}" for credit in track.credits if credit.role not in _ROLES),
        "samples": _samples(track),
        "preview_start_s": "" if track.preview_start_s is None else f"{track.preview_start_s:g}",
        "territories": JOINT.join(release.territories),
        "bpm": f"{track.bpm:.0f}" if track.bpm else "",
        "key": short_key(track.key),
        "genre": release.genre,
        "subgenre": release.subgenre,
        "title_language": iso_639_2(track.title_language) if track.title_language else "",
        "language": "zxx" if track.instrumental else iso_639_2(track.language or release.language),
        "explicit": track.explicit,
        "release_date": release.release_date.isoformat() if release.release_date else "",
        "original_date": release.original_date.isoformat() if release.original_date else "",
        "p_line": without_sign(release.p_line),
        "c_line": without_sign(release.c_line),
        "label": release.label,
        "catalogue_number": release.catalogue_number,
        "upc": release.upc,
        "dated": release.dated.isoformat() if release.dated else "",
    }
    return {name: text for name, text in values.items() if name and text}


def short_key(key: str) -> str:
    """'D minor' in ID3v2.4 notation (TKEY): 'Dm'; 'o' for off key; empty for other texts."""
    if key.strip().casefold() in ("o", "off key"):
        return "o"
    found = _KEY.fullmatch(key.strip().replace("♯", "#").replace("♭", "b"))
    if not found:
        return ""
    mode = found["mode"] or ""
    minor = mode == "m" or mode.casefold() in ("min", "minor", "moll")
    return found["note"].upper() + found["sign"] + ("m" if minor else "")


def iso_639_2(language: str) -> str:
    """The three-letter code of ISO 639-2/T for a language tag or code; other texts unchanged.

    'en' and 'en-GB' become 'eng'. Codes the list does not know stay: refusing a valid one would be worse.
    """
    primary = language.replace("_", "-").partition("-")[0].strip().lower()
    if len(primary) != 2:
        return primary if len(primary) == 3 else language
    from pycountry import languages

    known = languages.get(alpha_2=primary)
    return str(known.alpha_3) if known else language


def _plain(release: Release, track: Track) -> dict[str, str]:
    """Texts and names that need only their row in the table."""
    texts = {field.tag.id: track.text(field.id) for field in fields_kept(Kept.TEXT)}
    of_release = {field.tag.id: release.text(field.id) for field in fields_kept(Kept.TEXT, of_release=True)}
    listed = (*fields_kept(Kept.ARTIST), *fields_kept(Kept.CREDIT))
    return texts | of_release | {field.tag.id: JOINT.join(track.named_as(field)) for field in listed}


def _writer(writer: Writer) -> str:
    """'Ilse Merrow (composer, lyricist) 60 %, SALT, IPI 00014107338, Quayside Songs'; unknown parts left out."""
    share = "" if writer.share_percent is None else f" {writer.share_percent:g} %"
    more = (writer.society, f"IPI {writer.ipi}" if writer.ipi else "", writer.publisher)
    return ", ".join([f"{writer.name} ({', '.join(writer.roles)}){share}", *filter(None, more)])


def _samples(track: Track) -> str:
    """'Low Lantern: Tally Sticks (cleared)'; 'none' if stated so; empty if not stated."""
    entries = (f"{one.of} ({'cleared' if one.cleared else 'not cleared'})" for one in track.samples or ())
    return JOINT.join(entries) or ("" if track.samples is None else "none")
