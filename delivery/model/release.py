"""Release: the album as stated by the client. Track order is release order."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from delivery.model.artwork import Artwork as Artwork
from delivery.model.carrier import NO_PRESSING, Pressing
from delivery.model.subcode import NO_TEXT, CdText
from delivery.model.track import Credit as Credit
from delivery.model.track import Sample as Sample
from delivery.model.track import Track as Track
from delivery.model.track import Writer as Writer

if TYPE_CHECKING:
    from delivery.model.approval import Approval


@dataclass(frozen=True, slots=True)
class Identity:
    """The public code (ISNI) of a name, wherever on the release it occurs."""

    name: str
    """As spelt on the release: an artist's, a writer's, a producer's."""
    isni: str
    """Storage form: 16 characters, no blanks."""


@dataclass(frozen=True, slots=True)
class Waiver:
    """An exception with a name and a reason; it is printed wherever the rule would be."""

    rule: str
    by: str
    why: str
    track: int | None = None
    """Position of the track; None: the whole release and every track."""
    spec: str | None = None
    """Spec id; None: every spec."""
    revision: int | None = None
    """The one revision for which it holds; None: every revision."""


@dataclass(frozen=True, slots=True)
class LogEntry:
    """One line of the QC log: an observation, its place, and the decision."""

    what: str
    by: str
    decision: str = ""
    """Empty: still open."""
    track: int | None = None
    """Position of the track; None: the whole release."""
    at_s: float | None = None
    """Seconds from the file's start; None: throughout."""
    channel: str = ""
    """As written: 'left', 'right', 'both'; empty if it does not matter."""


@dataclass(frozen=True, slots=True)
class Acceptance:
    """An accepted remark: what a rule remarks about exactly this audio is intended. It applies to remarks only.

    The hash identifies it, not the track's position: the acceptance follows the recording through reordering and into
    every file made from it, and is void as soon as a sample of the master changes.
    """

    rule: str
    track: int
    """Position of the track when it was accepted, for people who read the file."""
    audio_hash: str
    """Hash of the master, as printed on the sheet and in the data document; at least its first eight digits."""
    by: str
    why: str

    def is_about(self, audio_hash: str | None) -> bool:
        """True if it was given for audio of that hash, or for no particular audio."""
        return (audio_hash or "").startswith(self.audio_hash)


@dataclass(frozen=True, slots=True)
class Cutting:
    """What the cutting engineer may do to a record."""

    how: str = ""
    """'flat', 'processing_allowed'; empty: not stated."""
    notes: str = ""


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
    """Spec names or paths, in the client's order."""
    waivers: tuple[Waiver, ...] = ()
    accepted: tuple[Acceptance, ...] = ()
    qc_log: tuple[LogEntry, ...] = ()
    """In the order of the file."""
    client: str = ""
    revision: int = 1
    dated: date | None = None
    """The only date that may be printed or stored in outputs; None prints as 'not stated'."""
    approval: Approval | None = None
    """Approval of the masters, by their audio and label copy."""
    track_count: int = 0
    """Tracks in the release file; a release for one spec may have fewer. 0: not from a release file."""
    approved_by: str = ""
    """A name without audio hashes: printed as a name, never as an approval."""
    notes: str = ""
    outdated: str = ""
    """A sentence about outdated names in the release file."""
    pressing: Pressing = NO_PRESSING
    """Size and speed of the record; missing values come from the spec."""
    cutting: Cutting = Cutting()
    subgenre: str = ""
    territories: tuple[str, ...] = ()
    """'worldwide', or countries by ISO 3166-1, two letters."""
    credits: tuple[Credit, ...] = ()
    """Contributors to every track that names no credits of its own."""
    accepted_titles: tuple[str, ...] = ()
    """Spellings that are intended; no advice is given about them."""
    papers: tuple[str, ...] = ()
    """Label copy files for the whole package: 'label_copy_xlsx' ..."""
    identities: tuple[Identity, ...] = ()
    """Codes of people and groups named on the release, in file order."""
    cd_text: CdText = NO_TEXT
    """Texts shown by players of the disc, if they differ from the label copy."""
    to_confirm: tuple[str, ...] = ()
    """Keys whose values come from folder and file names and are not confirmed yet; 'tracks': their order."""
    texts: tuple[tuple[str, str], ...] = ()
    """As on a track."""
    lines: Mapping[str, int] = field(default_factory=dict)
    """'tracks/2/isrc' (counting from 0, as in the file) -> line, counting from 1."""
    discs: Mapping[int, int] = field(init=False, repr=False, compare=False)
    """Disc -> number of tracks on it; computed here because every track needs it, and would count all others again."""
    _by_position: Mapping[int, Track] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "discs", Counter(track.disc for track in self.tracks))
        object.__setattr__(self, "_by_position", {track.position: track for track in self.tracks})

    def track(self, position: int) -> Track:
        """The track at *position* of the release file; a release for one spec may lack others before it.

        Raises
        ------
        KeyError : unknown position
        """
        return self._by_position[position]

    def text(self, field: str) -> str:
        """The text among `texts` under that id; empty if not supplied."""
        return dict(self.texts).get(field, "")

    def isni_of(self, name: str) -> str:
        """ISNI of *name*; empty if none is supplied."""
        return next((one.isni for one in self.identities if one.name == name), "")

    def named_on(self, track: Track) -> tuple[str, ...]:
        """Every name on *track* once: artists (the release's if it has no main one), writers, contributors."""
        own = tuple(credit.name for credit in track.artists)
        artists = own if any(credit.role == "main" for credit in track.artists) else (self.artist, *own)
        writers = (*(writer.name for writer in track.writers), *track.composers, *track.lyricists)
        return tuple(dict.fromkeys((*artists, *writers, *(credit.name for credit in track.credits))))

    def place(self, pointer: str) -> str:
        """'release.yaml:14' for the value at *pointer*, or for its nearest container."""
        at = pointer
        while at and at not in self.lines:
            at = at.rpartition("/")[0]
        return f"{self.path.name}:{self.lines[at]}" if at in self.lines else self.path.name

    def is_place(self, text: str) -> bool:
        """True if *text* is in the form that `place` gives."""
        name, _, line = text.partition(":")
        return bool(text) and name == self.path.name and (not line or line.isdigit())


@dataclass(frozen=True, slots=True)
class Studio:
    """Engineer and studio on the sheet. Empty text means: not supplied."""

    engineer: str = ""
    name: str = ""
    contact: str = ""
    """Free text, one item a line: address, telephone, mail."""
    logo: Path | None = None
    default_specs: tuple[str, ...] = ()
    spec_folders: tuple[Path, ...] = ()
    master_folders: tuple[Path, ...] = ()
    """Where masters lie: the desk's chooser of folders begins there. One may be absent."""
    accepted_titles: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Artist -> spellings that are intended, on all of the artist's releases."""
    catalogue_patterns: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Label -> patterns of its catalogue numbers: # is a digit, @ a letter, anything else itself."""
    ledger: Path | None = None
    """The ledger's file, or a folder for it; None: in the platform's data folder."""
