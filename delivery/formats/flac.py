"""FLAC, RFC 9639: lossless, half the size, with a checksum of the samples inside."""

from __future__ import annotations

from delivery.formats.container import Container

CONTAINER = Container(
    id="flac",
    title="FLAC",
    extension=".flac",
    codings=("pcm",),
    bits=(8, 16, 24),  # the format allows 32; libsndfile's writer stops at 24
    max_rate_hz=655_350,  # the largest value of its frame headers; STREAMINFO alone allows more
    max_channels=8,
    tag_formats=("vorbis",),
    sealed=True,
    compressed=True,
    note="Integers of 24 bits at most: a master in 32-bit float does not fit.",
)
