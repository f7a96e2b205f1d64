"""The table of fields as a page to read: ``specs/tags.md`` is made by ``python -m delivery.tags.chart``. Pure."""

from __future__ import annotations

from delivery.model.fields.row import NOT_STORED, Tag
from delivery.tags.fields import FIELDS

_TITLES = {
    "id3": "ID3v2.4",
    "id3_23": "ID3v2.3",
    "vorbis": "Vorbis comment",
    "mp4": "MP4",
    "info": "RIFF INFO",
    "bext": "bext",
    "axml": "axml",
}
_HEAD = """# Where each field goes

Made by `python -m delivery.tags.chart` from `delivery/model/fields/` and `delivery/tags/fields.py`; a test compares it.

- Several names in a cell: all are written, the first is used when reading.
- `TRCK/`, `trkn/`: the number behind the slash, or the second number of the atom. `free:` is a freeform atom.
- The version is a field of its own; where a tag format has no place for it, it follows the title in brackets.
- WAV carries ID3v2.4, INFO, `bext` and `axml`; AIFF and MP3 carry ID3v2.4; FLAC and Opus carry Vorbis comments.
- MP3 carries ID3v2.3 where a spec requires it (`id3_version: 2.3`).
- INFO names no encoding: Latin-1 is written where all its texts fit into it, else UTF-8, and the sheet states it.
  Programs that expect the other one find the same texts in the ID3 tag of the file.
- `bext` is ASCII: Latin, Greek and Cyrillic letters are spelt as in file names (`Łąka` is `Laka`), pictures are left
  out, long texts are cut, and each such change is reported. A title in another script is not transliterated: the ISRC
  replaces it, or the track number where there is none.
- INFO has an entry `ISRC`, which means *source*: the recording code is never written there. A code
  in that entry of a master is read and to be confirmed; it is removed where the track has another code.
- Text chunks of an AIFF (`NAME`, `AUTH`, `(c) `) are read where ID3 has nothing, and are never written.
- A delivered file has these fields and no other texts or identifiers. What else a master carries is removed and
  listed on the sheet, unless the spec keeps its kind: `keep_tags` (comments, lyrics, the broadcast chunk ...),
  `keep_chunks` (cue points, loops, iXML ...), whose positions are scaled to the new sample rate.
"""


def chart() -> str:
    """The page, LF newlines."""
    rows = [["Field", *_TITLES.values()], ["---"] * (1 + len(_TITLES))]
    for field in FIELDS.values():
        rows.append([f"{field.meaning} (`{field.id}`)", *(_cell(_places(field, column)) for column in _TITLES)])
    return _HEAD + "\n" + "".join(f"| {' | '.join(row)} |\n" for row in rows)


def _places(field: Tag, column: str) -> str:
    own: str = getattr(field, column)
    return field.id3 if column == "id3_23" and not own else own


def _cell(places: str) -> str:
    return places if places == NOT_STORED else " ".join(f"`{place}`" for place in places.split())


if __name__ == "__main__":
    from pathlib import Path

    Path("specs/tags.md").write_text(chart(), encoding="utf-8", newline="\n")
