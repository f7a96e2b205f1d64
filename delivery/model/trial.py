"""Trial: effect of a coding at a bit rate, or a rate conversion, on a master's peaks: tried and measured."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class CodecForm:
    """A coding with its bit rate or quality."""

    coding: str
    """'mp3', 'aac' or 'opus'."""
    bitrate_kbps: int | None = None
    vbr_quality: int | None = None
    """Instead of a bit rate, for MP3: 0 (best) to 9."""

    def __str__(self) -> str:
        """'mp3:320' or 'mp3:v0', as on the command line."""
        return f"{self.coding}:{self.bitrate_kbps if self.vbr_quality is None else f'v{self.vbr_quality}'}"


@dataclass(frozen=True, slots=True)
class Decoded:
    """Peaks of a copy encoded and decoded to float, so that nothing is clipped at full scale."""

    true_peak_dbtp: float
    overs_count: int
    """Separate places above 0 dBTP."""
    overs: tuple[tuple[float, int, float], ...]
    """The worst ten: time in s, channel from 1, dBTP; by time."""


@dataclass(frozen=True, slots=True)
class Trial:
    """One encoder tried on a file: peaks of the decoded copy."""

    form: CodecForm
    decoded: Decoded | None = None
    """None if it could not be tried."""
    change_db: float = 0.0
    """True peak of the copy minus that of the master."""
    rate_hz: int = 0
    """Sample rate at which it was encoded."""
    trim_db: float | None = 0.0
    """Gain of the master at which the copy does not exceed 0 dBTP, also tried; None if none was found."""
    trimmed_dbtp: float | None = None
    """The copy's true peak with that trim; None if no trim was needed or found."""
    lowered_db: float = 0.0
    """Reduction before encoding, in dB, compensated after decoding."""
    not_tested: str = ""
    """Why it could not be tried; never a pass."""


@dataclass(frozen=True, slots=True)
class ConvertedPeaks:
    """The highest peaks of a master after rate conversion and before gain, found in a trial conversion."""

    sample_peak_dbfs: float
    true_peak_dbtp: float
    at_s: float
    """Time of the highest sample, from the file's start."""
