"""ID3v2.4 in UTF-8: at the head of an MP3, in the ``id3`` chunk of a WAV, in the ``ID3`` chunk of an AIFF.

mutagen makes and reads the tag's bytes; the chunks are ours, so that RF64 works and odd lengths are padded right.
No padding after the tag and no ID3v1: the same values give the same bytes. Frames without a field are kept.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from io import BytesIO
from pathlib import Path
from typing import Any

from delivery.errors import Unusable
from delivery.model.figure import Measurement
from delivery.tags import aiff_texts
from delivery.tags.chunks import body_of, is_chunked, layout_of
from delivery.tags.fields import FIELDS, JOINT, advisory_number, advisory_word, from_names, held, plain_name
from delivery.tags.guard import broken, clear, mutagen
from delivery.tags.picture import FRONT_COVER, Picture, look
from delivery.tags.rewrite import New, place, rewrite

COLUMNS = ("id3",)
_OWN = "TXXX:"
_PEOPLE = "TIPL:"
"""Involved people: pairs of function and name in one frame."""
_LATIN_1, _UTF16, _UTF8 = 0, 1, 3


def write(
    path: Path,
    values: Mapping[str, str],
    picture: bytes | None,
    measurement: Measurement | None,  # noqa: ARG001 - all tag formats are called alike
    version: int = 4,
) -> None:
    """Add the fields that ID3 stores, and *picture* as front cover if it is a JPEG or PNG.

    Parameters
    ----------
    version : 4, or 3 for an MP3 that old players must read

    Raises
    ------
    Unusable : unreadable chunks in a WAV or AIFF, or it would exceed 4 GiB
    OSError : the disk fails
    """
    fields, cover = held(values, "id3"), look(picture) if picture else None
    if not (fields or cover):
        return
    tag = _to_write(path)
    with clear(path, "writing"):
        _fill(tag, fields)
        if cover:
            _set_cover(tag, cover)
        if is_chunked(path):
            _save_in_chunk(tag, path, fields)
        else:
            if version == 3:
                tag.update_to_v23()
                _fill_older(tag, fields)
            tag.save(path, v1=0, v2_version=version, padding=_none, v23_sep=JOINT)


def add_frames(path: Path, frames: list[Any]) -> None:
    """Add *frames* of the tag library to the tag of our own copy at *path*.

    Raises
    ------
    Unusable : as `write`
    """
    tag = _to_write(path)
    for frame in frames:
        tag.add(frame)
    if is_chunked(path):
        _save_in_chunk(tag, path, {})
    else:
        tag.save(path, v1=0, v2_version=4, padding=_none)


def read_columns(path: Path) -> dict[str, dict[str, str]]:
    """Fields by column of the table; none if there is no tag. An AIFF's text chunks supply what its tag lacks.

    Raises
    ------
    Unusable : an unreadable tag or unreadable chunks
    """
    tag = _load(path)
    with clear(path, "reading"):
        fields = {} if tag is None else _read(_texts(tag))
    if "explicit" in fields:
        fields["explicit"] = advisory_word(fields["explicit"])
    return {"id3": _older(path) | fields}


def _read(texts: Mapping[str, str]) -> dict[str, str]:
    """Fields by their names; a field that an ID3v2.3 frame holds only in part is read from its additional frame."""
    fields = from_names(texts, "id3", free=_OWN)
    for name, field in FIELDS.items():
        for name_there in field.id3_23.split():
            whole = texts.get(plain_name(name_there), "") if name_there.startswith(_OWN) else ""
            if whole.startswith(fields.get(name, "")) and whole:
                fields[name] = whole
    return fields


def _older(path: Path) -> dict[str, str]:
    if not is_chunked(path) or (layout := layout_of(path)).form != b"FORM":
        return {}
    return aiff_texts.fields_in(path, layout)


def read_picture(path: Path) -> bytes | None:
    """The front cover's bytes.

    Raises
    ------
    Unusable : as ``read_columns``
    """
    tag = _load(path)
    if tag is None:
        return None
    covers = [frame for frame in tag.getall("APIC") if frame.type == FRONT_COVER]
    return bytes(covers[0].data) if covers else None


def _empty() -> Any:
    return mutagen("id3").ID3()


def _to_write(path: Path) -> Any:
    """The existing tag; an unreadable one is replaced by an empty one."""
    try:
        tag = _load(path)
    except Unusable:
        if not is_chunked(path):
            raise
        tag = None
    return _empty() if tag is None else tag


def _none(_: Any) -> int:
    return 0


def _one(_: Any) -> int:
    return 1


def _load(path: Path) -> Any:
    """mutagen's tag, converted to version 2.4; None if there is none."""
    if not (is_chunked(path) or _is_mpeg(path)):
        raise broken(path, "neither RIFF, AIFF, an ID3 tag nor an MPEG frame at its head", "a file that carries ID3")
    _refuse_lying_size(path)
    with clear(path, "reading"):
        try:
            return mutagen("id3").ID3(BytesIO(_chunk_body(path)) if is_chunked(path) else path)
        except mutagen("id3").ID3NoHeaderError:
            return None


def _is_mpeg(path: Path) -> bool:
    with path.open("rb") as file:
        head = file.read(3)
    return head == b"ID3" or (len(head) == 3 and head[0] == 0xFF and head[1] >= 0xE0)


def _refuse_lying_size(path: Path) -> None:
    """Refuse a tag larger than the file: a library would allocate the stated size (up to 256 MiB) first."""
    with path.open("rb") as file:
        head, end = file.read(10), file.seek(0, 2)
    if len(head) == 10 and head[:3] == b"ID3":
        size = sum((byte & 0x7F) << shift for byte, shift in zip(head[6:], (21, 14, 7, 0), strict=True))
        if 10 + size > end:
            raise broken(path, f"a tag of {size} bytes in a file of {end}", "a tag inside the file")


def _chunk_body(path: Path) -> bytes:
    chunks = layout_of(path).all_of(b"id3 ", b"ID3 ")
    with path.open("rb") as file:
        return body_of(file, chunks[0], path) if chunks else b""


def _save_in_chunk(tag: Any, path: Path, fields: Mapping[str, str]) -> None:
    body = _rendered(tag, _none)
    body = _rendered(tag, _one) if len(body) % 2 else body  # many readers fail on chunks of odd length
    layout = layout_of(path)
    name = b"ID3 " if layout.form == b"FORM" else b"id3 "
    gone = layout.all_of(b"id3 ", b"ID3 ")
    if layout.form == b"FORM":
        gone += aiff_texts.outdated(path, layout, fields)
    rewrite(path, layout, place(layout, (), [New(name, body)], gone))


def _rendered(tag: Any, padding: Callable[[Any], int]) -> bytes:
    made = BytesIO()
    tag.save(made, v1=0, v2_version=4, padding=padding)
    return made.getvalue()


def _fill(tag: Any, values: Mapping[str, str]) -> None:
    for name, text in values.items():
        for name_there in FIELDS[name].places("id3"):
            if name_there.endswith("/"):
                continue  # the number before the slash includes it
            total = next((values[f] for f in values if name_there + "/" in FIELDS[f].places("id3")), "")
            text = advisory_number(text) if name == "explicit" else text
            _set(tag, name_there, f"{text}/{total}" if total else text)


def _fill_older(tag: Any, values: Mapping[str, str]) -> None:
    """Fields without a full frame in ID3v2.3: a TXXX frame of their own, in Latin-1 or UTF-16."""
    for name, text in values.items():
        for name_there in FIELDS[name].id3_23.split():
            if name_there.startswith(_OWN):
                encoding = _LATIN_1 if all(char <= "\xff" for char in text) else _UTF16
                tag.add(mutagen("id3").TXXX(encoding=encoding, desc=name_there.removeprefix(_OWN), text=[text]))


def _set(tag: Any, name_there: str, text: str) -> None:
    if name_there.startswith(_PEOPLE):
        _set_people(tag, name_there.removeprefix(_PEOPLE), text)
        return
    if not name_there.startswith(_OWN):
        tag.setall(name_there, [mutagen("id3").Frames[name_there](encoding=_UTF8, text=[text])])
        return
    description = name_there.removeprefix(_OWN)
    for frame in tag.getall("TXXX"):
        if plain_name(frame.desc) == description:
            del tag[frame.HashKey]
    tag.add(mutagen("id3").TXXX(encoding=_UTF8, desc=description, text=[text]))


def _set_people(tag: Any, function: str, text: str) -> None:
    names = text.split(JOINT)
    pairs = [[function, name] for name in (names if all(names) else [text])]
    others = [pair for frame in tag.getall("TIPL") for pair in frame.people if pair[0] != function]
    tag.setall("TIPL", [mutagen("id3").TIPL(encoding=_UTF8, people=[*others, *pairs])])


def _people(tag: Any) -> dict[str, str]:
    names: dict[str, list[str]] = {}
    for frame in tag.getall("TIPL"):
        for function, name in frame.people:
            names.setdefault(plain_name(_PEOPLE + function), []).append(name)
    return {name_there: JOINT.join(some) for name_there, some in names.items()}


def _set_cover(tag: Any, cover: Picture) -> None:
    others = [frame for frame in tag.getall("APIC") if frame.type != FRONT_COVER]
    ours = mutagen("id3").APIC(encoding=_UTF8, mime=cover.mime, type=FRONT_COVER, desc="", data=cover.data)
    tag.setall("APIC", [ours, *others])


def _texts(tag: Any) -> dict[str, str]:
    """Texts by name: plain frame ids, and TXXX by description; numbers with a total are split at the slash."""
    found = _people(tag)
    for frame in tag.values():
        lines = frame.genres if frame.FrameID == "TCON" else getattr(frame, "text", None)
        if frame.FrameID[0] != "T" or not isinstance(lines, list):
            continue
        text = JOINT.join(str(line) for line in lines)
        key = _OWN + frame.desc if frame.FrameID == "TXXX" else frame.FrameID
        if frame.FrameID in ("TRCK", "TPOS"):
            text, _, found[key + "/"] = text.partition("/")
        found[plain_name(key)] = text
    return found
