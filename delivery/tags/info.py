"""RIFF LIST-INFO: short texts, each NUL-terminated and padded to even length. Pure.

The format defines no encoding. Most readers assume Latin-1 or their system's code page, so Latin-1 is written if all
texts of the list fit into it, else UTF-8; text that is not valid UTF-8 is read as Windows code page 1252. Trap:
``ISRC`` in here means the *source* of the item, never the recording code.
"""

from __future__ import annotations

import re
import struct
from collections.abc import Iterable, Mapping

from delivery.tags.axml import storable

MOST_ENTRIES = 4096

Entry = tuple[bytes, bytes]
"""Id and raw value, with its terminator."""


def entries(body: bytes) -> list[Entry]:
    """Entries of a LIST body (which begins 'INFO'), in order; stops at an invalid size, or after 4096."""
    found: list[Entry] = []
    at = 4
    while at + 8 <= len(body) and len(found) < MOST_ENTRIES:
        name, size = struct.unpack_from("<4sI", body, at)
        if at + 8 + size > len(body):
            break
        found.append((name, body[at + 8 : at + 8 + size]))
        at += 8 + size + size % 2
    return found


def texts(found: list[Entry]) -> dict[str, str]:
    """Texts by id; the first of a kind is used, empty ones are not."""
    read: dict[str, str] = {}
    for entry in found:
        if text := text_of(entry):
            read.setdefault(entry[0].decode("ascii", "replace"), text)
    return read


def text_of(entry: Entry) -> str:
    """Text of an entry, up to its first NUL."""
    return _decoded(entry[1].partition(b"\0")[0])


def misplaced_isrc(found: list[Entry]) -> str:
    """A recording code in the entry for the *source* of the item, in storage form; empty if there is none.

    Some taggers write it there, and some readers use it.
    """
    bare = re.sub(r"[\s-]", "", texts(found).get("ISRC", "")).upper()
    return bare if storable(bare) else ""


def merged(old: list[Entry], new: Mapping[str, str]) -> bytes:
    """A LIST body with *new* texts by id, after the *old* entries of other ids; empty if there are none."""
    kept = [(name, raw) for name, raw in old if name.decode("ascii", "replace") not in new]
    encoding = "latin-1" if in_latin_1(new.values()) else "utf-8"
    ours = [(name.encode("ascii"), text.encode(encoding) + b"\0") for name, text in new.items()]
    body = b"".join(_entry(name, raw) for name, raw in (*kept, *ours))
    return b"INFO" + body if body else b""


def in_latin_1(texts: Iterable[str]) -> bool:
    """True if ISO 8859-1 has every character of all *texts*, and none would be mistaken for UTF-8."""
    return all(
        all(char <= "ÿ" and not "\x7f" <= char <= "\x9f" for char in text) and _decoded(text.encode("latin-1")) == text
        for text in texts
    )


def _entry(name: bytes, raw: bytes) -> bytes:
    return name + struct.pack("<I", len(raw)) + raw + b"\0" * (len(raw) % 2)


def _decoded(raw: bytes) -> str:
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        return raw.decode("cp1252", "replace")
