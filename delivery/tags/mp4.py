"""The ``ilst`` atoms of MP4 files. No padding: the same values give the same bytes. Atoms without a field are kept."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from delivery.model.figure import Measurement
from delivery.tags import mp4_atoms
from delivery.tags.fields import FIELDS, JOINT, advisory_number, advisory_word, from_names, held, plain_name
from delivery.tags.guard import clear, mutagen
from delivery.tags.picture import look

COLUMNS = ("mp4",)
_FREE = "free:"
_FREE_ATOM = "----:com.apple.iTunes:"
"""Domain that every reader of freeform atoms uses."""
_PAIRS = ("trkn", "disk")
_MOST = 0xFFFF


def write(path: Path, values: Mapping[str, str], picture: bytes | None, measurement: Measurement | None) -> None:  # noqa: ARG001
    """Add the fields that MP4 stores, and *picture* as cover if it is a JPEG or PNG.

    A value that an atom cannot hold (a track number that is not a number) is left out, as reading back shows.

    Raises
    ------
    Unusable : not an MP4 file, or unreadable atoms
    OSError : the disk fails
    """
    fields, cover = held(values, "mp4"), look(picture) if picture else None
    if not (fields or cover):
        return
    file = load(path)
    with clear(path, "writing"):
        if file.tags is None:
            file.add_tags()
        for name, text in fields.items():
            for place in FIELDS[name].places("mp4"):
                _set(file.tags, place, text)
        if cover:
            form = mutagen("mp4").MP4Cover
            kind = form.FORMAT_PNG if cover.mime == "image/png" else form.FORMAT_JPEG
            file.tags["covr"] = [form(cover.data, kind)]
        file.save(padding=_none)


def read_columns(path: Path) -> dict[str, dict[str, str]]:
    """Fields by column of the table.

    Raises
    ------
    Unusable : as ``write``
    """
    file = load(path)
    with clear(path, "reading"):
        found: dict[str, str] = {}
        for key, value in (file.tags or {}).items():
            found |= texts(key, value)
        return {"mp4": from_names(found, "mp4", free=_FREE)}


def read_picture(path: Path) -> bytes | None:
    """The cover's bytes.

    Raises
    ------
    Unusable : as ``write``
    """
    covers = (load(path).tags or {}).get("covr", [])
    return bytes(covers[0]) if covers else None


def load(path: Path) -> Any:
    """mutagen's view of the file.

    Raises
    ------
    Unusable : not an MP4 file, or unreadable atoms
    """
    mp4_atoms.check(path)
    with clear(path, "reading"):
        return mutagen("mp4").MP4(path)


def _none(_: Any) -> int:
    return 0


def _set(tags: Any, place: str, text: str) -> None:
    if place.startswith(_FREE):
        tags[_FREE_ATOM + place.removeprefix(_FREE)] = [text.encode("utf-8")]
    elif place.rstrip("/") in _PAIRS:
        _set_number(tags, place, text)
    elif place == "rtng":
        number = advisory_number(text)
        if number.isascii() and number.isdigit() and int(number) < 256:
            tags[place] = [int(number)]
    elif place == "tmpo":
        if text.isascii() and text.isdigit() and int(text) <= _MOST:
            tags[place] = [int(text)]
    else:
        tags[place] = [text]


def _set_number(tags: Any, place: str, text: str) -> None:
    """Set one of the two numbers of an atom, keeping the other: 'trkn' the first, 'trkn/' the second."""
    if not (text.isascii() and text.isdigit() and int(text) <= _MOST):
        return
    number, total = (tags.get(place.rstrip("/")) or [(0, 0)])[0]
    tags[place.rstrip("/")] = [(number, int(text)) if place.endswith("/") else (int(text), total)]


def atom_name(key: str) -> str:
    """Name of an atom in the table of fields: freeform ones of the common domain as 'free:NAME'."""
    return _FREE + key.removeprefix(_FREE_ATOM) if key.startswith(_FREE_ATOM) else key


def texts(key: str, value: Any) -> dict[str, str]:
    """Texts by name; numbers of zero are left out."""
    if key in _PAIRS:
        number, total = value[0] if value else (0, 0)
        return {plain_name(k): str(n) for k, n in ((key, number), (key + "/", total)) if n}
    if key == "rtng":
        return {plain_name(key): advisory_word(str(value[0]))} if value else {}
    if key == "tmpo":
        return {plain_name(key): str(value[0])} if value else {}
    if key.startswith(_FREE_ATOM):
        lines = [bytes(each).decode("utf-8", "replace") for each in value]
        return {plain_name(_FREE + key.removeprefix(_FREE_ATOM)): JOINT.join(lines)}
    if isinstance(value, list) and all(isinstance(each, str) for each in value):
        return {plain_name(key): JOINT.join(value)}
    return {}
