"""Release: the album as stated by the client. Track order is release order."""

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
    """A name and its function: role 'main', 'featured', 'remixer', 'producer', 'mixer' ..."""

    name: str
    role: str = "main"


@dataclass(frozen=True, slots=True)
class Writer:
    """A writer of the work, as registered with collecting societies."""

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
    """The public code (ISNI) of a name, wherever on the release it occurs."""

    name: str
    """As spelt on the release: an artist's, a writer's, a producer's."""
    isni: str
    """Storage form: 16 characters, no blanks."""


@dataclass(frozen=True, slots=True)
class Sample:
    """Another recording used inside this one."""

    of: str
    """'Low Lantern: Tally Sticks'."""
    cleared: bool
    by: str = ""
    """Who gave clearance, and where it is documented."""


@dataclass(frozen=True, slots=True)
class Track:
    """One recording in its position on the release. Empty text means: not supplied."""

    position: int
    """1 for the first track of the release, counting across discs."""
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
    """Side of a record or cassette: 'A', 'B' ...; that of the track before if none is stated."""
    writers: tuple[Writer, ...] = ()
    """Writers with more than a name; `composers` and `lyricists` name them too."""
    publishers: tuple[str, ...] = ()
    """Publishers of the work, the writers' own included."""
    credits: tuple[Credit, ...] = ()
    """Contributors: 'producer', 'mixer', 'mastering engineer', 'violin' ...; the release's if it names none."""
    iswc: str = ""
    """Storage form: T and 10 digits."""
    title_language: str = ""
    """Empty: the release's language."""
    bpm: float | None = None
    key: str = ""
    """Musical key: 'D minor'."""
    texts: tuple[tuple[str, str], ...] = ()
    """Texts without an attribute of their own: id of the field (`model.fields`) and value."""
    recording_studio: str = ""
    """This and the next two: the release's if the track has none."""
    recording_country: str = ""
    """ISO 3166-1, two letters."""
    recording_year: int | None = None
    preview_start_s: float | None = None
    samples: tuple[Sample, ...] | None = None
    """None: not stated; empty: stated that there are none."""
    index_points: tuple[IndexPoint, ...] = ()
    """Positions within the track that a disc marks: index 2 and later."""
    mono_as: str = ""
    """'both_channels': a mono master is copied to two channels for specs that do not accept mono; empty: not stated."""
    index_1: IndexPoint | None = None
    """Where a disc's track begins within the master; audio before it plays in the pause. None: at its beginning."""
    copy_permitted: bool | None = None
    """Copy flag on a disc; None: as set in the spec."""
    pre_emphasis: bool = False
    """The master is emphasised (50/15 us), and a disc says so; nothing here emphasises."""
    cd_text: CdText = NO_TEXT
    """What players show, where it is not what label copy says."""
    band: bool | None = None
    """A visible band before it on a record; None: not stated."""
    to_confirm: tuple[str, ...] = ()
    """Keys whose values were taken from file names and are not confirmed yet."""
    only_for: tuple[str, ...] = ()
    """Ids of the specs that receive it; empty: every spec."""
    not_for: tuple[str, ...] = ()
    """Ids of the specs that do not receive it."""

    def text(self, field: str) -> str:
        """The text among `texts` under that id; empty if not supplied."""
        return dict(self.texts).get(field, "")

    def named_as(self, field: Field) -> tuple[str, ...]:
        """Names with the role of *field*, a field kept as CREDIT or ARTIST."""
        among = self.artists if field.kept is Kept.ARTIST else self.credits
        return tuple(credit.name for credit in among if credit.role == field.role)

    def goes_to(self, spec: str) -> bool:
        """True if the spec of that id receives this track."""
        return spec not in self.not_for and (not self.only_for or spec in self.only_for)


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
    """Approval of the masters, by their audio."""
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
    """What players show of the disc, where it is not what label copy says."""
    to_confirm: tuple[str, ...] = ()
    """Keys whose values come from folder and file names and are not confirmed yet; 'tracks': their order."""
    texts: tuple[tuple[str, str], ...] = ()
    """As on a track."""
    lines: Mapping[str, int] = field(default_factory=dict)
    """'tracks/2/isrc' (counting from 0, as in the file) -> line, counting from 1."""

    def track(self, position: int) -> Track:
        """The track at *position* of the release file; a release for one spec may lack others before it.

        Raises
        ------
        KeyError : unknown position
        """
        for track in self.tracks:
            if track.position == position:
                return track
        raise KeyError(position)

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
    accepted_titles: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Artist -> spellings that are intended, on all of the artist's releases."""
    catalogue_patterns: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Label -> patterns of its catalogue numbers: # is a digit, @ a letter, anything else itself."""
    ledger: Path | None = None
    """The ledger's file, or a folder for it; None: in the platform's data folder."""


@dataclass(frozen=True, slots=True)
class Artwork:
    """Properties of the cover picture; kind by content, not by file name."""

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
    """Highest frequency of real detail, cycles per pixel: 0.5 if nothing is missing, None if unknown."""
    place: str = ""
    """'release.yaml:14', where it is named."""
    orientation: int = 1
    """EXIF orientation, 1 to 8; not 1: stored rotated or mirrored. Size and border are those of the upright picture."""
