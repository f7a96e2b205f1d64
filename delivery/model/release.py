"""Release: the album as the client means it. Track order is release order."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from delivery.model.approval import Approval
from delivery.model.carrier import NO_PRESSING, Pressing
from delivery.model.fields.row import Field, Kept
from delivery.model.subcode import NO_TEXT, CdText, IndexPoint


@dataclass(frozen=True, slots=True)
class Credit:
    """A name and what it did: role 'main', 'featured', 'remixer', 'producer', 'mixer' ..."""

    name: str
    role: str = "main"


@dataclass(frozen=True, slots=True)
class Writer:
    """Somebody who wrote part of the work, as collecting societies know them."""

    name: str
    """Legal name."""
    roles: tuple[str, ...] = ("composer",)
    """'composer', 'lyricist', 'arranger', 'translator'."""
    share_percent: float | None = None
    """Of the work; None: not stated."""
    publisher: str = ""
    society: str = ""
    ipi: str = ""
    """Name number: 11 digits."""


@dataclass(frozen=True, slots=True)
class Identity:
    """Whom a name means: the code of the public identity that bears it, wherever on the release it stands."""

    name: str
    """As the release has it: an artist's, a writer's, a producer's."""
    isni: str
    """Storage form: 16 characters, no blanks."""


@dataclass(frozen=True, slots=True)
class Sample:
    """Somebody else's recording heard inside this one."""

    of: str
    """'Low Lantern: Tally Sticks'."""
    cleared: bool
    by: str = ""
    """Who gave leave, and where that is written."""


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
    side: str = ""
    """Of a record or cassette: 'A', 'B' ...; that of the track before where none is stated."""
    writers: tuple[Writer, ...] = ()
    """Those of whom more than the name is known; `composers` and `lyricists` name them too."""
    publishers: tuple[str, ...] = ()
    """Of the work, the writers' own included."""
    credits: tuple[Credit, ...] = ()
    """Who worked on it: 'producer', 'mixer', 'mastering engineer', 'violin' ...; the release's where it names none."""
    iswc: str = ""
    """Storage form: T and 10 digits."""
    title_language: str = ""
    """Empty: the release's language."""
    bpm: float | None = None
    key: str = ""
    """Musical key: 'D minor'."""
    texts: tuple[tuple[str, str], ...] = ()
    """Texts that have no attribute of their own: id of the field (`model.fields`) and value."""
    recording_studio: str = ""
    """This and the next two: the release's where the track names none."""
    recording_country: str = ""
    """ISO 3166-1, two letters."""
    recording_year: int | None = None
    preview_start_s: float | None = None
    samples: tuple[Sample, ...] | None = None
    """None: not stated; empty: stated that there are none."""
    index_points: tuple[IndexPoint, ...] = ()
    """Places within the track that a disc marks: index 2 and what follows."""
    mono_as: str = ""
    """'both_channels': a mono master is copied to two channels for specs that accept no mono; empty: not stated."""
    index_1: IndexPoint | None = None
    """Where a disc's track begins within the master; what stands before plays in the pause. None: at its beginning."""
    copy_permitted: bool | None = None
    """Copy flag on a disc; None: as the spec says."""
    pre_emphasis: bool = False
    """The master is emphasised (50/15 us), and a disc says so; nothing here emphasises."""
    cd_text: CdText = NO_TEXT
    """What players show, where it is not what label copy says."""
    band: bool | None = None
    """A visible band before it on a record; None: not stated."""
    to_confirm: tuple[str, ...] = ()
    """Keys whose values were taken from file names and are confirmed by nobody yet."""
    only_for: tuple[str, ...] = ()
    """Ids of the specs that receive it; empty: every spec."""
    not_for: tuple[str, ...] = ()
    """Ids of the specs that do not receive it."""

    def text(self, field: str) -> str:
        """The text among `texts` under that id; empty when not supplied."""
        return dict(self.texts).get(field, "")

    def named_as(self, field: Field) -> tuple[str, ...]:
        """The names that hold the role of *field*, a field kept as CREDIT or ARTIST."""
        among = self.artists if field.kept is Kept.ARTIST else self.credits
        return tuple(credit.name for credit in among if credit.role == field.role)

    def goes_to(self, spec: str) -> bool:
        """Whether the spec of that id receives this track."""
        return spec not in self.not_for and (not self.only_for or spec in self.only_for)


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
class LogEntry:
    """One line of the QC log: what somebody heard or saw, where, and what was decided."""

    what: str
    by: str
    decision: str = ""
    """Empty: still open."""
    track: int | None = None
    """Position of the track; None: the whole release."""
    at_s: float | None = None
    """Seconds from the file's start; None: throughout."""
    channel: str = ""
    """As written: 'left', 'right', 'both'; empty when it does not matter."""


@dataclass(frozen=True, slots=True)
class Acceptance:
    """An acceptance: what a rule remarks about this very audio is intended. It quiets remarks and nothing else.

    The hash decides, not the track's place: the acceptance follows the recording through reordering and into every file
    made from it, and is void as soon as a sample of the master changes.
    """

    rule: str
    track: int
    """Position of the track when it was accepted, for whoever reads the file."""
    audio_hash: str
    """Of the master, as the sheet and the data document print it; at least its first eight figures."""
    by: str
    why: str

    def is_about(self, audio_hash: str | None) -> bool:
        return (audio_hash or "").startswith(self.audio_hash)


@dataclass(frozen=True, slots=True)
class Cutting:
    """What the cutting room may do to a record."""

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
    """Spec names or paths, in the order the client wants them."""
    waivers: tuple[Waiver, ...] = ()
    accepted: tuple[Acceptance, ...] = ()
    qc_log: tuple[LogEntry, ...] = ()
    """In the order of the file."""
    client: str = ""
    revision: int = 1
    dated: date | None = None
    """The only date that may be printed or stored in outputs; None prints as 'not stated'."""
    approval: Approval | None = None
    """Of the masters, by their audio."""
    approved_by: str = ""
    """A name without audio hashes: printed as just that, never as an approval."""
    notes: str = ""
    outdated: str = ""
    """A sentence about names of an earlier version in the release file."""
    pressing: Pressing = NO_PRESSING
    """Size and speed of the record; what it does not state, the spec does."""
    cutting: Cutting = Cutting()
    subgenre: str = ""
    territories: tuple[str, ...] = ()
    """'worldwide', or countries by ISO 3166-1, two letters."""
    credits: tuple[Credit, ...] = ()
    """Who worked on every track that names no credits of its own."""
    accepted_titles: tuple[str, ...] = ()
    """Spellings that are meant as they are; no advice is given about them."""
    papers: tuple[str, ...] = ()
    """Label copy that goes along with the whole package: 'label_copy_xlsx' ..."""
    identities: tuple[Identity, ...] = ()
    """Codes of the people and groups named anywhere on the release, in the order of the file."""
    cd_text: CdText = NO_TEXT
    """What players show of the disc, where it is not what label copy says."""
    to_confirm: tuple[str, ...] = ()
    """Keys whose values names of folder and files gave and nobody has confirmed yet; 'tracks': their order."""
    texts: tuple[tuple[str, str], ...] = ()
    """As on a track."""
    lines: Mapping[str, int] = field(default_factory=dict)
    """'tracks/2/isrc' (counting from 0, as in the file) -> line, counting from 1."""

    def track(self, position: int) -> Track:
        """The track at *position* of the release file; a release for one spec may lack others before it.

        Raises
        ------
        KeyError : no such track
        """
        for track in self.tracks:
            if track.position == position:
                return track
        raise KeyError(position)

    def text(self, field: str) -> str:
        """The text among `texts` under that id; empty when not supplied."""
        return dict(self.texts).get(field, "")

    def isni_of(self, name: str) -> str:
        """The code of whoever bears *name*; empty when none is supplied."""
        return next((one.isni for one in self.identities if one.name == name), "")

    def named_on(self, track: Track) -> tuple[str, ...]:
        """Every name on *track* once: artists (the release's where it has no main one), writers, who worked on it."""
        own = tuple(credit.name for credit in track.artists)
        artists = own if any(credit.role == "main" for credit in track.artists) else (self.artist, *own)
        writers = (*(writer.name for writer in track.writers), *track.composers, *track.lyricists)
        return tuple(dict.fromkeys((*artists, *writers, *(credit.name for credit in track.credits))))

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
    accepted_titles: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Artist -> spellings that are meant as they are, on every release of theirs."""
    catalogue_patterns: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Label -> how it writes its catalogue numbers: # is a digit, @ a letter, all else itself."""


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
    profile: str = ""
    """Name of the colour profile inside; empty: none."""
    border_px: tuple[int, int, int, int] = (0, 0, 0, 0)
    """Rows or columns of one colour at the top, right, bottom and left edge."""
    finest_detail: float | None = None
    """Highest frequency of real detail, cycles a pixel: 0.5 when nothing is missing, None where nobody can tell."""
    place: str = ""
    """'release.yaml:14', where it is named."""
    orientation: int = 1
    """As its EXIF states it, 1 to 8; not 1: stored turned or mirrored. Size and border are those of the upright one."""
