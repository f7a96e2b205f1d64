"""M4A: MP4 with sound alone. AAC (ISO/IEC 14496-3), or ALAC where a spec names it."""

from __future__ import annotations

from delivery.formats.container import Container

CONTAINER = Container(
    id="m4a",
    title="M4A",
    extension=".m4a",
    codings=("aac", "alac"),
    bits=(),
    max_rate_hz=96_000,
    max_channels=2,
    dialects=("mp4",),
    note="AAC takes twelve sample rates from 8 to 96 kHz. ALAC keeps words of 16 or 24 bits exactly.",
)
