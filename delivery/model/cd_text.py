"""Disc data besides audio, from label copy and from values stated for discs alone. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

from delivery.model.artist import display_artist
from delivery.model.subcode import CdText

if TYPE_CHECKING:
    from delivery.model.carrier import Carrier
    from delivery.model.release import Release, Track

FIELDS = tuple(field.name for field in fields(CdText))


@dataclass(frozen=True, slots=True)
class Flags:
    """Control bits of a track (IEC 60908)."""

    copy_permitted: bool
    pre_emphasis: bool

    @property
    def text(self) -> str:
        """'copy prohibited', 'copy permitted, pre-emphasis'."""
        copy = f"copy {'permitted' if self.copy_permitted else 'prohibited'}"
        return f"{copy}, pre-emphasis" if self.pre_emphasis else copy


def flags(track: Track, carrier: Carrier) -> Flags:
    """The track's own if stated; else the spec's copy flag, and no pre-emphasis."""
    stated = track.copy_permitted
    return Flags(carrier.copy_permitted if stated is None else stated, track.pre_emphasis)


def media_number(release: Release) -> str:
    """The 13 digits on a disc: an EAN-13, or a UPC-A with a leading 0 (GS1: the same number)."""
    return release.upc.zfill(13) if re.fullmatch(r"[0-9]{12,13}", release.upc) else ""


def disc_text(release: Release) -> CdText:
    """Texts of the disc as a whole."""
    return _with(
        release.cd_text,
        title=_titled(release.title, release.version),
        performer=release.artist,
        genre=release.genre,
        disc_id=release.catalogue_number,
    )


def track_text(track: Track, release: Release) -> CdText:
    """Texts of one track; the performer is given for every track."""
    return _with(
        track.cd_text,
        title=_titled(track.title, track.version),
        performer=display_artist(track.artists, release.cd_text.performer or release.artist),
        songwriter=_names(track.lyricists),
        composer=_names(track.composers),
        arranger=_names(_arrangers(track)),
    )


def _arrangers(track: Track) -> Iterable[str]:
    yield from (writer.name for writer in track.writers if "arranger" in writer.roles)
    yield from (credit.name for credit in track.credits if credit.role == "arranger")


def _names(names: Iterable[str]) -> str:
    return ", ".join(dict.fromkeys(names))


def _titled(title: str, version: str) -> str:
    return title + (f" ({version})" if version else "")


def _with(stated: CdText, **label_copy: str) -> CdText:
    """One line each, repeated blanks merged; stated values take precedence over label copy."""
    texts = {name: getattr(stated, name) or label_copy.get(name, "") for name in FIELDS}
    return CdText(**{name: " ".join(text.split()) for name, text in texts.items()})
