"""Release: the album as the client means it. Track order is release order."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Credit:
    """A name and what it did: role 'main', 'featured', 'remixer', 'producer', 'mixer' ..."""

    name: str
    role: str = "main"


@dataclass(frozen=True, slots=True)
class Track:
    """One recording in its place on the release. Empty text means: not supplied."""

    position: int
    """1 for the first track of the release, counting through all discs."""
    file: Path
    """Absolute path of the master."""
    title: str
    number: int = 1
    """Track number on its disc."""
    disc: int = 1
    version: str = ""
    artists: tuple[Credit, ...] = ()
    """Empty: the release's artist."""
    isrc: str = ""
    """Storage form: 12 upper-case characters, no hyphens."""
    explicit: str = ""
    """'explicit', 'clean' or 'no'; empty when not supplied."""
    composers: tuple[str, ...] = ()
    lyricists: tuple[str, ...] = ()
    language: str = ""
    instrumental: bool = False
    gap_before_s: float | None = None
    """None: not stated."""


@dataclass(frozen=True, slots=True)
class Waiver:
    """An exception with a name and a reason; it is printed wherever the rule would have spoken."""

    rule: str
    by: str
    why: str
    track: int | None = None
    """Position of the track; None: the whole release and every track."""
    spec: str | None = None
    """Spec id; None: every spec."""


@dataclass(frozen=True, slots=True)
class Release:
    """A release file, read and checked."""

    path: Path
    """The release file itself; messages cite its name and lines."""
    title: str
    artist: str
    tracks: tuple[Track, ...]
    version: str = ""
    label: str = ""
    catalogue_number: str = ""
    upc: str = ""
    """Digits only, as written: 12 (UPC-A) or 13 (EAN-13)."""
    release_date: date | None = None
    original_date: date | None = None
    p_line: str = ""
    c_line: str = ""
    genre: str = ""
    language: str = ""
    artwork: Path | None = None
    deliver_to: tuple[str, ...] = ()
    """Spec names or paths, in the order the client wants them."""
    waivers: tuple[Waiver, ...] = ()
    client: str = ""
    revision: int = 1
    dated: date | None = None
    """The only date that may be printed or stored in outputs; None prints as 'not stated'."""
    approved_by: str = ""
    notes: str = ""
    lines: Mapping[str, int] = field(default_factory=dict)
    """'tracks/2/isrc' (counting from 0, as in the file) -> line, counting from 1."""

    def place(self, pointer: str) -> str:
        """'release.yaml:14' for the value at *pointer*, or for the nearest thing that holds it."""
        at = pointer
        while at and at not in self.lines:
            at = at.rpartition("/")[0]
        return f"{self.path.name}:{self.lines[at]}" if at in self.lines else self.path.name


@dataclass(frozen=True, slots=True)
class Studio:
    """Who signs the sheet. Empty text means: not supplied."""

    engineer: str = ""
    name: str = ""
    contact: str = ""
    """Free text, one item a line: address, telephone, mail."""
    logo: Path | None = None
    default_specs: tuple[str, ...] = ()
    spec_folders: tuple[Path, ...] = ()


@dataclass(frozen=True, slots=True)
class Artwork:
    """What a look into the cover picture says; type by content, never by file name."""

    path: Path
    kind: str
    """'jpeg', 'png', 'tiff', 'webp' ..."""
    width_px: int
    height_px: int
    mode: str
    """'rgb', 'grey', 'cmyk', 'rgba', 'palette' ..."""
    size_bytes: int
    sha256: str
