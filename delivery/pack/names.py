"""File names from a spec's template: valid on three systems, and never two files with one name. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from delivery.errors import Unusable
from delivery.model.artist import display_artist
from delivery.model.ascii_text import has_unread
from delivery.model.carrier import Programme
from delivery.model.chain import Target
from delivery.model.release import Release, Track
from delivery.pack.characters import UNTITLED, bare_ends, cleaned, clusters, cut, key, no_device
from delivery.pack.template import FIELDS, checked_pieces, template_faults, template_fields

__all__ = [
    "FIELDS",
    "MAX_BYTES",
    "distinct",
    "fields_of",
    "fields_of_part",
    "file_name",
    "folder_name",
    "template_faults",
    "template_fields",
]

MAX_BYTES = 120
"""Maximum length of a name unless the spec sets one: with folders above it, it stays below the 260 characters at which
some Windows programs fail. Common practice, no source."""

LONGEST_BYTES = 255
"""Maximum of the file systems in use (ext4 counts bytes; NTFS and APFS allow more)."""

_MAY_BE_CUT = frozenset({"title", "version", "artist", "release"})
_EMPTY, _FILLED = "\0", "\1"  # placeholders of fields in the skeleton; `cleaned` removes both from texts
_SEPARATORS = r"[ \-_.,~+]*"


@dataclass(frozen=True, slots=True)
class _Text:
    """A field's text, and the template's literal text before it."""

    literal: str
    text: str
    may_be_cut: bool = False

    @property
    def length(self) -> int:
        return len(self.text.encode("utf-8"))

    def shorter(self) -> _Text:
        return _Text(self.literal, "".join(clusters(self.text)[:-1]).rstrip(), self.may_be_cut)


def file_name(
    template: str,
    fields: Mapping[str, object],
    extension: str,
    *,
    max_bytes: int = MAX_BYTES,
    ascii_only: bool = False,
) -> str:
    """The name *template* gives for *fields*, with *extension* ('.wav').

    If ASCII can represent nothing of the title, the recording's ISRC or its track number replaces it, unless the
    template has that already. A name that is too long loses the end of its longest free text (title, version, artist,
    release), so that numbers and the extension survive. ``max_bytes`` counts UTF-8 and includes the extension.

    Raises
    ------
    Unusable : a fault in the template, or too few bytes for a name
    """

    def safe(text: str) -> str:
        return cleaned(text, ascii_only=ascii_only)

    shown = {**fields, "title": title_in_name(template, fields, ascii_only=ascii_only)}
    texts = [
        _Text(safe(piece.literal), safe(_value(shown, piece.field, piece.width)).strip(), piece.field in _MAY_BE_CUT)
        for piece in checked_pieces(template)
    ]
    return _fitted(texts, max_bytes - len(extension.encode("utf-8")), max_bytes) + extension


def title_in_name(template: str, fields: Mapping[str, object], *, ascii_only: bool) -> str:
    """The title, or what replaces it if no ASCII letters can represent it, as with '潮の計算'."""
    title = _value(fields, "title", "")
    if not ascii_only or not has_unread(title) or any(map(str.isalnum, cleaned(title, ascii_only=True))):
        return title
    named = set(template_fields(template))
    if fields.get("isrc"):
        return "" if "isrc" in named else str(fields["isrc"])
    return "" if named & {"track", "disc_track"} or not fields.get("track") else f"track {fields['track']:02}"


def fields_of(release: Release, track: Track, target: Target, spec_id: str) -> Mapping[str, object]:
    """Values of the template's fields for one deliverable."""
    several = len({track.disc, *release.discs}) > 1
    return {
        "track": track.number,
        "disc": track.disc,
        "disc_track": f"{track.disc}-{track.number:02}" if several else f"{track.number:02}",
        "title": track.title,
        "version": track.version,
        "artist": display_artist(track.artists, release.artist),
        "release": release.title,
        "catalogue": release.catalogue_number,
        "isrc": track.isrc,
        "rate": f"{target.rate_hz / 1000:g}",
        "bits": "" if target.bits is None else target.bits,
        "spec": spec_id,
        "part": "",
    }


def fields_of_part(release: Release, programme: Programme, target: Target, spec_id: str) -> Mapping[str, object]:
    """Values of the template's fields for one continuous disc or side; those of single tracks are empty."""
    return {
        "artist": release.artist,
        "release": release.title,
        "catalogue": release.catalogue_number,
        "rate": f"{target.rate_hz / 1000:g}",
        "bits": target.bits,
        "spec": spec_id,
        "part": programme.name,
        "disc": int(programme.label) if programme.carrier.part == "disc" else "",
    }


def folder_name(release: Release) -> str:
    """The package's folder: 'OSL-014 Harbour Arithmetic rev 1'."""
    texts = [
        _Text("", cleaned(release.catalogue_number).strip()),
        _Text(" ", cleaned(release.title).strip(), may_be_cut=True),
        _Text(" (", cleaned(release.version).strip(), may_be_cut=True),
        _Text(") rev ", str(release.revision)),
    ]
    return _fitted(texts, MAX_BYTES, MAX_BYTES)


def distinct(names: Sequence[str], *, max_bytes: int = MAX_BYTES) -> tuple[str, ...]:
    """*names* in the same order, made distinct on every system: later duplicates get '-2', '-3' ..."""
    requested = {key(name) for name in names}
    given: set[str] = set()
    result = []
    for name in names:
        count, free = 1, name
        while key(free) in given or (count > 1 and key(free) in requested):
            count += 1
            free = _numbered(name, count, max_bytes)
        given.add(key(free))
        result.append(free)
    return tuple(result)


def _value(fields: Mapping[str, object], field: str | None, width: str) -> str:
    value = fields.get(field, "") if field else ""
    return f"{value:{width}d}" if width and isinstance(value, int) else str(value).rstrip(": ")


def _fitted(texts: list[_Text], room: int, max_bytes: int) -> str:
    """The texts as one name of at most *room* bytes; the longest free text is shortened first."""
    if room < len(UNTITLED):
        wanted = f"at least {max_bytes - room + len(UNTITLED)} bytes"
        raise Unusable("name_max_bytes", f"{max_bytes}", wanted, "Allow longer names in the spec.")
    room = min(room, LONGEST_BYTES - (max_bytes - room))
    texts = [_Text(t.literal, cut(t.text, room).rstrip(), True) if t.may_be_cut else t for t in texts]
    while len(_joined(texts).encode("utf-8")) > room and any(t.text for t in texts if t.may_be_cut):
        longest = max((i for i, t in enumerate(texts) if t.may_be_cut), key=lambda i: texts[i].length)
        texts[longest] = texts[longest].shorter()
    return _ended(_joined(texts), room)


def _joined(texts: list[_Text]) -> str:
    """The name without its extension; an empty field also drops the literal text around it."""
    skeleton = "".join(t.literal + (_FILLED if t.text else _EMPTY) for t in texts)
    before = skeleton if _EMPTY not in skeleton else ""
    while before != skeleton:
        before = skeleton
        skeleton = re.sub(rf"[(\[{{]{_SEPARATORS}{_EMPTY}{_SEPARATORS}[)\]}}]", _EMPTY, skeleton)
        skeleton = re.sub(rf"(^|[(\[{{]){_SEPARATORS}{_EMPTY}{_SEPARATORS}", r"\1", skeleton, count=1)
        skeleton = re.sub(rf"(?<![(\[{{]){_SEPARATORS}{_EMPTY}", "", skeleton, count=1)
    filled = iter([t.text for t in texts if t.text])
    return bare_ends(cleaned("".join(next(filled) if char == _FILLED else char for char in skeleton)))


def _ended(stem: str, room: int) -> str:
    """Cut to *room* bytes as a last resort, then made neither empty, hidden nor a device name."""
    name = no_device(bare_ends(cut(stem, room)) or UNTITLED)
    if len(name.encode("utf-8")) > room:  # the underscore of a device name needs one byte more
        name = no_device(bare_ends(cut(stem, room - 1)) or UNTITLED)
    return name


def _numbered(name: str, count: int, max_bytes: int) -> str:
    extension = "".join(re.findall(r"\.[A-Za-z][A-Za-z0-9]{1,4}\Z", name))
    suffix = f"-{count}{extension}"
    return bare_ends(cut(name.removesuffix(extension), max_bytes - len(suffix.encode("utf-8")))) + suffix
