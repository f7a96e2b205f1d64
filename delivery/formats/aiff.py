"""AIFF: the big-endian counterpart of WAV."""

from __future__ import annotations

from delivery.audio.pcm import ROOM_FOR_TAGS_BYTES, SIZE_FIELD_MAX
from delivery.formats.container import Container

CONTAINER = Container(
    id="aiff",
    title="AIFF",
    extension=".aiff",
    codings=("pcm",),
    bits=(16, 24, 32),  # with 8 bits libsndfile writes one frame too many if their number is odd
    max_rate_hz=768_000,  # the header allows more; no converter does
    max_channels=1024,  # libsndfile's limit, far below the header's
    tag_formats=("id3",),
    chunked=True,
    most_sound_bytes=SIZE_FIELD_MAX - ROOM_FOR_TAGS_BYTES,
    note="4 GiB at most: its size fields have no 64-bit form.",
)
