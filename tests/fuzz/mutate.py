"""Pure mutators: bytes and a source of chance in, bytes out. Each follows the structure of its format."""

from __future__ import annotations

import random
import re
import struct
from collections.abc import Callable

Mutator = Callable[[bytes, random.Random], bytes]
SIZES = (0, 1, 3, 7, 8, 0x7FFF, 0xFFFF, 2**24, 2**31 - 1, 2**31, 2**32 - 9, 2**32 - 1)
"""Sizes that readers get wrong: none, odd, and at the edges of integer types."""
ATOMS = (
    b"ftyp|moov|mvhd|trak|tkhd|mdia|mdhd|hdlr|minf|stbl|stsd|stts|stsc|stsz|stco"
    b"|mp4a|esds|alac|udta|meta|ilst|edts|elst"
)
ODD_TEXT = (
    *(b"[" * 300, b"{" * 300, b"- " * 100, b"&a [*a, *a]", b"<<: *x", b"!!python/x 1", b"? ", b"|", b"%YAML 9\n---\n"),
    *(b"'", b'"', b"\t", b"\0", b"\xff\xfe", b"\xe2\x80\xae", b"..", b"../../x", b"=1+1", b"1e999", b";", b","),
)
"""What parsers of YAML, CSV and lists stumble over."""


def byte_level(content: bytes, dice: random.Random) -> bytes:
    """Flip, cut, repeat or overwrite a few bytes anywhere."""
    out = bytearray(content)
    for _ in range(dice.choice((1, 1, 2, 8, 40))):
        if not out:
            break
        at, length = dice.randrange(len(out)), dice.choice((1, 2, 4, 16, 400))
        action = dice.randrange(5)
        if action == 0:
            out[at] ^= 1 << dice.randrange(8)
        elif action == 1:
            out[at : at + length] = dice.randbytes(length)
        elif action == 2:
            del out[at : at + length]
        elif action == 3:
            out[at:at] = out[at : at + length] * dice.choice((1, 3))
        else:
            out[at : at + 4] = struct.pack(dice.choice(("<I", ">I")), dice.choice(SIZES))
    return bytes(out[: dice.randrange(len(out) + 1)] if dice.random() < 0.1 else out)


def chunked(order: str, head: int) -> Mutator:
    """RIFF, AIFF and CAF: a name and a size before each body. *head* bytes come before the first chunk."""
    wide = order == "caf"
    shape, length = (">4sq", 12) if wide else (f"{order}4sI", 8)

    def split(content: bytes) -> list[tuple[bytes, int, bytes]]:
        found, at = [], head
        while at + length <= len(content) and len(found) < 100:
            name, size = struct.unpack_from(shape, content, at)
            body = content[at + length : at + length + size] if size >= 0 else content[at + length :]
            found.append((name, size, body))
            at += length + max(len(body), 0) + (0 if wide else len(body) % 2)
        return found

    def mutate(content: bytes, dice: random.Random) -> bytes:
        pieces = split(content)
        if not pieces or dice.random() < 0.15:
            return byte_level(content, dice)
        at = dice.randrange(len(pieces))
        name, size, body = pieces[at]
        action = dice.randrange(6)
        if action == 0:
            pieces[at] = (name, dice.choice(SIZES), body)
        elif action == 1:
            pieces[at] = (name, len(body), byte_level(body[:200], dice) + body[200:])
        elif action == 2:
            pieces.insert(dice.randrange(len(pieces) + 1), (name, size, body))
        elif action == 3:
            pieces.pop(at)
        elif action == 4:
            dice.shuffle(pieces)
        else:
            pieces[at] = (dice.choice(pieces)[0], size, body[: dice.randrange(len(body) + 1)])
        out = content[:head]
        for name, size, body in pieces:
            out += struct.pack(shape, name, size) + body + (b"" if wide else b"\0" * (len(body) % 2))
        return out

    return mutate


def atoms(content: bytes, dice: random.Random) -> bytes:
    """MP4: spoil the size, the name or the fields of one atom, at any depth."""
    found = [match.start() - 4 for match in re.finditer(ATOMS, content) if match.start() >= 4]
    if not found or dice.random() < 0.15:
        return byte_level(content, dice)
    out = bytearray(content)
    for _ in range(dice.choice((1, 1, 2, 4))):
        at = dice.choice(found)
        action = dice.randrange(4)
        if action == 0:
            out[at : at + 4] = struct.pack(">I", dice.choice(SIZES))
        elif action == 1:
            out[at + 4 : at + 8] = dice.choice((b"free", b"skip", b"xxxx", bytes(out[found[0] + 4 : found[0] + 8])))
        else:
            field = at + 8 + dice.randrange(32)
            out[field : field + 4] = struct.pack(">I", dice.choice(SIZES))
    return bytes(out)


def marked(mark: bytes) -> Mutator:
    """Ogg pages and MP3 frames: drop, repeat, exchange or spoil what begins at *mark*."""

    def mutate(content: bytes, dice: random.Random) -> bytes:
        at = [match.start() for match in re.finditer(re.escape(mark), content)]
        if len(at) < 3 or dice.random() < 0.2:
            return byte_level(content, dice)
        pieces = [content[a:b] for a, b in zip(at, [*at[1:], len(content)], strict=True)]
        one, two = dice.randrange(len(pieces)), dice.randrange(len(pieces))
        action = dice.randrange(4)
        if action == 0:
            pieces.pop(one)
        elif action == 1:
            pieces.insert(one, pieces[two])
        elif action == 2:
            pieces[one], pieces[two] = pieces[two], pieces[one]
        else:
            pieces[one] = byte_level(pieces[one][:48], dice) + pieces[one][48:]
        return content[: at[0]] + b"".join(pieces)

    return mutate


def head_heavy(content: bytes, dice: random.Random) -> bytes:
    """FLAC and pictures: all that a reader relies on is in the first few hundred bytes."""
    cut = min(len(content), dice.choice((60, 200, 900)))
    return byte_level(content[:cut], dice) + content[cut:] if dice.random() < 0.8 else byte_level(content, dice)


def text(content: bytes, dice: random.Random) -> bytes:
    """YAML, CSV and checksum lists: lines moved, repeated and damaged with what is hard to parse."""
    lines = content.splitlines(keepends=True) or [b""]
    at = dice.randrange(len(lines))
    action = dice.randrange(6)
    if action == 0:
        lines.pop(at)
    elif action == 1:
        lines.insert(at, dice.choice(lines) * dice.choice((1, 50)))
    elif action == 2:
        place = dice.randrange(len(lines[at]) + 1)
        lines[at] = lines[at][:place] + dice.choice(ODD_TEXT) + lines[at][place:]
    elif action == 3:
        lines[at] = b" " * dice.randrange(9) + lines[at].lstrip()
    elif action == 4:
        dice.shuffle(lines)
    else:
        return byte_level(content, dice)
    return b"".join(lines)
