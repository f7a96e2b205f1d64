"""The fields of label copy: what a sheet may hold, and how its columns are headed. Others' words: `header_words.py`."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from delivery.model.header_words import WORDS


@dataclass(frozen=True, slots=True)
class Column:
    id: str
    title: str
    """As our own sheets head it."""
    says: str
    """What belongs there, for whoever fills it in."""
    of_release: bool = False

    @property
    def words(self) -> tuple[str, ...]:
        """By which others head it."""
        return tuple(WORDS.get(self.id, "").split("|"))


# fmt: off
_ROWS = (
    Column("disc", "Disc", "disc number"),
    Column("number", "Track no.", "number on its disc"),
    Column("side", "Side", "side of a record or cassette: A, B ..."),
    Column("title", "Title", "title, without its version"),
    Column("version", "Version", "only if not the standard one: Radio Edit, Instrumental"),
    Column("artist", "Artist", "who plays; several with ';'"),
    Column("featured", "Featured artists", "guests; several with ';'"),
    Column("remixer", "Remixers", "several with ';'"),
    Column("isni", "ISNI", "of the artists, in their order; of anybody else as 'name: code', separated by ';'"),
    Column("duration", "Duration", "minutes:seconds"),
    Column("isrc", "ISRC", "12 letters and digits"),
    Column("iswc", "ISWC", "code of the work"),
    Column("explicit", "Explicit", "explicit, clean or no"),
    Column("instrumental", "Instrumental", "yes or no"),
    Column("language", "Language of lyrics", "en, de, ja ... or its English name"),
    Column("title_language", "Language of title", "if it differs from the release's"),
    Column("composer", "Composers", "legal names; several with ';'"),
    Column("lyricist", "Lyricists", "legal names; several with ';'"),
    Column("writer", "Writers", "who wrote both words and music"),
    Column("share", "Shares %", "of the persons to the left, in their order; they add up to 100"),
    Column("ipi", "IPI", "11 digits, in the same order"),
    Column("society", "Society", "collecting society, in the same order"),
    Column("publisher", "Publishers", "in the same order"),
    Column("producer", "Producers", "several with ';'"),
    Column("mixer", "Mixers", "several with ';'"),
    Column("mastering_engineer", "Mastering engineers", "several with ';'"),
    Column("recording_studio", "Studio", "where it was recorded"),
    Column("recording_country", "Recording country", "two letters, or its English name"),
    Column("recording_year", "Recording year", "four digits"),
    Column("bpm", "BPM", "beats a minute"),
    Column("key", "Key", "D minor"),
    Column("preview_start", "Preview start", "minutes:seconds"),
    Column("samples", "Samples", "'none', or artist and title of each; '(cleared)' behind those that are"),
    Column("other_credits", "Other credits", "function: name; function: name"),
    Column("original_artist", "Original artist", "of a song played anew"),
    Column("gap_before", "Gap before", "seconds of silence before the track"),
    Column("only_for", "Only for", "specs that alone receive the track, by their ids; several with ';'"),
    Column("not_for", "Not for", "specs that do not receive the track, by their ids; several with ';'"),
    Column("file", "File", "name of the master"),
    Column("album", "Release title", "title of the release", of_release=True),
    Column("album_version", "Release version", "only if not the standard one", of_release=True),
    Column("album_artist", "Release artist", "name the release is shown under", of_release=True),
    Column("label", "Label", "label", of_release=True),
    Column("catalogue_number", "Catalogue no.", "the label's own number", of_release=True),
    Column("upc", "UPC / EAN", "12 or 13 digits", of_release=True),
    Column("release_date", "Release date", "year-month-day", of_release=True),
    Column("original_date", "Original release date", "of a reissue: the day of the first release", of_release=True),
    Column("p_line", "(P) line", "year and owner of the recording", of_release=True),
    Column("c_line", "(C) line", "year and owner of artwork and texts", of_release=True),
    Column("genre", "Genre", "genre", of_release=True),
    Column("subgenre", "Sub-genre", "narrower genre", of_release=True),
    Column("release_language", "Language of titles", "en, de, ja ... or its English name", of_release=True),
    Column("territories", "Territories", "worldwide, or countries", of_release=True),
    Column("client", "Client", "who ordered the work", of_release=True),
)
# fmt: on

COLUMNS: Mapping[str, Column] = {column.id: column for column in _ROWS}
"""By id, in the order of our own sheets."""

ROUTES = ("only_for", "not_for")
"""Shown only where a release has tracks that not every spec receives; nobody is asked to fill them in."""

_NOTICE_SIGN = re.compile(r"^\s*(?:©|℗|\([cCpP]\))\s*")
_ACTS = ("=", "+", "-", "@", "\t", "\r")


def inert(text: str) -> str:
    """A cell that a spreadsheet takes for text: one that could start a formula gets an apostrophe in front."""
    return f"'{text}" if text.startswith(_ACTS) else text


def without_sign(notice: str) -> str:
    """'2026 Ostrelune Records' of '℗ 2026 Ostrelune Records' or '(P) 2026 ...': papers and players put the sign."""
    return _NOTICE_SIGN.sub("", notice)
