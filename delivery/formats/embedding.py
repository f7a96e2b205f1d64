"""Write tags into a finished file in every tag format of its container, then read it again and report its tags."""

from __future__ import annotations

import importlib
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Protocol, cast

from delivery.errors import Unusable
from delivery.model.part import TagReport
from delivery.tags.fields import FIELDS, held, not_stored
from delivery.tags.guard import disk
from delivery.tags.info import in_latin_1

if TYPE_CHECKING:
    from delivery.model.figure import Measurement

PICTURE = "artwork"
"""Stands for the cover in a report, beside the field ids."""

_TRUST = ("id3", "vorbis", "mp4", "axml", "info", "bext")
"""Columns by trust, if several hold a field: formats made for music and for any script come first."""
_PROGRAMS_OWN = frozenset(FIELDS) - {"isrc"}
"""Fields that other programs fill in ``bext`` with their own data (program name, take name, recording day)."""


class TagFormat(Protocol):
    """Interface of the modules of ``tags`` that a container names."""

    COLUMNS: tuple[str, ...]

    def write(
        self, path: Path, values: Mapping[str, str], picture: bytes | None, measurement: Measurement | None
    ) -> None:
        """Write *values*, by field id, the picture and the loudness of *measurement* into our own copy at *path*."""

    def read_columns(self, path: Path) -> dict[str, dict[str, str]]:
        """Values by tag format and field id."""

    def read_picture(self, path: Path) -> bytes | None:
        """The front cover; None if there is none."""


def embed(
    path: Path,
    container_id: str,
    values: Mapping[str, str],
    picture: bytes | None = None,
    measurement: Measurement | None = None,
    *,
    id3_version: float = 2.4,
) -> TagReport:
    """Write *values* into the file at *path*, which must be our own copy, and compare them after reading it again.

    Parameters
    ----------
    values : field id -> text, as ``tag_values`` gives it; ``coding_history`` may be added (R 98, one line a process)
    picture : bytes of a JPEG or PNG; other kinds are reported as not written
    measurement : of this very file, for loudness in the broadcast chunk; None writes none
    id3_version : 2.4, or 2.3 for an MP3 that old players must read

    Raises
    ------
    Unusable : the file does not match its container, or is too damaged to be written safely
    Unfinished : the disk fails
    """
    tag_formats, wanted = _formats_written(container_id, id3_version), _wanted(values)
    with disk(path):
        for tag_format in tag_formats:
            tag_format.write(path, wanted, picture, measurement)
    return embedded(path, container_id, values, picture, measurement, id3_version=id3_version)


def embedded(
    path: Path,
    container_id: str,
    values: Mapping[str, str],
    picture: bytes | None = None,
    measurement: Measurement | None = None,
    *,
    id3_version: float = 2.4,
) -> TagReport:
    """What `embed` returned for this very file, read again; nothing is written. Raises as `embed`."""
    with disk(path):
        tag_formats = _formats_written(container_id, id3_version)
        return _report(path, tag_formats, values, _wanted(values), picture, measurement)


def _formats_written(container_id: str, id3_version: float) -> list[TagFormat]:
    return _tag_formats(container_id, "id3_23" if id3_version == 2.3 and container_id == "mp3" else "id3")


def _wanted(values: Mapping[str, str]) -> dict[str, str]:
    return {name: storable(text) for name, text in values.items() if name in FIELDS and storable(text)}


def columns_of(container_id: str) -> tuple[str, ...]:
    """Columns of the field table that a container has; empty for one this program does not write."""
    from delivery.formats.registry import containers

    known = container_id in containers()
    return tuple(c for tag_format in (_tag_formats(container_id) if known else ()) for c in tag_format.COLUMNS)


def read_tags(path: Path, container_id: str) -> dict[str, str]:
    """Field id -> text as found in any file, from the most trusted column that has it.

    A tag format that cannot be read counts as empty if another can. Of ``bext`` only the ISRC
    counts: recorders and editors put their own name and date into its other fields.

    Raises
    ------
    Unusable : no tag format of the container can be read from this file
    """
    return _merged(_readable_columns(path, container_id))


def isrc_texts(path: Path, container_id: str) -> tuple[tuple[str, str], ...]:
    """Column and recording code text, for every column that has one.

    Raises
    ------
    Unusable : no tag format of the container can be read from this file
    """
    from delivery.tags import riff

    columns = _readable_columns(path, container_id)
    found = [(column, fields["isrc"]) for column, fields in columns.items() if "isrc" in fields]
    return (*found, *(("axml", code) for code in (riff.read_isrcs(path) if "axml" in columns else ())))


def _readable_columns(path: Path, container_id: str) -> dict[str, dict[str, str]]:
    columns: dict[str, dict[str, str]] = {}
    problems: list[Unusable] = []
    tag_formats = _tag_formats(container_id)
    for tag_format in tag_formats:
        try:
            with disk(path):
                columns |= tag_format.read_columns(path)
        except Unusable as problem:
            problems.append(problem)
    if problems and len(problems) == len(tag_formats):
        raise problems[0]
    if "bext" in columns:
        columns["bext"] = {name: text for name, text in columns["bext"].items() if name not in _PROGRAMS_OWN}
    return columns


def notes(path: Path) -> tuple[str, ...]:
    """Information in a master besides its fields, one sentence each: notes in an AIFF, a misplaced code in a WAV.

    Raises
    ------
    Unusable : unreadable chunks
    """
    from delivery.tags import aiff_texts, riff
    from delivery.tags.chunks import is_chunked, layout_of

    if not is_chunked(path):
        return ()
    layout = layout_of(path)
    if layout.form == b"FORM":
        return tuple(f"note in the file: {text!r}" for text in aiff_texts.notes_in(path, layout))
    code = riff.read_misplaced_isrc(path)
    question = f"the file has {code} in INFO's ISRC, which means the source of the item: is it this recording's code?"
    return (question,) if code else ()


def storable(text: str) -> str:
    """*text* without characters that no tag format can store: NUL ends a text everywhere, and half a surrogate pair is
    not a character."""
    return text.replace("\0", " ").encode("utf-8", "surrogatepass").decode("utf-8", "replace")


def _report(
    path: Path,
    tag_formats: list[TagFormat],
    values: Mapping[str, str],
    wanted: Mapping[str, str],
    picture: bytes | None,
    measurement: Measurement | None,
) -> TagReport:
    """Read the file again and compare every column with the values written."""
    columns = _columns(path, tag_formats)
    written = _merged(columns)
    differs = [*_changed(values, wanted), *_unlike(columns, wanted), *_loudness_unlike(path, columns, measurement)]
    unplaced = (*not_stored(wanted, tuple(columns)), *sorted(set(values) - set(FIELDS)))
    if picture is not None:
        pictures = (tag_format.read_picture(path) for tag_format in tag_formats)
        cover = _picture_text(next(filter(None, pictures), None), picture)
        written |= {PICTURE: cover} if cover else {}
        differs += [] if cover else [f"{PICTURE}: {_why_no_picture(picture)}"]
    return TagReport(written, unplaced, tuple(differs), tuple(_notes(columns, wanted)))


def _notes(columns: Iterable[str], wanted: Mapping[str, str]) -> Iterator[str]:
    if "info" in columns and not in_latin_1(held(wanted, "info").values()):
        yield "INFO holds texts in UTF-8, because Latin-1 lacks some of their letters; old readers may show others"


def _tag_formats(container_id: str, id3: str = "id3") -> list[TagFormat]:
    from delivery.formats.registry import containers

    container = containers().get(container_id)
    names = [id3 if name == "id3" else name for name in (container.tag_formats if container else ())]
    return [cast(TagFormat, importlib.import_module(f"delivery.tags.{name}")) for name in names]


def _columns(path: Path, tag_formats: Iterable[TagFormat]) -> dict[str, dict[str, str]]:
    found = [tag_format.read_columns(path) for tag_format in tag_formats]
    return {column: fields for columns in found for column, fields in columns.items()}


def _merged(columns: Mapping[str, Mapping[str, str]]) -> dict[str, str]:
    """Each field from the most trusted column that has it, in table order."""
    by_trust = [columns[column] for column in _TRUST if column in columns]
    found = {name: next((fields[name] for fields in by_trust if name in fields), "") for name in FIELDS}
    return {name: text for name, text in found.items() if text}


def _changed(values: Mapping[str, str], wanted: Mapping[str, str]) -> list[str]:
    return [_differs(name, values[name], text) for name, text in wanted.items() if text != values[name]]


def _unlike(columns: Mapping[str, Mapping[str, str]], wanted: Mapping[str, str]) -> list[str]:
    return [
        _differs(f"{name} ({column})", text, fields.get(name, ""))
        for column, fields in columns.items()
        for name, text in held(wanted, column).items()
        if fields.get(name, "") != text
    ]


def _loudness_unlike(path: Path, columns: Iterable[str], measurement: Measurement | None) -> list[str]:
    if measurement is None or "bext" not in columns:
        return []
    from delivery.tags.bext import LOUDNESS, hundredths
    from delivery.tags.riff import read_bext

    pairs = zip(LOUDNESS, hundredths(measurement), read_bext(path).loudness, strict=True)
    return [_differs(f"{name} (bext)", str(wrote), str(reads)) for name, wrote, reads in pairs if wrote != reads]


def _picture_text(found: bytes | None, wanted: bytes) -> str:
    """Description of the picture embedded; empty unless the same bytes were read back."""
    from delivery.tags.picture import look

    return str(look(wanted) or "") if found == wanted else ""


def _why_no_picture(picture: bytes) -> str:
    from delivery.tags.picture import look

    kind = look(picture)
    return f"wrote {kind}, reads something else or nothing" if kind else "neither a JPEG nor a PNG, so not embedded"


def _differs(name: str, wrote: str, reads: str) -> str:
    return f"{name}: wrote {_short(wrote)}, reads {_short(reads) if reads else 'nothing'}"


def _short(text: str) -> str:
    return repr(text) if len(text) <= 60 else f"{text[:50]!r}... ({len(text)} characters)"
