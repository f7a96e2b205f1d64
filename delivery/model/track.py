"""Track: one recording with its label copy, and the nouns it is made of."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from delivery.model.subcode import NO_TEXT, CdText, IndexPoint

if TYPE_CHECKING:
    from delivery.model.fields.row import Field
    from delivery.model.sections import SectionStart


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
    """The master is emphasised (50/15 us), and a disc is flagged so; this program never applies emphasis."""
    cd_text: CdText = NO_TEXT
    """Texts shown by players, if they differ from the label copy."""
    band: bool | None = None
    """A visible band before it on a record; None: not stated."""
    to_confirm: tuple[str, ...] = ()
    """Keys whose values were taken from file names and are not confirmed yet."""
    only_for: tuple[str, ...] = ()
    """Ids of the specs that receive it; empty: every spec."""
    not_for: tuple[str, ...] = ()
    """Ids of the specs that do not receive it."""
    sections: tuple[SectionStart, ...] = ()
    """Verse, chorus ..., rising; for comparing, never for what ships."""
    version_of: int | None = None
    """Position of the track whose version this one is; None: follows from title and version."""

    def text(self, field: str) -> str:
        """The text among `texts` under that id; empty if not supplied."""
        return dict(self.texts).get(field, "")

    def named_as(self, field: Field) -> tuple[str, ...]:
        """Names with the role of *field*, a field kept as CREDIT or ARTIST."""
        from delivery.model.fields.row import Kept  # a table of its own, which a measured file does not need

        among = self.artists if field.kept is Kept.ARTIST else self.credits
        return tuple(credit.name for credit in among if credit.role == field.role)

    def goes_to(self, spec: str) -> bool:
        """True if the spec of that id receives this track."""
        return spec not in self.not_for and (not self.only_for or spec in self.only_for)
