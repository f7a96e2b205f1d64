"""WAV: RIFF with plain or extensible header; RF64 (EBU Tech 3306) if 32-bit sizes are not enough."""

from __future__ import annotations

from delivery.formats.container import Container

CONTAINER = Container(
    id="wav",
    title="WAV",
    extension=".wav",
    codings=("pcm", "float"),
    bits=(8, 16, 24, 32),
    max_rate_hz=768_000,  # the header allows more; no converter does
    max_channels=1024,  # libsndfile's limit, far below the header's
    tag_formats=("id3", "riff"),
    chunked=True,
    note="Past 4 GiB (124 minutes of 24/96 stereo) it becomes RF64, which not every reader supports.",
)
