"""A client's own headers, saved: label-copy.yaml beside the sheet, or in the configuration folder for all."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from pathlib import Path

from delivery.errors import Faulty, Unusable
from delivery.intake.sheet.columns import IGNORED, words_of
from delivery.intake.text_files import write_text
from delivery.intake.yaml.quoting import one_line, quoted
from delivery.intake.yaml.source_locations import place_of
from delivery.intake.yaml.text import read_document
from delivery.model.fields import FIELDS
from delivery.own_folders import config_folder

NAME = "label-copy.yaml"
HEAD = """\
# How your clients' sheets call their columns, beyond the headings this program recognises: header -> field, or ignore.
# Added to by 'delivery start --column HEADER=FIELD'; edit it as you like.
columns:
"""


def known_headers(beside: Path) -> dict[str, str]:
    """Normalised headers -> field id; those beside the sheet take precedence over the studio's.

    Raises
    ------
    Faulty : one of the files has faults
    """
    known: dict[str, str] = {}
    for place in (config_file(), beside / NAME):
        if place.is_file():
            known |= _read(place)
    return known


def config_file() -> Path:
    """The file with the user's column names."""
    return config_folder() / NAME


def stated_headers(columns: Iterable[str]) -> dict[str, tuple[str, str]]:
    """'Songtext von=lyricist' of the command line: normalised header -> header as written, field id.

    Raises
    ------
    Unusable : no '=', an empty header, or an unknown field
    """
    stated = {}
    for text in columns:
        header, equals, name = text.rpartition("=")
        if not equals or not words_of(header):
            raise Unusable("--column", repr(text), "HEADER=FIELD", f"Fields: {', '.join(FIELDS)}, {IGNORED}.")
        stated[words_of(header)] = (header.strip(), _field("--column", name.strip()))
    return stated


def remember(stated: Mapping[str, tuple[str, str]]) -> Path | None:
    """Add to the studio's headers; returns the file, or None if there was nothing new.

    Raises
    ------
    Faulty, Unfinished : the file has faults, or cannot be written
    """
    path = config_file()
    before = _read(path) if path.is_file() else {}
    new = {key: pair for key, pair in stated.items() if before.get(key) != pair[1]}
    if not new:
        return None
    kept = path.read_text(encoding="utf-8-sig") if path.is_file() else HEAD
    lines = "".join(f"  - {{header: {quoted(one_line(header))}, field: {name}}}\n" for header, name in new.values())
    path.parent.mkdir(parents=True, exist_ok=True)
    write_text(path, kept.rstrip("\n") + "\n" + lines)
    return path


def _read(path: Path) -> dict[str, str]:
    document = read_document(path)
    items = document.data.get("columns") if isinstance(document.data, dict) else None
    faults: list[Unusable] = []
    known: dict[str, str] = {}
    for index, item in enumerate(items if isinstance(items, list) else ()):
        place = place_of(path.name, document.lines, f"columns/{index}")
        header, name = (item.get("header"), item.get("field")) if isinstance(item, dict) else (None, None)
        if not (isinstance(header, str) and isinstance(name, str) and words_of(header)):
            faults.append(
                Unusable(place, "something else", "{header: ..., field: ...}", "See the first lines of the file.")
            )
            continue
        try:
            known[words_of(header)] = _field(place, name)
        except Unusable as fault:
            faults.append(fault)
    if not isinstance(items, list):
        faults.append(
            Unusable(path.name, "no list under 'columns'", "columns: and a list", "Delete the file to start again.")
        )
    if faults:
        raise Faulty(tuple(faults))
    return known


def _field(place: str, name: str) -> str:
    if name in FIELDS or name == IGNORED:
        return name
    near = get_close_matches(name, FIELDS, n=1)
    hint = f"Did you mean {near[0]}? " if near else ""
    raise Unusable(
        place, f"the field {name!r}", "a field of label copy", f"{hint}Fields: {', '.join(FIELDS)}, {IGNORED}."
    )
