"""Definition of a row in the table of label-copy fields. Every cell is filled; absence is explicit."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

NOT_STORED = "not stored"
"""The tag format, or schema.org, has no place for the field."""
NOT_IN_FILE = "not in the release file"
NOT_REQUIRED = "no spec can require it"
NOT_PRINTED = "not on the sheet"
HEADING = "heading"
"""Printed as the title or the artist of the release, without a label."""

FORMATS = ("id3", "vorbis", "mp4", "info", "bext", "axml")
"""Tag formats: the cells of a `Tag`."""


class Kept(Enum):
    """How the model holds a field."""

    OWN = "an attribute with code of its own"
    TEXT = "one of `texts` of the track or release, under the field's id"
    CREDIT = "names among `credits`, by their role"
    ARTIST = "names among `artists`, by their role"


class People(Enum):
    """Whom a field names: it decides what separates the names in one cell."""

    ACT = "act"
    PERSON = "person"
    FIRM = "firm"


@dataclass(frozen=True, slots=True)
class Tag:
    """Where a field is stored in each tag format.

    A cell names one or more locations, separated by blanks: all are written, the first that is present is read.
    ``TRCK/`` means what follows the slash of ``TRCK``; ``trkn/`` the second number of ``trkn``; ``free:`` a
    freeform atom of that name; ``TIPL:`` the people of that function in ID3's list of involved people.
    """

    id: str
    meaning: str
    id3: str
    vorbis: str
    mp4: str
    info: str
    bext: str
    axml: str
    id3_23: str = ""
    """Places in ID3v2.3 where they are not those of ID3v2.4."""
    also: str = ""
    """More names under which other programs store it: read, never written."""
    many: bool = False
    """Several names in one text."""
    of_file: bool = False
    """About the file, not the recording: not reported where it is not stored."""

    def places(self, column: str) -> tuple[str, ...]:
        """Names in that tag format, the most trusted first; empty if the field is not stored."""
        cell: str = getattr(self, column)
        return () if cell == NOT_STORED else tuple(cell.split())


NO_TAG = Tag(
    "", NOT_STORED, id3=NOT_STORED, vorbis=NOT_STORED, mp4=NOT_STORED, info=NOT_STORED, bext=NOT_STORED, axml=NOT_STORED
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """A field of label copy: everything specific to it, for every part of the program that reads or writes it."""

    id: str
    """Names it in column mappings."""
    title: str
    """Heading of its column in our own sheets."""
    meaning: str
    """Explanation of the value, for the person who fills it in."""
    words: str
    """Headings in other people's sheets, separated by '|'; the title counts as well. They are compared without case,
    accents and punctuation. Common practice, no source: collected from trade templates and translated."""
    of_release: bool = False
    key: str
    """Key of the release file that its cell fills."""
    about: tuple[str, ...] = ()
    """Further keys that its column fills: empty cells there clear these."""
    kept: Kept
    role: str = ""
    """Of the names among `artists` or `credits`."""
    people: People | None = None
    """None: no list of names."""
    example: str = ""
    """A value, for the schema of a text."""
    tag: Tag
    json_ld: str
    """Property of schema.org; 'contributor' carries the role as its name."""
    required_as: str
    """Name under which a spec can require it (`track_fields`, `release_fields`)."""
    on_sheet: str
    """Label of the fact, or head of the column, that prints it on the sheet."""

    @property
    def headings(self) -> tuple[str, ...]:
        """By which others head its column."""
        return tuple(self.words.split("|"))
