"""M4A: MP4 with audio only. AAC (ISO/IEC 14496-3), or lossless samples as ALAC."""

from __future__ import annotations

from delivery.formats.container import Container

CONTAINER = Container(
    id="m4a",
    title="M4A",
    extension=".m4a",
    codings=("aac", "pcm"),
    bits=(16, 24),  # of ALAC, used for lossless samples
    max_rate_hz=768_000,  # of ALAC; AAC ends at 96 kHz
    max_channels=2,  # of the encoders in use; the format allows more
    tag_formats=("mp4",),
    pcm_codec="alac",
    compressed=True,
    note="AAC takes twelve sample rates from 8 to 96 kHz. Lossless samples become ALAC, 16 or 24 bits.",
)
