"""Positions in chunks: cue points, labels, loops, markers. Read, moved to another rate, converted into each other.
Pure.

Sources: Microsoft and IBM, Multimedia Programming Interface and Data Specifications 1.0 (1991), cue, plst, LIST
adtl; Microsoft, New Multimedia Data Types and Data Techniques (1994), smpl and inst; AIFF 1.3, MARK and COMT.
Every number is checked against its chunk: a count that is too large ends where the chunk ends.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator

from delivery.model.carried import Positions

_CUE = struct.Struct("<II4sIII")
_LOOP = struct.Struct("<IIIIII")
_SMPL_HEAD = 36
_PLAY = struct.Struct("<III")
_MOST = 2**32 - 1


def count(id: bytes, body: bytes) -> int | None:
    """Number of points in a chunk of this id; None for a chunk without points."""
    if id == b"cue ":
        return len(list(_cues(body)))
    if id == b"smpl":
        return len(list(_rows(body, _SMPL_HEAD, _LOOP)))
    return len(markers(body)) if id == b"MARK" else None


def labels(id: bytes, body: bytes) -> list[str]:
    """Texts at points, in order; blank ones left out."""
    if id == b"adtl":
        texts = [raw[20:] if name == b"ltxt" else raw[4:] for name, raw in _entries(body) if name != b"file"]
        return [text for text in map(_text, texts) if text]
    if id == b"MARK":
        return [name for _, _, name in markers(body) if name]
    return comments(body) if id == b"COMT" else []


def moved(id: bytes, body: bytes, to: Positions) -> bytes:
    """*body* of a chunk with every position mapped to the delivered file; other chunks unchanged.

    Parameters
    ----------
    id : id of the chunk, or of the list: 'cue ', 'adtl', 'plst', 'smpl', 'MARK'
    """
    move = {b"cue ": _cue, b"adtl": _adtl, b"plst": _plst, b"smpl": _smpl, b"MARK": _mark}.get(id)
    return body if move is None or to.unchanged else move(body, to)


def markers(body: bytes) -> list[tuple[int, int, str]]:
    """Id, position in samples and name of every marker of an AIFF."""
    found: list[tuple[int, int, str]] = []
    at, left = 2, struct.unpack(">H", body[:2])[0] if len(body) >= 2 else 0
    while left and at + 7 <= len(body):
        number, place, length = struct.unpack_from(">HIB", body, at)
        found.append((number, place, body[at + 7 : at + 7 + length].decode("mac_roman")))
        at += 7 + length + (length + 1) % 2  # a Pascal string, its count included, is padded to even length
        left -= 1
    return found


def mark_chunk(points: list[tuple[int, int, str]]) -> bytes:
    """Body of an AIFF's MARK for (id, position, name); names are cut to 255 bytes."""
    made = [struct.pack(">H", len(points))]
    for number, place, name in points:
        text = name.encode("mac_roman", "replace")[:255]
        text = bytes([len(text)]) + text
        made.append(struct.pack(">HI", number, min(place, _MOST)) + text + b"\0" * (len(text) % 2))
    return b"".join(made)


def named_cues(cue: bytes, adtl: bytes) -> list[tuple[int, int, str]]:
    """(id, position, label) of every cue point of a WAV, positions in samples from the first."""
    names = {raw[:4]: _text(raw[4:]) for name, raw in _entries(adtl) if name == b"labl" and len(raw) >= 4}
    return [(row[0], row[5], names.get(struct.pack("<I", row[0]), "")) for row in _cues(cue)]


def cue_chunk(points: list[tuple[int, int, str]]) -> bytes:
    """Body of a WAV's 'cue ' for (id, position, label)."""
    rows = (_CUE.pack(number, min(place, _MOST), b"data", 0, 0, min(place, _MOST)) for number, place, _ in points)
    return struct.pack("<I", len(points)) + b"".join(rows)


def adtl_chunk(points: list[tuple[int, int, str]]) -> bytes:
    """Body of the LIST with their labels; empty if there are none."""
    made = b""
    for number, _, label in points:
        if label:
            raw = struct.pack("<I", number) + label.encode("utf-8") + b"\0"
            made += b"labl" + struct.pack("<I", len(raw)) + raw + b"\0" * (len(raw) % 2)
    return b"adtl" + made if made else b""


def comments(body: bytes) -> list[str]:
    """Texts of an AIFF's COMT: each with a time stamp and its marker."""
    found, at, left = [], 2, struct.unpack(">H", body[:2])[0] if len(body) >= 2 else 0
    while left and at + 8 <= len(body):
        (length,) = struct.unpack_from(">H", body, at + 6)
        found.append(_text(body[at + 8 : at + 8 + length]))
        at += 8 + length + length % 2
        left -= 1
    return [text for text in found if text]


def _cue(body: bytes, to: Positions) -> bytes:
    rows = [_CUE.pack(*row[:1], _at(row[1], to), *row[2:5], _at(row[5], to)) for row in _cues(body)]
    return struct.pack("<I", len(rows)) + b"".join(rows)


def _plst(body: bytes, to: Positions) -> bytes:
    rows = [_PLAY.pack(row[0], _length(row[1], to), row[2]) for row in _rows(body, 4, _PLAY)]
    return struct.pack("<I", len(rows)) + b"".join(rows)


def _adtl(body: bytes, to: Positions) -> bytes:
    """A labelled region states its length in samples."""
    made = b""
    for name, raw in _entries(body):
        if name == b"ltxt" and len(raw) >= 8:
            number, length = struct.unpack_from("<II", raw)
            raw = struct.pack("<II", number, _length(length, to)) + raw[8:]
        made += name + struct.pack("<I", len(raw)) + raw + b"\0" * (len(raw) % 2)
    return b"adtl" + made


def _smpl(body: bytes, to: Positions) -> bytes:
    """Loops at their positions, and the sample period (ns) of the new rate; a fraction of a sample is unchanged."""
    if len(body) < _SMPL_HEAD:
        return body
    period_ns = round(1e9 / to.to_hz)
    rows = [
        _LOOP.pack(number, kind, _at(start, to), _at(end, to), fraction, plays)
        for number, kind, start, end, fraction, plays in _rows(body, _SMPL_HEAD, _LOOP)
    ]
    head = body[:8] + struct.pack("<I", period_ns) + body[12:28] + struct.pack("<I", len(rows)) + body[32:36]
    (there,) = struct.unpack_from("<I", body, 28)
    return head + b"".join(rows) + body[_SMPL_HEAD + _LOOP.size * min(there, len(rows)) :]


def _mark(body: bytes, to: Positions) -> bytes:
    return mark_chunk([(number, to.at(place), name) for number, place, name in markers(body)])


def _cues(body: bytes) -> Iterator[tuple[int, int, bytes, int, int, int]]:
    yield from _rows(body, 4, _CUE)


def _rows(body: bytes, head: int, row: struct.Struct) -> Iterator[tuple]:  # type: ignore[type-arg]
    """Rows after a header of this many bytes, whose count is the last or, for loops, the last but one number."""
    if len(body) < head:
        return
    (promised,) = struct.unpack_from("<I", body, 28 if head == _SMPL_HEAD else 0)
    for at in range(head, min(head + promised * row.size, len(body)) - row.size + 1, row.size):
        yield row.unpack_from(body, at)


def _entries(adtl: bytes) -> Iterator[tuple[bytes, bytes]]:
    at = 4
    while at + 8 <= len(adtl):
        name, length = struct.unpack_from("<4sI", adtl, at)
        if at + 8 + length > len(adtl):
            return
        yield name, adtl[at + 8 : at + 8 + length]
        at += 8 + length + length % 2


def _at(sample: int, to: Positions) -> int:
    return min(to.at(sample), _MOST)


def _length(samples: int, to: Positions) -> int:
    return min(to.length(samples), _MOST)


def _text(raw: bytes) -> str:
    raw = raw.partition(b"\0")[0]
    try:
        return raw.decode("utf-8").strip()
    except UnicodeDecodeError:
        return raw.decode("cp1252", "replace").strip()
