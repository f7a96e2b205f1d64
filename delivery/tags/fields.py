"""The fields of a tag: those of label copy (`delivery.model.fields`), and a few that are about the file alone.

Sources: ID3v2.4.0 frames document; the Vorbis comment field recommendations (TITLE VERSION ALBUM TRACKNUMBER ARTIST
COPYRIGHT ORGANIZATION GENRE DATE LOCATION ISRC are its own names, the others are common practice); MP4 ``ilst`` atoms
as commonly written, the rest in its freeform atom; RIFF INFO of the 1991 multimedia registry; EBU Tech 3285 v2 (bext);
EBU Tech 3352 (ISRC in axml). TXXX names are common practice; PRODUCEDNOTICE is ID3's name for its TPRO frame. Without
an established name (shares, ISNI, samples, territories, preview), the free name is the field's own.
"""

from __future__ import annotations

from collections.abc import Mapping

from delivery.model.fields import FIELDS as LABEL_COPY
from delivery.model.fields.row import FORMATS, NO_TAG, NOT_STORED, Tag
from delivery.tags.values import JOINT as JOINT
from delivery.tags.values import tag_values as tag_values
from delivery.tags.values import with_version

COLUMNS = FORMATS

_ADVISORY = {"explicit": "1", "clean": "2", "no": "0"}
_ADVISED = {number: word for word, number in _ADVISORY.items()} | {"4": "explicit"}

# fmt: off
_OF_FILE = (
    Tag("track_total", "Tracks on the disc",
        id3="TRCK/", vorbis="TRACKTOTAL", mp4="trkn/", info=NOT_STORED, bext=NOT_STORED, axml=NOT_STORED,
        also="TOTALTRACKS"),
    Tag("disc_total", "Discs",
        id3="TPOS/", vorbis="DISCTOTAL", mp4="disk/", info=NOT_STORED, bext=NOT_STORED, axml=NOT_STORED,
        also="TOTALDISCS"),
    Tag("dated", "Date of the delivery",
        id3=NOT_STORED, vorbis=NOT_STORED, mp4=NOT_STORED, info=NOT_STORED, bext="OriginationDate", axml=NOT_STORED,
        of_file=True),
    Tag("coding_history", "Coding history (EBU R 98)",
        id3=NOT_STORED, vorbis=NOT_STORED, mp4=NOT_STORED, info=NOT_STORED, bext="CodingHistory", axml=NOT_STORED,
        of_file=True),
)
# fmt: on

FIELDS: Mapping[str, Tag] = {
    tag.id: tag for tag in (*(field.tag for field in LABEL_COPY.values() if field.tag != NO_TAG), *_OF_FILE)
}
"""By id, in the order in which they are written."""


def held(values: Mapping[str, str], column: str) -> dict[str, str]:
    """Fields of *values* that *column* stores, in table order, empty texts left out.

    Title and version are separate if both are stored; otherwise the title has the version in brackets.
    """
    kept = {name: values[name] for name, field in FIELDS.items() if field.places(column) and values.get(name)}
    if "title" in kept and not FIELDS["version"].places(column):
        kept["title"] = with_version(kept["title"], values.get("version", ""))
    return kept


def not_stored(values: Mapping[str, str], columns: tuple[str, ...]) -> tuple[str, ...]:
    """Supplied fields that none of *columns* stores; a version can be stored in the title."""
    stored = {name for column in columns for name in held(values, column)}
    return tuple(
        name
        for name, field in FIELDS.items()
        if values.get(name)
        and name not in stored
        and not field.of_file
        and not (name == "version" and "title" in stored)
    )


def advisory_number(word: str) -> str:
    """Number for 'explicit', 'clean' or 'no' in the advisory keys (common practice); other texts unchanged."""
    return _ADVISORY.get(word, word)


def advisory_word(number: str) -> str:
    """The reverse; older files have 4 for explicit."""
    return _ADVISED.get(number, number)


def plain_name(name: str) -> str:
    """Normalised tag name: 'Album Artist', 'ALBUM_ARTIST' and 'albumartist' are equal."""
    return name.upper().replace(" ", "").replace("_", "")


def from_names(found: Mapping[str, str], column: str, free: str | None = None) -> dict[str, str]:
    """Fields from named texts: the first of our own names that is present, else a name others use.

    Parameters
    ----------
    found : texts by ``plain_name`` of their key
    column : whose names to look for
    free : prefix of the names others use, such as 'TXXX:'; None if a tag format has no free names
    """
    fields = {}
    for name, field in FIELDS.items():
        others = [] if free is None or not field.places(column) else [free + key for key in field.also.split()]
        present = (found[key] for key in map(plain_name, (*field.places(column), *others)) if found.get(key))
        text = next(present, "")
        if text:
            fields[name] = text
    return fields
