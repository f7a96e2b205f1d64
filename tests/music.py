"""Real music for tests, where a Debian package of free music is installed (for one, singularity-music)."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

PIECES = sorted(Path("/usr/share/games").glob("*/music/*.ogg"))
FULLY_MIXED_S = 40.0
"""Pieces begin softly; by then everything plays."""


needs_music = pytest.mark.skipif(len(PIECES) < 3, reason="no free music installed (Debian: singularity-music)")


def loud_master(piece: Path, seconds: float = 10.0, peak_dbfs: float = -1.0) -> tuple[NDArray[np.float64], int]:
    """From the midst of *piece*, driven 9 dB into a clipper as loud masters are: (frames, 2), and the rate in Hz."""
    with soundfile.SoundFile(piece) as file:
        rate_hz = int(file.samplerate)
        file.seek(min(round(FULLY_MIXED_S * rate_hz), max(0, file.frames - round(seconds * rate_hz))))
        x = file.read(round(seconds * rate_hz), always_2d=True)
    driven = x[:, [0, -1]] / np.abs(x).max() * 10 ** (9 / 20)
    return 10 ** (peak_dbfs / 20) * np.clip(driven, -1, 1), rate_hz
