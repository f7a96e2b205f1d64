"""Vorbis comments: in FLAC (RFC 9639), and in Ogg Opus (RFC 7845).

No padding, and the encoder's vendor text is kept: the same values give the same bytes. Comments without a field are
kept too.
"""

from __future__ import annotations

from base64 import b64decode, b64encode
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from delivery.model.figure import Measurement
from delivery.tags import flac_blocks
from delivery.tags.fields import FIELDS, JOINT, advisory_number, advisory_word, from_names, held, plain_name
from delivery.tags.guard import broken, clear, mutagen
from delivery.tags.picture import FRONT_COVER, Picture, look

COLUMNS = ("vorbis",)
_PICTURES = "METADATA_BLOCK_PICTURE"
_FLAC_BLOCK_BYTES = 2**24 - 1
_HEAD_BYTES = 64


def write(path: Path, values: Mapping[str, str], picture: bytes | None, measurement: Measurement | None) -> None:  # noqa: ARG001
    """Add the fields that Vorbis comments store, and *picture* as front cover if it is a JPEG or PNG that fits.

    Raises
    ------
    Unusable : not a FLAC, Ogg Opus or Ogg Vorbis file, or unreadable blocks
    OSError : the disk fails
    """
    fields, cover = held(values, "vorbis"), look(picture) if picture else None
    if not (fields or cover):
        return
    file: Any = load(path)
    with clear(path, "writing"):
        tags = file.tags if file.tags is not None else new_tags(file)
        for name, text in fields.items():
            text = advisory_number(text) if name == "explicit" else text
            for place in FIELDS[name].places("vorbis"):
                tags[place] = _lines(text) if FIELDS[name].many else [text]
        if cover:
            _set_cover(file, cover)
        file.save(padding=_none)


def read_columns(path: Path) -> dict[str, dict[str, str]]:
    """Fields by column of the table.

    Raises
    ------
    Unusable : as ``write``
    """
    file = load(path)
    found: dict[str, str] = {}
    for key, text in file.tags or ():
        name = plain_name(key)
        found[name] = f"{found[name]}{JOINT}{text}" if name in found else text
    fields = from_names(found, "vorbis", free="")
    for number, total in (("track_number", "track_total"), ("disc_number", "disc_total")):
        first, slash, rest = fields.get(number, "").partition("/")
        if slash and total not in fields and first.isdigit() and rest.isdigit():  # '3/9', as some programs write it
            fields |= {number: first, total: rest}
    if "explicit" in fields:
        fields["explicit"] = advisory_word(fields["explicit"])
    return {"vorbis": fields}


def read_picture(path: Path) -> bytes | None:
    """The front cover's bytes.

    Raises
    ------
    Unusable : as ``write``
    """
    covers = [block.data for block in _pictures(load(path)) if block.type == FRONT_COVER]
    return bytes(covers[0]) if covers else None


def load(path: Path) -> Any:
    """mutagen's view of the file.

    Raises
    ------
    Unusable : not a FLAC, Ogg Opus or Ogg Vorbis file, or unreadable blocks
    """
    with clear(path, "reading"):
        with path.open("rb") as file:
            head = file.read(_HEAD_BYTES)
        if head[:4] == b"OggS":
            return mutagen("oggopus").OggOpus(path) if b"OpusHead" in head else mutagen("oggvorbis").OggVorbis(path)
        if head[:4] == b"fLaC" or head[:3] == b"ID3":
            flac_blocks.check(path)
            return mutagen("flac").FLAC(path)
    raise broken(path, f"a file that begins {head[:4]!r}", "a FLAC or Ogg file")


def new_tags(file: Any) -> Any:
    """An empty list of comments in a file that has none."""
    file.add_tags()
    file.tags.vendor = "delivery"  # the library would write its own name and version here
    return file.tags


def _none(_: Any) -> int:
    return 0


def _lines(text: str) -> list[str]:
    parts = text.split(JOINT)
    return parts if all(parts) else [text]


def _pictures(file: Any) -> list[Any]:
    """Picture blocks, from FLAC's own or from base64 in an Ogg comment; unreadable ones are left out."""
    if hasattr(file, "pictures"):
        return list(file.pictures)
    blocks = []
    for text in (file.tags or {}).get(_PICTURES, []):
        try:
            blocks.append(mutagen("flac").Picture(b64decode(text)))
        except (mutagen("flac").error, ValueError):
            continue
    return blocks


def _set_cover(file: Any, cover: Picture) -> None:
    block = mutagen("flac").Picture()
    block.type, block.mime, block.data = FRONT_COVER, cover.mime, cover.data
    block.width, block.height, block.depth = cover.width_px, cover.height_px, cover.depth_bits
    if len(block.write()) > _FLAC_BLOCK_BYTES:
        return  # too large; the reader finds it missing, which is reported
    blocks = [block, *(other for other in _pictures(file) if other.type != FRONT_COVER)]
    if hasattr(file, "pictures"):
        file.clear_pictures()
        for each in blocks:
            file.add_picture(each)
    else:
        file.tags[_PICTURES] = [b64encode(each.write()).decode("ascii") for each in blocks]
