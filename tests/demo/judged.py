"""What programs that are not ours say about a file."""

from __future__ import annotations

import json
import re
import subprocess
from pathlib import Path
from typing import Any


def text(*command: str | Path) -> str:
    """Both outputs of a program that must succeed."""
    done = subprocess.run([str(word) for word in command], capture_output=True, encoding="utf-8", check=True)
    return done.stdout + done.stderr


def stream(path: Path) -> dict[str, Any]:
    """ffprobe's facts of the first stream: sample_rate, bits_per_raw_sample, channels, duration ... as texts."""
    output = json.loads(text("ffprobe", "-v", "error", "-show_streams", "-of", "json", path))
    first: dict[str, Any] = output["streams"][0]
    return first


def loudness(path: Path, start_s: float = 0.0, end_s: float | None = None) -> dict[str, float]:
    """ffmpeg's EBU R 128 figures of a stretch: integrated_lufs, range_lu, sample_peak_dbfs, true_peak_dbtp."""
    stretch = f"atrim=start={start_s}" + (f":end={end_s}" if end_s is not None else "")
    output = text(
        "ffmpeg",
        "-hide_banner",
        "-nostats",
        "-i",
        path,
        "-af",
        f"{stretch},ebur128=peak=sample+true",
        "-f",
        "null",
        "-",
    )
    summary = output[output.rindex("Summary:") :]
    found = [float(figure) for figure in re.findall(r"(?:I|LRA|Peak):\s+(-?[\d.]+|-inf) (?:LUFS|LU|dBFS)", summary)]
    return dict(zip(("integrated_lufs", "range_lu", "sample_peak_dbfs", "true_peak_dbtp"), found, strict=True))


def level_above(path: Path, frequency_hz: int) -> float:
    """Level in dB of what sox's steep high-pass leaves above *frequency_hz*, re the whole (rms, both channels)."""

    def rms_dbfs(*effects: str) -> float:
        found = re.search(r"RMS lev dB\s+(-?[\d.]+)", text("sox", path, "-n", *effects, "stats"))
        assert found
        return float(found[1])

    return rms_dbfs("sinc", str(frequency_hz)) - rms_dbfs()
