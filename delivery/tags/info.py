"""RIFF LIST-INFO: short texts, each NUL-terminated and padded to even length. Pure.

The format names no encoding: UTF-8 is written, and what is not UTF-8 is read as Windows code page 1252.
Trap: ``ISRC`` in here means the *source* of the item, never the recording code.
"""

from __future__ import annotations

import re
import struct
from collections.abc import Mapping

from delivery.tags.axml import storable

MOST_ENTRIES = 4096

Entry = tuple[bytes, bytes]
"""Id and raw value, with whatever ends it."""


def entries(body: bytes) -> list[Entry]:
    """Entries of a LIST body (which begins 'INFO'), in order; stops where a size leads outside, or after 4096."""
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
    """Texts by id; the first of a kind counts, empty ones do not."""
    read: dict[str, str] = {}
    for name, raw in found:
        text = _decoded(raw.partition(b"\0")[0])
        if text:
            read.setdefault(name.decode("ascii", "replace"), text)
    return read


def misplaced_isrc(found: list[Entry]) -> str:
    """A recording code where the *source* of the item belongs, in storage form; empty when what is there is none.

    Some taggers put it there all the same, and some readers believe it.
    """
    bare = re.sub(r"[\s-]", "", texts(found).get("ISRC", "")).upper()
    return bare if storable(bare) else ""


def merged(old: list[Entry], new: Mapping[str, str]) -> bytes:
    """A LIST body with *new* texts by id, behind the *old* entries of other ids; empty when there is nothing to say."""
    kept = [(name, raw) for name, raw in old if name.decode("ascii", "replace") not in new]
    ours = [(name.encode("ascii"), text.encode("utf-8") + b"\0") for name, text in new.items()]
    body = b"".join(_entry(name, raw) for name, raw in (*kept, *ours))
    return b"INFO" + body if body else b""


def _entry(name: bytes, raw: bytes) -> bytes:
    return name + struct.pack("<I", len(raw)) + raw + b"\0" * (len(raw) % 2)


def _decoded(raw: bytes) -> str:
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        return raw.decode("cp1252", "replace")
