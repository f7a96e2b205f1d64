"""The table of fields as a page to read: ``specs/tags.md`` is made by ``python -m delivery.tags.chart``. Pure."""

from __future__ import annotations

from delivery.tags.fields import COLUMNS, FIELDS, NO_HOME

_TITLES = {
    "id3": "ID3v2.4",
    "vorbis": "Vorbis comment",
    "mp4": "MP4",
    "info": "RIFF INFO",
    "bext": "bext",
    "axml": "axml",
}
_HEAD = """# Where each field goes

Made from `delivery/tags/fields.py` by `python -m delivery.tags.chart`; a test compares the two.

- Several names in a cell: all are written, the first is believed.
- `TRCK/`, `trkn/`: the number behind the slash, or the second number of the atom. `free:` is a freeform atom.
- The version is a field of its own; where a dialect has no home for it, the title takes it in brackets.
- WAV carries ID3v2.4, INFO, `bext` and `axml`; AIFF and MP3 carry ID3v2.4; FLAC and Opus carry Vorbis comments.
- INFO is written as UTF-8. `bext` is ASCII: accents are dropped, what has no near letter becomes `?`, long texts are
  cut, and each such change is reported.
- INFO has an entry `ISRC`, which means *source*: the recording code never goes there. One that stands there in
  a master is read and asked about; where the track has another code it does not travel along.
- Text chunks of an AIFF (`NAME`, `AUTH`, `(c) `) are read where ID3 says nothing. Those that contradict what is
  delivered are taken out of the copy; notes (`ANNO`) stay.
"""


def chart() -> str:
    """The page, LF newlines."""
    rows = [["Field", *(_TITLES[column] for column in COLUMNS)], ["---"] * (1 + len(COLUMNS))]
    for field in FIELDS.values():
        rows.append([f"{field.says} (`{field.id}`)", *(_cell(getattr(field, column)) for column in COLUMNS)])
    return _HEAD + "\n" + "".join(f"| {' | '.join(row)} |\n" for row in rows)


def _cell(homes: str) -> str:
    return homes if homes == NO_HOME else " ".join(f"`{home}`" for home in homes.split())


if __name__ == "__main__":
    from pathlib import Path

    Path("specs/tags.md").write_text(chart(), encoding="utf-8", newline="\n")
