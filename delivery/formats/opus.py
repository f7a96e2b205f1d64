"""Opus, RFC 6716, in Ogg, RFC 7845."""

from __future__ import annotations

from delivery.formats.container import Container

CONTAINER = Container(
    id="opus",
    title="Opus",
    extension=".opus",
    codings=("opus",),
    bits=(),
    max_rate_hz=48_000,
    max_channels=2,
    tag_formats=("vorbis",),
    note="Always plays at 48 kHz; sound at 44.1 kHz is converted first.",
)
