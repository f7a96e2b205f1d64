"""Titles, credits and codes: supplied, well formed, unique. Nothing is ever corrected here."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

from delivery.model.codes import ONLY_ZEROS
from delivery.model.fields import FIELDS
from delivery.model.fields.row import NOT_REQUIRED, Field, Kept
from delivery.model.finding import NotMet, Weight
from delivery.model.release import Release, Track
from delivery.rules.limits import FLAG, some
from delivery.rules.rule import Scope, rule
from delivery.rules.words import all_of, always, counted, listed

ISRC_FORM = re.compile(r"[A-Z]{2}[A-Z0-9]{3}[0-9]{7}")
"""ISO 3901:2019. No list of prefixes: the two letters no longer mean a country, and valid ones are unlisted."""

Supplied = Callable[[Track, Release], object]

_OWN: Mapping[str, Supplied] = {
    "artists": lambda track, release: track.artists or release.artist,
    "lyricists": lambda track, _release: track.lyricists or track.instrumental,
    "language": lambda track, release: track.language or release.language or track.instrumental,
    "title_language": lambda track, release: track.title_language or release.language,
    "instrumental": lambda track, _release: track.instrumental or track.language,
    "shares": lambda track, _release: track.writers and all(w.share_percent is not None for w in track.writers),
    "ipi": lambda track, _release: track.writers and all(writer.ipi for writer in track.writers),
    "society": lambda track, _release: track.writers and all(writer.society for writer in track.writers),
    "preview_start_s": lambda track, _release: track.preview_start_s is not None,
    "samples": lambda track, _release: track.samples is not None,
}
"""Fields with a special test for being supplied; an instrumental has no lyricist and no language."""


def _supplied(field: Field) -> Supplied:
    """True if supplied: a name of that role, a text, a value."""
    if field.required_as in _OWN:
        return _OWN[field.required_as]
    if field.kept in (Kept.CREDIT, Kept.ARTIST):
        return lambda track, _release: track.named_as(field)
    if field.kept is Kept.TEXT:
        return lambda track, _release: track.text(field.id)
    return lambda track, _release: getattr(track, field.key)


_REQUIRABLE = [field for field in FIELDS.values() if field.required_as != NOT_REQUIRED]
TRACK_FIELDS: Mapping[str, Supplied] = {
    field.required_as: _supplied(field) for field in _REQUIRABLE if not field.of_release
}
"""Field -> test for being supplied."""
_OF_RELEASE = {field.required_as: field for field in _REQUIRABLE if field.of_release}
RELEASE_FIELDS = (*_OF_RELEASE, "artwork", "dated", "approved_by")

NONE_SUPPLIED = "none supplied"

fields_wanted = all_of()
isrc_wanted = always("2 letters, 3 letters or digits, 7 digits")
isrc_once = always("a code for each recording")
upc_wanted = always("12 or 13 digits, the last one right")
title_once = always("titles that differ, or versions that do")


def _of_release(release: Release, name: str) -> object:
    field = _OF_RELEASE.get(name)
    return release.text(field.id) if field and field.kept is Kept.TEXT else getattr(release, name)


def _place(release: Release, track: Track, field: str) -> str:
    return release.place(f"tracks/{track.position - 1}/{field}")


@rule(
    id="track_fields",
    limit=some({"enum": sorted(TRACK_FIELDS)}, "fields of each track that must be supplied"),
    needs=("track", "release"),
    weight=Weight.FACT,
    source="the limit is the spec's own",
    sentence="each track comes with its {limit}",
    limit_text=fields_wanted,
)
def track_label_copy(track: Track, release: Release, limit: Sequence[str]) -> Iterator[NotMet]:
    """Every field the recipient requires for a track is supplied, by the track or, where sensible, by the release."""
    for field in limit:
        if not TRACK_FIELDS[field](track, release):
            yield NotMet("not supplied", field, f"{field} of track {track.position}", _place(release, track, field))


@rule(
    id="release_fields",
    limit=some({"enum": sorted(RELEASE_FIELDS)}, "fields of the release that must be supplied"),
    needs=("release",),
    weight=Weight.FACT,
    source="the limit is the spec's own",
    sentence="the release comes with its {limit}",
    limit_text=fields_wanted,
    scope=Scope.RELEASE,
)
def release_label_copy(release: Release, limit: Sequence[str]) -> Iterator[NotMet]:
    """Every field the recipient requires for the release is supplied."""
    for field in limit:
        if field == "approved_by":
            yield from _unapproved(release)
        elif not _of_release(release, field):
            yield NotMet("not supplied", field, f"{field} of the release", release.place(field))


def _unapproved(release: Release) -> Iterator[NotMet]:
    """A finding unless the release is approved. An approval of other audio is already removed from the facts; a name
    without audio hashes approves nothing."""
    if release.approval is None:
        remedy = 'delivery approve RELEASE --by "NAME" --date YEAR-MONTH-DAY'
        yield NotMet("no approval of this audio", "approved_by", remedy, release.place("approved"))


@rule(
    id="isrc_form",
    limit=FLAG,
    needs=("track", "release"),
    weight=Weight.FACT,
    source="ISO 3901:2019; hyphens are for print only, and there is no check digit",
    sentence="an ISRC, where there is one, has {limit}",
    value_text=lambda track, _release: track.isrc or NONE_SUPPLIED,
    limit_text=isrc_wanted,
)
def isrc_form(track: Track, release: Release, limit: bool) -> Iterator[NotMet]:
    """A supplied ISRC has the right form; an unknown prefix is not a fault. Presence is `track_fields`."""
    if track.isrc and not ISRC_FORM.fullmatch(track.isrc):
        remedy = f"the code of track {track.position} as its owner assigned it"
        yield NotMet(repr(track.isrc), isrc_wanted(limit), remedy, _place(release, track, "isrc"))


@rule(
    id="isrc_unique",
    limit=FLAG,
    needs=("release",),
    weight=Weight.FACT,
    source="ISO 3901:2019: one code, one recording",
    sentence="there is {limit}",
    limit_text=isrc_once,
    scope=Scope.RELEASE,
)
def isrc_unique(release: Release, limit: bool) -> Iterator[NotMet]:
    """No two tracks share an ISRC; tracks without one are not counted."""
    for code, tracks in _shared((track.isrc, track) for track in release.tracks):
        yield NotMet(
            f"{code} on tracks {_positions(tracks)}",
            isrc_once(limit),
            "the right code for each",
            _place(release, tracks[1], "isrc"),
            settled_if="if it is one recording twice",
        )


@rule(
    id="upc_check_digit",
    limit=FLAG,
    needs=("release",),
    weight=Weight.FACT,
    source="GS1 General Specifications: weights 3 and 1 from the right, modulo 10",
    sentence="a UPC-A or EAN-13, where there is one, has {limit}",
    value_text=lambda release: release.upc or NONE_SUPPLIED,
    limit_text=upc_wanted,
    scope=Scope.RELEASE,
)
def product_code(release: Release, limit: bool) -> Iterator[NotMet]:
    """A supplied UPC-A or EAN-13 ends in the right check digit. Presence is `release_fields`."""
    fault = _code_fault(release.upc) if release.upc else None
    if fault:
        found, remedy = fault
        yield NotMet(found, upc_wanted(limit), f"{remedy}", release.place("upc"))


def _code_fault(code: str) -> tuple[str, str] | None:
    """Found and remedy; None for a right code."""
    from stdnum import ean

    if not re.fullmatch(r"[0-9]{12,13}", code):
        return f"{code!r} ({counted(len(code), 'character')})", "all the digits printed under the bars"
    if not code.strip("0"):
        return f"{code!r} ({ONLY_ZEROS})", "the label's own number, or none"
    right = ean.calc_check_digit(code[:-1])
    return None if code[-1] == right else (code, f"check it: after these digits the last one would be {right}")


@rule(
    id="title_unique",
    limit=FLAG,
    needs=("release",),
    weight=Weight.FACT,
    source="common practice, no source",
    sentence="the tracks have {limit}",
    limit_text=title_once,
    scope=Scope.RELEASE,
)
def title_unique(release: Release, limit: bool) -> Iterator[NotMet]:
    """No two tracks share both title and version; case, accent encoding and blanks are ignored."""
    for _, tracks in _shared((_as_read(track), track) for track in release.tracks):
        yield NotMet(
            f"{tracks[0].title!r} on tracks {_positions(tracks)}",
            title_once(limit),
            "a version for one of them",
            _place(release, tracks[1], "title"),
        )


def _as_read(track: Track) -> str:
    text = f"{track.title}\n{track.version}"
    return "\n".join(" ".join(part.split()) for part in unicodedata.normalize("NFKC", text).casefold().split("\n"))


def _shared(keyed: Iterable[tuple[str, Track]]) -> list[tuple[str, list[Track]]]:
    """Keys shared by several tracks; the empty key is ignored."""
    groups: dict[str, list[Track]] = {}
    for key, track in keyed:
        groups.setdefault(key, []).append(track)
    return [(key, tracks) for key, tracks in sorted(groups.items()) if key.strip() and len(tracks) > 1]


def _positions(tracks: Sequence[Track]) -> str:
    return listed(str(track.position) for track in tracks)
