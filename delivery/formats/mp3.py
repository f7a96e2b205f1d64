"""MP3, ISO/IEC 11172-3 and 13818-3, layer III."""

from __future__ import annotations

from delivery.formats.container import Container

CONTAINER = Container(
    id="mp3",
    title="MP3",
    extension=".mp3",
    codings=("mp3",),
    bits=(),
    max_rate_hz=48_000,
    max_channels=2,
    tag_formats=("id3",),
    note="Nine sample rates from 8 to 48 kHz and fixed steps of bit rate, 320 kbit/s at most.",
)
