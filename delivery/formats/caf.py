"""CAF, Core Audio Format (Apple's specification 1.0): lossless, with 64-bit sizes, so any length fits."""

from __future__ import annotations

from delivery.formats.container import Container

CONTAINER = Container(
    id="caf",
    title="CAF",
    extension=".caf",
    codings=("pcm", "float"),
    bits=(8, 16, 24, 32),
    max_rate_hz=768_000,  # the header could say more; no converter does
    max_channels=2,  # which loudspeaker each channel is for is not written
    tag_formats=(),
    note="Label copy is not stored in it. Two channels at most, since their layout is not written.",
)
