"""The fields of a tag, one row each, and their home in every tag format. A new field is a new row and nothing else.

A cell names one or more homes, separated by blanks: all are written, the first that is present is read.
``TRCK/`` means what stands behind the slash of ``TRCK``; ``trkn/`` the second number of ``trkn``; ``free:`` a
freeform atom of that name; ``TIPL:`` the people of that function in ID3's list of involved people.

Sources: ID3v2.4.0 frames document; the Vorbis comment field recommendations (TITLE VERSION ALBUM TRACKNUMBER ARTIST
COPYRIGHT ORGANIZATION GENRE DATE LOCATION ISRC are its own names, the others are habits of the trade); MP4 ``ilst``
atoms as commonly written, the rest in its freeform atom; RIFF INFO of the 1991 multimedia registry; EBU Tech 3285 v2
(bext); EBU Tech 3352 (ISRC in axml). TXXX names are habits; PRODUCEDNOTICE borrows the name ID3 gives its TPRO frame.
Where even habit knows no name (shares, ISNI, samples, territories, preview), the free name is the field's own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from delivery.tags.values import JOINT as JOINT
from delivery.tags.values import tag_values as tag_values
from delivery.tags.values import with_version

NO_HOME = "not stored"
"""Written out where a tag format cannot hold a field: an empty cell could be a field somebody forgot."""

COLUMNS = ("id3", "vorbis", "mp4", "info", "bext", "axml")

_ADVISORY = {"explicit": "1", "clean": "2", "no": "0"}
_ADVISED = {number: word for word, number in _ADVISORY.items()} | {"4": "explicit"}


@dataclass(frozen=True, slots=True)
class Field:
    id: str
    says: str
    id3: str
    vorbis: str
    mp4: str
    info: str
    bext: str
    axml: str
    id3_23: str = ""
    """Homes in ID3v2.3 where they are not those of ID3v2.4."""
    also: str = ""
    """More names under which other programs store it: read, never written."""
    many: bool = False
    """Several names in one text, separated by JOINT."""
    of_file: bool = False
    """Tells of the file, not of the recording: nobody misses it where there is not stored."""

    def homes(self, column: str) -> tuple[str, ...]:
        """Names in that column of the table, the one to believe first; none when it has no place there."""
        cell: str = getattr(self, column)
        return () if cell == NO_HOME else tuple(cell.split())


# fmt: off
_ROWS = (
    Field("title", "Title",
          id3="TIT2", vorbis="TITLE", mp4="©nam", info="INAM", bext="Description", axml=NO_HOME),
    Field("version", "Version of the title",
          id3="TIT3", vorbis="VERSION", mp4="free:VERSION", info=NO_HOME, bext=NO_HOME, axml=NO_HOME,
          also="SUBTITLE"),
    Field("artist", "Track artist",
          id3="TPE1", vorbis="ARTIST", mp4="©ART", info="IART", bext=NO_HOME, axml=NO_HOME),
    Field("album", "Album",
          id3="TALB", vorbis="ALBUM", mp4="©alb", info="IPRD", bext=NO_HOME, axml=NO_HOME),
    Field("album_artist", "Album artist",
          id3="TPE2", vorbis="ALBUMARTIST", mp4="aART", info=NO_HOME, bext=NO_HOME, axml=NO_HOME),
    Field("track_number", "Track",
          id3="TRCK", vorbis="TRACKNUMBER", mp4="trkn", info="ITRK", bext=NO_HOME, axml=NO_HOME),
    Field("track_total", "Tracks on the disc",
          id3="TRCK/", vorbis="TRACKTOTAL", mp4="trkn/", info=NO_HOME, bext=NO_HOME, axml=NO_HOME,
          also="TOTALTRACKS"),
    Field("disc_number", "Disc",
          id3="TPOS", vorbis="DISCNUMBER", mp4="disk", info=NO_HOME, bext=NO_HOME, axml=NO_HOME),
    Field("disc_total", "Discs",
          id3="TPOS/", vorbis="DISCTOTAL", mp4="disk/", info=NO_HOME, bext=NO_HOME, axml=NO_HOME,
          also="TOTALDISCS"),
    Field("isrc", "ISRC",
          id3="TSRC", vorbis="ISRC", mp4="free:ISRC", info=NO_HOME, bext="OriginatorReference", axml="dc:identifier"),
    Field("composers", "Composers",
          id3="TCOM", vorbis="COMPOSER", mp4="©wrt", info=NO_HOME, bext=NO_HOME, axml=NO_HOME,
          many=True),
    Field("lyricists", "Lyricists",
          id3="TEXT", vorbis="LYRICIST", mp4="free:LYRICIST", info=NO_HOME, bext=NO_HOME, axml=NO_HOME,
          many=True),
    Field("remixers", "Remixers",
          id3="TPE4", vorbis="REMIXER", mp4="free:REMIXER", info=NO_HOME, bext=NO_HOME, axml=NO_HOME,
          many=True),
    Field("producers", "Producers",
          id3="TIPL:producer", id3_23="IPLS:producer", vorbis="PRODUCER", mp4="free:PRODUCER",
          info=NO_HOME, bext=NO_HOME, axml=NO_HOME,
          many=True),
    Field("mixers", "Mixers",
          id3="TIPL:mix", id3_23="IPLS:mix", vorbis="MIXER", mp4="free:MIXER", info=NO_HOME, bext=NO_HOME, axml=NO_HOME,
          many=True),
    Field("mastering_engineers", "Mastering engineers",
          id3="TIPL:engineer", id3_23="IPLS:engineer", vorbis="ENGINEER", mp4="free:ENGINEER", info="IENG",
          bext=NO_HOME, axml=NO_HOME,
          many=True),
    Field("original_artist", "Original artist",
          id3="TOPE", vorbis="ORIGINALARTIST", mp4="free:ORIGINALARTIST", info=NO_HOME, bext=NO_HOME, axml=NO_HOME),
    Field("recording_studio", "Where it was recorded",
          id3="TXXX:LOCATION", vorbis="LOCATION", mp4="free:LOCATION", info=NO_HOME, bext=NO_HOME, axml=NO_HOME),
    Field("recording_country", "Country of recording (ISO 3166-1)",
          id3="TXXX:RECORDINGCOUNTRY", vorbis="RECORDINGCOUNTRY", mp4="free:RECORDINGCOUNTRY",
          info=NO_HOME, bext=NO_HOME, axml=NO_HOME),
    Field("recording_year", "Year of recording",
          id3="TXXX:RECORDINGYEAR", vorbis="RECORDINGYEAR", mp4="free:RECORDINGYEAR",
          info=NO_HOME, bext=NO_HOME, axml=NO_HOME),
    Field("iswc", "ISWC",
          id3="TXXX:ISWC", vorbis="ISWC", mp4="free:ISWC", info=NO_HOME, bext=NO_HOME, axml=NO_HOME),
    Field("writers", "Writers with part, share, society, IPI and publisher",
          id3="TXXX:WRITERS", vorbis="WRITERS", mp4="free:WRITERS", info=NO_HOME, bext=NO_HOME, axml=NO_HOME,
          many=True),
    Field("publishers", "Publishers of the work",
          id3="TXXX:MUSICPUBLISHER", vorbis="MUSICPUBLISHER", mp4="free:MUSICPUBLISHER",
          info=NO_HOME, bext=NO_HOME, axml=NO_HOME,
          many=True),
    Field("isni", "Names and their ISNI",
          id3="TXXX:ISNI", vorbis="ISNI", mp4="free:ISNI", info=NO_HOME, bext=NO_HOME, axml=NO_HOME,
          many=True),
    Field("credits", "Other credits",
          id3="TXXX:CREDITS", vorbis="CREDITS", mp4="free:CREDITS", info=NO_HOME, bext=NO_HOME, axml=NO_HOME,
          many=True),
    Field("samples", "Recordings of others inside, and whether they are cleared",
          id3="TXXX:SAMPLES", vorbis="SAMPLES", mp4="free:SAMPLES", info=NO_HOME, bext=NO_HOME, axml=NO_HOME,
          many=True),
    Field("preview_start_s", "Start of the preview, seconds",
          id3="TXXX:PREVIEWSTART", vorbis="PREVIEWSTART", mp4="free:PREVIEWSTART",
          info=NO_HOME, bext=NO_HOME, axml=NO_HOME),
    Field("territories", "Territories",
          id3="TXXX:TERRITORIES", vorbis="TERRITORIES", mp4="free:TERRITORIES",
          info=NO_HOME, bext=NO_HOME, axml=NO_HOME,
          many=True),
    Field("bpm", "Beats a minute",
          id3="TBPM", vorbis="BPM", mp4="tmpo", info=NO_HOME, bext=NO_HOME, axml=NO_HOME),
    Field("key", "Musical key",
          id3="TKEY", vorbis="KEY", mp4="free:KEY", info=NO_HOME, bext=NO_HOME, axml=NO_HOME,
          also="INITIALKEY"),
    Field("genre", "Genre",
          id3="TCON", vorbis="GENRE", mp4="©gen", info="IGNR", bext=NO_HOME, axml=NO_HOME),
    Field("subgenre", "Sub-genre",
          id3="TXXX:SUBGENRE", vorbis="SUBGENRE", mp4="free:SUBGENRE", info=NO_HOME, bext=NO_HOME, axml=NO_HOME),
    Field("title_language", "Language of the title (ISO 639-2)",
          id3="TXXX:TITLELANGUAGE", vorbis="TITLELANGUAGE", mp4="free:TITLELANGUAGE",
          info=NO_HOME, bext=NO_HOME, axml=NO_HOME),
    Field("language", "Language (ISO 639-2)",
          id3="TLAN", vorbis="LANGUAGE", mp4="free:LANGUAGE", info=NO_HOME, bext=NO_HOME, axml=NO_HOME),
    Field("explicit", "Advisory",
          id3="TXXX:ITUNESADVISORY", vorbis="ITUNESADVISORY", mp4="rtng", info=NO_HOME, bext=NO_HOME, axml=NO_HOME),
    Field("release_date", "Release date",
          id3="TDRL TDRC", id3_23="TYER TDAT", vorbis="DATE", mp4="©day", info="ICRD", bext=NO_HOME, axml=NO_HOME,
          also="RELEASEDATE YEAR"),
    Field("original_date", "Original date",
          id3="TDOR", id3_23="TORY TXXX:ORIGINALDATE", vorbis="ORIGINALDATE", mp4="free:ORIGINALDATE",
          info=NO_HOME, bext=NO_HOME, axml=NO_HOME,
          also="ORIGINALDATE"),
    Field("p_line", "℗ line",
          id3="TPRO", id3_23="TXXX:PRODUCEDNOTICE", vorbis="PRODUCEDNOTICE", mp4="free:PRODUCEDNOTICE",
          info=NO_HOME, bext=NO_HOME, axml=NO_HOME,
          also="PRODUCEDNOTICE"),
    Field("c_line", "© line",
          id3="TCOP", vorbis="COPYRIGHT", mp4="cprt", info="ICOP", bext=NO_HOME, axml=NO_HOME),
    Field("label", "Label",
          id3="TPUB", vorbis="ORGANIZATION LABEL", mp4="free:LABEL", info=NO_HOME, bext="Originator", axml=NO_HOME,
          also="PUBLISHER"),
    Field("catalogue_number", "Catalogue number",
          id3="TXXX:CATALOGNUMBER", vorbis="CATALOGNUMBER", mp4="free:CATALOGNUMBER",
          info=NO_HOME, bext=NO_HOME, axml=NO_HOME,
          also="CATALOGUENUMBER"),
    Field("upc", "Barcode",
          id3="TXXX:BARCODE", vorbis="BARCODE", mp4="free:BARCODE", info=NO_HOME, bext=NO_HOME, axml=NO_HOME,
          also="UPC EAN EAN/UPC"),
    Field("dated", "Date of the delivery",
          id3=NO_HOME, vorbis=NO_HOME, mp4=NO_HOME, info=NO_HOME, bext="OriginationDate", axml=NO_HOME,
          of_file=True),
    Field("coding_history", "Coding history (EBU R 98)",
          id3=NO_HOME, vorbis=NO_HOME, mp4=NO_HOME, info=NO_HOME, bext="CodingHistory", axml=NO_HOME,
          of_file=True),
)
# fmt: on

FIELDS: Mapping[str, Field] = {field.id: field for field in _ROWS}
"""By id, in the order in which they are written."""


def held(values: Mapping[str, str], column: str) -> dict[str, str]:
    """What *column* is to hold of *values*: fields with a home there, in table order, empty texts left out.

    Title and version stay apart wherever both have a home; where the version has none, the title takes it in brackets.
    """
    kept = {name: values[name] for name, field in FIELDS.items() if field.homes(column) and values.get(name)}
    if "title" in kept and not FIELDS["version"].homes(column):
        kept["title"] = with_version(kept["title"], values.get("version", ""))
    return kept


def no_home(values: Mapping[str, str], columns: tuple[str, ...]) -> tuple[str, ...]:
    """Supplied fields that none of *columns* can hold; a version is at home in the title."""
    homeless = (name for name in FIELDS if values.get(name) and not any(name in held(values, c) for c in columns))
    return tuple(
        name
        for name in homeless
        if not FIELDS[name].of_file and not (name == "version" and any("title" in held(values, c) for c in columns))
    )


def advisory_number(word: str) -> str:
    """The number by which the advisory keys say 'explicit', 'clean' or 'no' (habit); other texts as they are."""
    return _ADVISORY.get(word, word)


def advisory_word(number: str) -> str:
    """The reverse; older files say 4 for explicit."""
    return _ADVISED.get(number, number)


def plain_name(name: str) -> str:
    """'Album Artist', 'ALBUM_ARTIST' and 'albumartist' are one name to whoever reads other people's tags."""
    return name.upper().replace(" ", "").replace("_", "")


def from_names(found: Mapping[str, str], column: str, free: str | None = None) -> dict[str, str]:
    """Fields out of named texts: the first home that is there, else a name others use.

    Parameters
    ----------
    found : texts by ``plain_name`` of their key
    column : whose homes to look for
    free : put before the names others use, such as 'TXXX:'; None where a tag format has no free names
    """
    fields = {}
    for name, field in FIELDS.items():
        others = [] if free is None or not field.homes(column) else [free + key for key in field.also.split()]
        present = (found[key] for key in map(plain_name, (*field.homes(column), *others)) if found.get(key))
        text = next(present, "")
        if text:
            fields[name] = text
    return fields
