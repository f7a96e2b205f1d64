"""Dither against a program that is not ours, which has some of the same published curves."""

from __future__ import annotations

import subprocess
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from delivery.dsp.writing.dither import Requantiser
from tests.judges import needs

FRAMES = 2_100_000
LEVEL = 100.3 / 32_768
"""Constant, between two steps of 16 bits."""


def spectrum(x: NDArray[np.float64], points: int = 256) -> NDArray[np.float64]:
    """Averaged power spectrum, Hann, half overlapped."""
    cuts = np.lib.stride_tricks.sliding_window_view(x, 2 * points)[::points]
    return np.mean(np.abs(np.fft.rfft(cuts * np.hanning(2 * points + 1)[:-1])) ** 2, axis=0)


@needs("sox")
@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        ("tpdf", []),
        ("improved-e-5", ["-f", "lipshitz"]),
        ("improved-e-9", ["-f", "improved-e-weighted"]),
        ("modified-e-9", ["-f", "modified-e-weighted"]),
        ("f-weighted-9", ["-f", "f-weighted"]),
    ],
)
def test_noise_has_the_same_spectrum_as_sox_makes(tmp_path: Path, ours: str, theirs: list[str]) -> None:
    """Error of 16-bit samples, both at 44.1 kHz. 8000 averages each tell 0.07 dB rms; 257 lines, five of these."""
    soundfile.write(tmp_path / "in.wav", np.full(FRAMES, LEVEL), 44_100, "PCM_32")
    command = ["sox", "-R", tmp_path / "in.wav", "-b", "16", tmp_path / "out.wav", "dither", *theirs]
    subprocess.run(command, check=True, capture_output=True)
    judge = soundfile.read(tmp_path / "out.wav", dtype="int16")[0] - LEVEL * 32_768
    block = np.full((FRAMES, 1), LEVEL)
    integers = Requantiser(16, ours, 44_100, 1, "judge").update(block)[:, 0] >> 16
    ratio_db = 10 * np.log10(spectrum(integers - LEVEL * 32_768) / spectrum(judge))[2:]
    assert np.abs(ratio_db).max() < 0.35
