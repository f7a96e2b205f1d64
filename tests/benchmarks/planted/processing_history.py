"""What a file was before: at a lower rate, in shorter words. A file is suspected or it is not."""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import replace
from typing import Any, ClassVar

import numpy as np

from delivery.meters import measure_blocks
from tests.benchmarks.converters import CONVERTERS, converted
from tests.benchmarks.free_music import KINDS as MUSIC_KINDS
from tests.benchmarks.free_music import RATES_HZ, RENDERED
from tests.benchmarks.planted.material import KINDS
from tests.benchmarks.planted.trial import Array, Material, Score
from tests.meters.memory import cut, facts

LONGEST_S = 15.0
HIGH_RATE_HZ = 96_000
RAISED_HZ = (48_000, 96_000, 192_000)
CANNOT_TELL = "cannot tell"


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

    def named(self, value: Any, material: Material) -> bool:
        """Whether the figure says what was done."""
        del material
        return self.suspected(value)

    def plant(self, material: Material, strength: str) -> Score | None:
        material = _middle(material)
        made = self.made(material, strength)
        if made is None:
            return None
        value = self._reported(*made)
        found = value is not None and self.suspected(value)
        return Score(1, int(found), int(found and self.named(value, material)))

    def alarms(self, material: Material) -> int | str | None:
        material = _middle(material)
        value = self._reported(dithered(material.sound, 24, material.rng("24")), material.rate_hz, 24)
        return CANNOT_TELL if value is None else int(self.suspected(value))

    def _reported(self, sound: Array, rate_hz: int, bits: int) -> Any:
        found = measure_blocks(facts(sound, rate_hz, "pcm", bits), cut(sound, 65_536), only=[self.figure])
        return found.value(self.figure)


def _middle(material: Material) -> Material:
    most = round(LONGEST_S * material.rate_hz)
    start = max(0, (len(material.sound) - most) // 2)
    return replace(material, sound=material.sound[start : start + most])


class Upsampled(HistoryTrial):
    """Raised in rate, stored in 24 bits. Clean are sounds made at 96 kHz, and music that was rendered at 48 kHz."""

    id: ClassVar[str] = "upsampled"
    planted: ClassVar[str] = "raised {}"
    figure: ClassVar[str] = "upsampled_from_hz"
    strengths: ClassVar[tuple[str, ...]] = tuple(
        f"to {rate_hz / 1000:g} kHz by {by}" for rate_hz in RAISED_HZ for by in CONVERTERS
    )

    def made(self, material: Material, strength: str) -> tuple[Array, int, int] | None:
        to, by = strength.removeprefix("to ").split(" kHz by ")
        to_hz = round(1000 * float(to))
        if material.rate_hz >= to_hz or material.rate_hz not in RATES_HZ:
            return None
        raised = converted(0.8 * material.sound, material.rate_hz, to_hz, by)
        return dithered(raised, 24, material.rng(strength)), to_hz, 24

    def suspected(self, value: Any) -> bool:
        return bool(value)

    def named(self, value: Any, material: Material) -> bool:
        return bool(value == material.rate_hz)

    def alarms(self, material: Material) -> int | str | None:
        if material.kind in KINDS:
            player, peak_dbfs = KINDS[material.kind]
            sound = player(material.rng("high rate"), HIGH_RATE_HZ, 12 * HIGH_RATE_HZ)
            sound *= 10 ** (peak_dbfs / 20) / np.abs(sound).max()
            return super().alarms(replace(material, sound=sound, rate_hz=HIGH_RATE_HZ))
        made_here = material.kind == MUSIC_KINDS[RENDERED] and material.rate_hz == RATES_HZ[1]
        return super().alarms(material) if made_here else None


class ScaledSamples(HistoryTrial):
    """Dithered to 16 bits, another level, stored in 24 bits, by rounding or with dither."""

    id: ClassVar[str] = "scaled"
    planted: ClassVar[str] = "dithered to 16 bits, {}, stored in 24"
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

    id: ClassVar[str] = "padded"
    planted: ClassVar[str] = "{}"
    figure: ClassVar[str] = "effective_bits"
    strengths: ClassVar[tuple[str, ...]] = ("16 bits in 24", "20 bits in 24")

    def made(self, material: Material, strength: str) -> tuple[Array, int, int] | None:
        return dithered(material.sound, int(strength.split()[0]), material.rng(strength)), material.rate_hz, 24

    def suspected(self, value: Any) -> bool:
        return bool(value <= 20)


class UnditheredSamples(HistoryTrial):
    """A fade of a third of the piece, down to nothing, stored in 16 bits; clean: the same fade with dither."""

    id: ClassVar[str] = "undithered (weak)"
    planted: ClassVar[str] = "a fade stored in 16 bits without dither, {}"
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
        return CANNOT_TELL if value is None else int(self.suspected(value))


def _faded(material: Material) -> Array:
    third = len(material.sound) // 3
    sound = material.sound.copy()
    sound[-third:] *= (np.linspace(1, 0, third) ** 3)[:, None]
    return sound
