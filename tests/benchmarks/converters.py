"""Rate converters of other projects, each with its best or its usual setting."""

from __future__ import annotations

import subprocess
import tempfile
from pathlib import Path

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

Array = NDArray[np.float64]
COMMANDS: dict[str, tuple[str, ...]] = {
    "sox": ("sox", "-V1", "{in}", "-e", "floating-point", "-b", "32", "{out}", "rate", "-v", "{hz}"),
    "FFmpeg": ("ffmpeg", "-v", "error", "-y", "-i", "{in}", "-ar", "{hz}", "-c:a", "pcm_f32le", "{out}"),
}
"""FFmpeg's own converter (swresample) as it is used by default."""
CONVERTERS = ("libsoxr", *COMMANDS)


def converted(sound: Array, rate_hz: int, to_hz: int, by: str) -> Array:
    """(frames, channels) at *to_hz*, by one of CONVERTERS."""
    if by == "libsoxr":
        return np.asarray(soxr.resample(sound, rate_hz, to_hz, "VHQ"))
    with tempfile.TemporaryDirectory() as folder:
        given, made = Path(folder) / "in.wav", Path(folder) / "out.wav"
        soundfile.write(given, sound, rate_hz, subtype="FLOAT")
        values = {"in": given, "out": made, "hz": to_hz}
        subprocess.run([part.format(**values) for part in COMMANDS[by]], check=True, capture_output=True)
        return np.asarray(soundfile.read(made, always_2d=True)[0])
