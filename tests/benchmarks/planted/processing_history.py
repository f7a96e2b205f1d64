"""What a file was before: coded with loss, at a lower rate, in shorter words. A file is suspected or it is not."""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import Any, ClassVar

import numpy as np

from delivery.meters import measure_blocks
from tests.benchmarks.planted.material import KINDS
from tests.benchmarks.planted.trial import Array, Material, Score
from tests.coders import coded
from tests.meters.memory import cut, facts

LONGEST_S = 30.0
HIGH_RATE_HZ = 96_000
LOW_RATES_HZ = (44_100, 48_000)
SHORTEST_S = 10.0
"""Of shorter files the meter says that it cannot tell."""


def dithered(sound: Array, bits: int, rng: np.random.Generator) -> Array:
    """Triangular dither, rounded, clipped; full scale 1.0."""
    steps = 2 ** (bits - 1)
    noise = rng.random(sound.shape) - rng.random(sound.shape)
    return np.asarray(np.rint(sound * steps + noise).clip(-steps, steps - 1) / steps)


def limited(sound: Array, rate_hz: int, drive_db: float = 6.0) -> Array:
    """Louder, and brought back to -1 dBFS: a gain that falls with the peaks of 1.5 ms and rises within 60 ms."""
    driven = sound * 10 ** (drive_db / 20)
    stride = max(rate_hz // 700, 1)
    peaks = np.maximum.reduceat(np.abs(driven).max(axis=1), np.arange(0, len(driven), stride))
    needed = np.minimum(1.0, 0.89 / np.maximum(peaks, 1e-9))
    needed = np.minimum(needed, np.minimum(np.roll(needed, 1), np.roll(needed, -1)))
    gain, gains, rise = 1.0, np.empty(len(needed)), 1 - np.exp(-stride / rate_hz / 0.06)
    for place, most in enumerate(needed):
        gain = min(most, gain + (1 - gain) * rise)
        gains[place] = gain
    smooth = np.interp(np.arange(len(driven)), np.arange(len(gains)) * stride + stride / 2, gains)
    return np.asarray((driven * smooth[:, None]).clip(-0.95, 0.95))


class HistoryTrial(ABC):
    """A subclass states how it changes clean sound, and which figure shows it."""

    per_minute: ClassVar[bool] = False
    figure: ClassVar[str]

    @abstractmethod
    def made(self, material: Material, strength: str) -> tuple[Array, int, int] | None:
        """Sound, its rate and word length; None where this material cannot have had such a life."""

    @abstractmethod
    def suspected(self, value: Any) -> bool: ...

    def named(self, value: Any, _strength: str) -> bool:
        return self.suspected(value)

    def plant(self, material: Material, strength: str) -> Score | None:
        made = self.made(_middle(material), strength)
        if made is None:
            return None
        value = self._reported(*made)
        found = value is not None and self.suspected(value)
        return Score(1, int(found), int(found and self.named(value, strength)))

    def alarms(self, material: Material) -> int | str | None:
        value = self._reported(_middle(material).sound, material.rate_hz, 24)
        return "cannot tell" if value is None else int(self.suspected(value))

    def _reported(self, sound: Array, rate_hz: int, bits: int) -> Any:
        found = measure_blocks(facts(sound, rate_hz, "pcm", bits), cut(sound, 65_536), only=[self.figure])
        return found.value(self.figure)


def _middle(material: Material) -> Material:
    most = round(LONGEST_S * material.rate_hz)
    start = max(0, (len(material.sound) - most) // 2)
    sound = material.sound[start : start + most]
    return Material(material.kind, material.name, material.rate_hz, sound, material.seed)


class LossyFrames(HistoryTrial):
    """Encoded by LAME and by FFmpeg's AAC, decoded, turned down by 1 dB; 'mastered': then limited and 16 bits."""

    id: ClassVar[str] = "lossy coder's frames"
    figure: ClassVar[str] = "lossy_coder"
    strengths: ClassVar[tuple[str, ...]] = (
        *(f"MP3 {rate}" for rate in (96, 128, 160, 192, 256, 320)),
        *(f"AAC {rate}" for rate in (96, 128, 192, 256)),
        *(f"{coder} {rate}, mastered" for coder in ("MP3", "AAC") for rate in (128, 192)),
    )

    def made(self, material: Material, strength: str) -> tuple[Array, int, int] | None:
        if material.rate_hz > LOW_RATES_HZ[-1]:
            return None
        coder, rate = strength.split(",")[0].split()
        rng = material.rng("lossy", strength)
        sound = coded(material.sound, material.rate_hz, coder, int(rate))[int(rng.integers(0, 3000)) :]
        if "mastered" in strength:
            return dithered(limited(sound, material.rate_hz), 16, rng), material.rate_hz, 16
        return dithered(0.89 * sound, 24, rng), material.rate_hz, 24

    def suspected(self, value: Any) -> bool:
        return bool(value != "none")

    def named(self, value: Any, strength: str) -> bool:
        return strength.split()[0] in value


class EarlyEdge(LossyFrames):
    """The same sounds, recognised by the upper band edge alone."""

    id: ClassVar[str] = "early band edge (weak)"
    figure: ClassVar[str] = "early_edge_hz"
    strengths: ClassVar[tuple[str, ...]] = ("MP3 128", "MP3 192", "MP3 320", "AAC 128", "AAC 192", "AAC 256")

    def suspected(self, value: Any) -> bool:
        return bool(value)

    def named(self, value: Any, _strength: str) -> bool:
        return bool(value)


class Upsampled(HistoryTrial):
    """Raised by soxr, stored in 24 bits. The clean ones are recorded at a high rate, or made at 96 kHz."""

    id: ClassVar[str] = "upsampled"
    figure: ClassVar[str] = "upsampled_from_hz"
    strengths: ClassVar[tuple[str, ...]] = tuple(
        f"to {rate // 1000} kHz, {quality}" for rate in (88_200, 96_000, 192_000) for quality in ("VHQ", "HQ", "MQ")
    )

    def made(self, material: Material, strength: str) -> tuple[Array, int, int] | None:
        import soxr

        if material.rate_hz not in LOW_RATES_HZ or len(material.sound) < SHORTEST_S * material.rate_hz:
            return None
        to_hz = next(rate for rate in (88_200, 96_000, 192_000) if f"to {rate // 1000} " in strength)
        raised = soxr.resample(0.8 * material.sound, material.rate_hz, to_hz, strength.split()[-1])
        return dithered(raised, 24, material.rng(strength)), to_hz, 24

    def suspected(self, value: Any) -> bool:
        return bool(value)

    def named(self, value: Any, _strength: str) -> bool:
        return value in LOW_RATES_HZ

    def alarms(self, material: Material) -> int | str | None:
        if material.rate_hz > LOW_RATES_HZ[-1]:
            return super().alarms(material)
        if material.kind not in KINDS:
            return None  # the bandwidth of samplers' sounds is unknown
        player, peak_dbfs = KINDS[material.kind]
        sound = player(material.rng("high rate"), HIGH_RATE_HZ, 12 * HIGH_RATE_HZ)
        sound *= 10 ** (peak_dbfs / 20) / np.abs(sound).max()
        value = self._reported(dithered(sound, 24, material.rng("stored")), HIGH_RATE_HZ, 24)
        return "cannot tell" if value is None else int(self.suspected(value))


class ScaledSamples(HistoryTrial):
    """Dithered to 16 bits, another level, stored in 24 bits, by rounding or with dither."""

    id: ClassVar[str] = "scaled words"
    figure: ClassVar[str] = "common_step"
    strengths: ClassVar[tuple[str, ...]] = ("-0.3 dB", "-6.1 dB", "-20 dB", "-3.2 dB, dithered again")

    def made(self, material: Material, strength: str) -> tuple[Array, int, int] | None:
        rng = material.rng(strength)
        values = dithered(material.sound, 16, rng) * 10 ** (float(strength.split()[0]) / 20)
        again = "again" in strength
        return (dithered(values, 24, rng) if again else np.rint(values * 2**23) / 2**23), material.rate_hz, 24

    def suspected(self, value: Any) -> bool:
        return bool(value > 1 and not float(np.log2(value)).is_integer())


class PaddedSamples(HistoryTrial):
    """16 or 20 bits in a file of 24."""

    id: ClassVar[str] = "padded words"
    figure: ClassVar[str] = "effective_bits"
    strengths: ClassVar[tuple[str, ...]] = ("16 bits in 24", "20 bits in 24")

    def made(self, material: Material, strength: str) -> tuple[Array, int, int] | None:
        return dithered(material.sound, int(strength.split()[0]), material.rng(strength)), material.rate_hz, 24

    def suspected(self, value: Any) -> bool:
        return bool(value <= 20)

    def named(self, value: Any, strength: str) -> bool:
        return bool(value == int(strength.split()[0]))

    def alarms(self, material: Material) -> int | str | None:
        value = self._reported(dithered(material.sound, 24, material.rng("24")), material.rate_hz, 24)
        return "cannot tell" if value is None else int(self.suspected(value))


class UnditheredSamples(HistoryTrial):
    """A fade of a third of the piece, down to nothing, stored in 16 bits; clean: the same fade with dither."""

    id: ClassVar[str] = "undithered 16 bits (weak)"
    figure: ClassVar[str] = "undithered_percent"
    strengths: ClassVar[tuple[str, ...]] = ("rounded", "cut off")

    def made(self, material: Material, strength: str) -> tuple[Array, int, int] | None:
        steps = _faded(material) * 2**15
        return (np.rint(steps) if strength == "rounded" else np.floor(steps)) / 2**15, material.rate_hz, 16

    def suspected(self, value: Any) -> bool:
        return bool(value >= 10)

    def alarms(self, material: Material) -> int | str | None:
        sound = dithered(_faded(_middle(material)), 16, material.rng("16"))
        value = self._reported(sound, material.rate_hz, 16)
        return "cannot tell" if value is None else int(self.suspected(value))


def _faded(material: Material) -> Array:
    third = len(material.sound) // 3
    sound = material.sound.copy()
    sound[-third:] *= (np.linspace(1, 0, third) ** 3)[:, None]
    return sound
