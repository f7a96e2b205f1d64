"""The loudspeaker of each channel, as stated by containers and codings; empty if not stated.

WAVE channel mask: Microsoft, "Multiple Channel Audio Data and WAVE Files" (2007). FLAC order: RFC 9639, 9.1.3.
Vorbis order: Vorbis I, 4.3.9. CAF ``chan``: Apple Core Audio Format Specification 1.0, with the
tags of CoreAudioBaseTypes.h.
"""

from __future__ import annotations

import re
import struct
from collections.abc import Iterable
from typing import BinaryIO

from delivery.model.speakers import usual

Speakers = tuple[str, ...]

MASK = (
    *("L", "R", "C", "LFE", "back left", "back right", "Lc", "Rc", "Cs", "side left", "side right"),
    *("T", "Ltf", "Ctf", "Rtf", "Ltb", "Ctb", "Rtb"),
)
"""Bits of a WAVE channel mask, from the lowest."""
SURROUNDS = {"back left": "Ls", "back right": "Rs", "side left": "Ls", "side right": "Rs"}
"""A single pair of either name is the surround pair at 110 degrees, as in 5.1."""
SIDE_AND_BACK = {"back left": "Lb", "back right": "Rb", "side left": "Lss", "side right": "Rss"}
"""With both pairs, as in 7.1, one is at 90 and the other at 135 degrees."""


def resolved(names: Iterable[str]) -> Speakers:
    """Names of MASK -> those of ``model.speakers``: the meaning of a side or back loudspeaker depends on the others."""
    names = tuple(names)
    both = any(name.startswith("side") for name in names) and any(name.startswith("back") for name in names)
    table = SIDE_AND_BACK if both else SURROUNDS
    return tuple(table.get(name, name) for name in names)


def of_mask(mask: int, channels: int) -> Speakers:
    """Positions that a mask assigns to *channels* channels; surplus bits are ignored, as its document requires.

    Nothing where a bit is not one of the mask's or a channel has none.
    """
    names = [MASK[bit] if bit < len(MASK) else "" for bit in range(32) if mask >> bit & 1][:channels]
    return resolved(names) if len(names) == channels and all(names) else usual(channels)


def mask_for(speakers: Speakers) -> int:
    """A mask for these positions; 0, which states nothing, if there is none: a mask has one order only.

    A surround pair that could be either is the back pair, as in FLAC.
    """
    back, side = {"Ls": "back left", "Rs": "back right"}, {"Ls": "side left", "Rs": "side right"}
    both = dict(zip(SIDE_AND_BACK.values(), SIDE_AND_BACK, strict=True))
    for bits in (back, side, both):
        names = [bits.get(name, name) for name in speakers]
        mask = sum(1 << MASK.index(name) for name in set(names) if name in MASK)
        if mask and of_mask(mask, len(speakers)) == speakers:
            return mask
    return 0


FLAC = {3: 0x7, 4: 0x33, 5: 0x37, 6: 0x3F, 7: 0x70F, 8: 0x63F}
"""Number of channels -> the mask whose order FLAC uses."""
VORBIS = {
    3: ("L", "C", "R"),
    4: ("L", "R", "Ls", "Rs"),
    5: ("L", "C", "R", "Ls", "Rs"),
    6: ("L", "C", "R", "Ls", "Rs", "LFE"),
    7: ("L", "C", "R", "Ls", "Rs", "Cs", "LFE"),
    8: ("L", "C", "R", "Lss", "Rss", "Lb", "Rb", "LFE"),
}


def of_vorbis(channels: int) -> Speakers:
    """The fixed order of Vorbis, in which its samples are read."""
    return VORBIS.get(channels, usual(channels))


FLAC_MASK = re.compile(rb"WAVEFORMATEXTENSIBLE_CHANNEL_MASK=(0[xX])?([0-9A-Fa-f]{1,8})")
MOST_COMMENT_BYTES = 2**20


def of_flac(file: BinaryIO, at: int, channels: int) -> Speakers:
    """The order of FLAC, unless a comment states a mask; *at* is the first byte after ``fLaC``."""
    mask = FLAC.get(channels, 0)
    if channels > 2:
        for kind, body in _flac_blocks(file, at):
            found = FLAC_MASK.search(body) if kind == 4 else None
            if found:
                mask = int(found[2], 16)
    return of_mask(mask, channels)


def _flac_blocks(file: BinaryIO, at: int) -> Iterable[tuple[int, bytes]]:
    """(type, content) of the metadata blocks, content cut at MOST_COMMENT_BYTES."""
    last = False
    while not last:
        file.seek(at)
        head = file.read(4)
        if len(head) < 4:
            return
        size = int.from_bytes(head[1:], "big")
        yield head[0] & 0x7F, file.read(min(size, MOST_COMMENT_BYTES)) if head[0] & 0x7F == 4 else b""
        last, at = bool(head[0] & 0x80), at + 4 + size


FFMPEG = {
    **dict(zip(("FL", "FR", "FC", "LFE", "BL", "BR", "FLC", "FRC", "BC", "SL", "SR"), MASK, strict=False)),
    **dict(zip(("TC", "TFL", "TFC", "TFR", "TBL", "TBC", "TBR"), MASK[11:], strict=True)),
    "WL": "Lw",
    "WR": "Rw",
    "LFE2": "LFE2",
    "TSL": "Ltm",
    "TSR": "Rtm",
}
"""FFmpeg's names of channels."""


def of_ffmpeg(names: Iterable[str]) -> Speakers:
    """Positions by FFmpeg; empty if it does not know one of the channels."""
    names = tuple(names)
    known = [FFMPEG[name] for name in names if name in FFMPEG]
    return ("M",) if names == ("FC",) else resolved(known) if len(known) == len(names) else usual(len(names))


LABELS = dict(enumerate((*MASK[:4], "Ls", "Rs", "Lc", "Rc", "Cs", "Lss", "Rss", *MASK[11:]), 1))
LABELS |= dict(enumerate(("Lb", "Rb", "Lw", "Rw", "LFE2"), 33))
LABELS |= {42: "M", 49: "Ltm", 51: "Rtm", 52: "Ltb", 53: "Ctb", 54: "Rtb"}
"""Channel labels of a CAF channel description."""
_TAGS = {
    100: "M",
    101: "L R",
    102: "L R",
    108: "L R Ls Rs",
    109: "L R Ls Rs C",
    110: "L R Ls Rs C Cs",
    113: "L R C",
    114: "C L R",
    115: "L R C Cs",
    116: "C L R Cs",
    117: "L R C Ls Rs",
    118: "L R Ls Rs C",
    119: "L C R Ls Rs",
    120: "C L R Ls Rs",
    121: "L R C LFE Ls Rs",
    122: "L R Ls Rs C LFE",
    123: "L C R Ls Rs LFE",
    124: "C L R Ls Rs LFE",
    125: "L R C LFE Ls Rs Cs",
    126: "L R C LFE Ls Rs Lc Rc",
    127: "C Lc Rc L R Ls Rs LFE",
    128: "L R C LFE Lss Rss Lb Rb",
    129: "L R Ls Rs C LFE Lc Rc",
    131: "L R Cs",
    132: "L R Ls Rs",
    133: "L R LFE",
    134: "L R LFE Cs",
    135: "L R LFE Ls Rs",
    136: "L R C LFE",
    137: "L R C LFE Cs",
    138: "L R Ls Rs LFE",
    139: "L R Ls Rs C Cs",
    140: "L R Lss Rss C Lb Rb",
    141: "C L R Ls Rs Cs",
    142: "C L R Ls Rs Cs LFE",
    143: "C L R Lss Rss Lb Rb",
    144: "C L R Lss Rss Lb Rb Cs",
    183: "C L R Lss Rss Lb Rb LFE",
    192: "L R C LFE Lss Rss Lb Rb Ltf Rtf Ltb Rtb",
    194: "L R C LFE Ls Rs Ltm Rtm",
    195: "L R C LFE Ls Rs Ltf Rtf Ltb Rtb",
    196: "L R C LFE Lss Rss Lb Rb Ltm Rtm",
}
"""Layout tags (upper 16 bits) to positions; 192 and above from memory."""
_DESCRIPTION = struct.Struct(">I16x")
_BY_DESCRIPTIONS, _BY_BITMAP = 0, 1 << 16


def of_chan(body: bytes, channels: int) -> Speakers:
    """The body of a CAF ``chan`` chunk, or of the same chunk in AIFF."""
    if len(body) < 12:
        return usual(channels)
    tag, bitmap, count = struct.unpack_from(">III", body)
    if tag == _BY_BITMAP:
        return of_mask(bitmap, channels)
    if tag == _BY_DESCRIPTIONS:
        rows = range(12, len(body) - _DESCRIPTION.size + 1, _DESCRIPTION.size)
        names = [LABELS.get(_DESCRIPTION.unpack_from(body, at)[0], "") for at in rows][:count]
    else:
        names = _TAGS.get(tag >> 16, "").split()
    return _side_and_back(names) if len(names) == channels and all(names) else usual(channels)


def _side_and_back(names: Iterable[str]) -> Speakers:
    """Labels name the pair that is "surround" beside a direct pair at the sides: then it is the one at the back.

    The only pair behind the listener is the surround pair of 5.1 at 110 degrees (ITU-R BS.775), also where its labels
    say "rear surround".
    """
    names = tuple(names)
    if "Lss" in names:
        return tuple({"Ls": "Lb", "Rs": "Rb"}.get(name, name) for name in names)
    return names if "Ls" in names else tuple({"Lb": "Ls", "Rb": "Rs"}.get(name, name) for name in names)
