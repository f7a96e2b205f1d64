"""Edit the gapless data of files: how much of the decoded audio is padding. Bytes in, bytes out. Pure.

Every lossy encoder adds some audio at the start, which players skip by a number in the file. A song that continues its
neighbour is encoded with the neighbours' adjacent parts before and after it, and the numbers grow accordingly.
"""

from __future__ import annotations

from delivery.errors import Unusable

AAC_PACKET_FRAMES = 1024
MP4_COMMENT = "----:com.apple.iTunes:iTunSMPB"
LAME_FIELD_MAX = 4095
"""Delay and padding have 12 bits each."""
_TAG_BYTES, _DELAYS_AT, _CRC_AT = 36, 21, 34
"""Length of the LAME tag, and positions of delay and padding and of the checksum (its public description, rev. 1)."""
_XING_BYTES = 120
"""Xing header with frames, bytes, seek table and quality; the LAME tag follows."""
_PRE_SKIP_AT = 10
_OGG_HEAD_BYTES, _OGG_CRC_AT, _OGG_SEGMENTS_AT = 27, 22, 26


def mp3_skipping(info_frame: bytes, before: int, after: int) -> bytes:
    """The Info (or Xing) frame of an MP3, with *before* more frames skipped at the start and *after* at the end.

    Raises
    ------
    Unusable : no LAME tag, or values too large for it
    """
    xing = max(info_frame.find(b"Info"), info_frame.find(b"Xing"))
    tag = xing + _XING_BYTES
    if xing < 0 or len(info_frame) < tag + _TAG_BYTES:
        raise Unusable("MP3", "no tag with delay and padding", "one", "Please report it.")
    at = tag + _DELAYS_AT
    both = int.from_bytes(info_frame[at : at + 3], "big")
    delay, padding = (both >> 12) + before, (both & LAME_FIELD_MAX) + after
    if max(delay, padding) > LAME_FIELD_MAX:
        raise Unusable("MP3", f"delay {delay}, padding {padding}", f"at most {LAME_FIELD_MAX}", "Please report it.")
    changed = info_frame[:at] + (delay << 12 | padding).to_bytes(3, "big") + info_frame[at + 3 :]
    crc = tag + _CRC_AT
    return changed[:crc] + crc16(changed[:crc]).to_bytes(2, "big") + changed[crc + 2 :]


def opus_skipping(first_page: bytes, before: int) -> bytes:
    """The first page of an Ogg Opus file (RFC 7845, 5.1), with *before* more frames to skip."""
    body = _OGG_HEAD_BYTES + first_page[_OGG_SEGMENTS_AT]
    at = body + _PRE_SKIP_AT
    skip = int.from_bytes(first_page[at : at + 2], "little") + before
    changed = first_page[:at] + skip.to_bytes(2, "little") + first_page[at + 2 :]
    blank = changed[:_OGG_CRC_AT] + bytes(4) + changed[_OGG_CRC_AT + 4 :]
    return changed[:_OGG_CRC_AT] + ogg_crc(blank).to_bytes(4, "little") + changed[_OGG_CRC_AT + 4 :]


def mp4_comment(priming: int, frames: int, packets: int) -> str:
    """Twelve hexadecimal numbers that many decoders read beside an edit list, or instead of one: a widespread
    convention.

    The second, third and fourth are used: frames to skip at the start, at the end, and those left.

    Parameters
    ----------
    packets : of 1024 frames each, that the file holds
    """
    behind = packets * AAC_PACKET_FRAMES - priming - frames
    return f" 00000000 {priming:08X} {behind:08X} {frames:016X}" + 8 * " 00000000"


def ogg_page_bytes(start: bytes) -> int:
    """Length of the page that *start* begins with (RFC 3533, 6)."""
    segments = start[_OGG_SEGMENTS_AT]
    return _OGG_HEAD_BYTES + segments + sum(start[_OGG_HEAD_BYTES : _OGG_HEAD_BYTES + segments])


def crc16(data: bytes) -> int:
    """CRC-16/ARC: x^16 + x^15 + x^2 + 1, reflected, from 0."""
    value = 0
    for byte in data:
        value ^= byte
        for _ in range(8):
            value = value >> 1 ^ (0xA001 if value & 1 else 0)
    return value


def ogg_crc(data: bytes) -> int:
    """CRC-32 of Ogg pages: polynomial 0x04C11DB7, not reflected, from 0 (RFC 3533, 6)."""
    value = 0
    for byte in data:
        value ^= byte << 24
        for _ in range(8):
            value = (value << 1 ^ (0x04C11DB7 if value >> 31 else 0)) & 0xFFFFFFFF
    return value
