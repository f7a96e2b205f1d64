"""Mains hum, under music that has quiet parts."""

from __future__ import annotations

from typing import ClassVar

import numpy as np

from tests.benchmarks.planted.places import figures_of, rounded
from tests.benchmarks.planted.trial import Array, Material, Score

QUIET_S = 4.0
FIGURES = ("hum_places", "hum_places_at_s", "hum_hz")


def hum(rng: np.random.Generator, frames: int, rate_hz: int, mains_hz: float) -> Array:
    """Fundamental and harmonics whose sum has an rms of 1; the mains wander by some hundredths of 1 Hz."""
    t = np.arange(frames) / rate_hz
    exact = mains_hz + rng.uniform(-0.05, 0.05)
    levels = {
        1: 1.0,
        2: rng.uniform(0.1, 0.8),
        3: rng.uniform(0.1, 0.8),
        4: rng.uniform(0, 0.3),
        6: rng.uniform(0, 0.3),
    }
    if rng.random() < 0.25:
        levels = {1: 1.0}
    made = sum(level * np.sin(2 * np.pi * n * exact * t + rng.uniform(0, 6)) for n, level in levels.items())
    return np.asarray(made) / np.std(made)


class Hum:
    """Hum under the whole piece, before which there are four seconds with hardly anything but a hiss at -75 dBFS."""

    id: ClassVar[str] = "hum"
    planted: ClassVar[str] = "hum under the piece, {}, and under four quiet seconds before it"
    strengths: ClassVar[tuple[str, ...]] = ("-40 dBFS", "-50 dBFS", "-60 dBFS", "-70 dBFS")
    per_minute: ClassVar[bool] = False

    def plant(self, material: Material, strength: str) -> Score | None:
        rng = material.rng("hum", strength)
        mains_hz = float(rng.choice([50.0, 60.0]))
        sound = self._with_quiet(material)
        level = 10 ** (float(strength.split()[0]) / 20)
        side = int(rng.integers(0, 3))
        gains = np.ones(sound.shape[1]) if side == 2 else np.eye(sound.shape[1])[min(side, sound.shape[1] - 1)]
        sound += level * hum(rng, len(sound), material.rate_hz, mains_hz)[:, None] * gains
        found = figures_of(rounded(sound), material.rate_hz, FIGURES)
        heard = bool(found["hum_places"])
        return Score(1, int(heard), int(heard and abs(float(found["hum_hz"]) - mains_hz) < 1))

    def alarms(self, material: Material) -> int | str | None:
        bare = figures_of(material.sound, material.rate_hz, FIGURES)
        quiet = figures_of(self._with_quiet(material), material.rate_hz, FIGURES)
        return int(bool(bare["hum_places"]) or bool(quiet["hum_places"]))

    def _with_quiet(self, material: Material) -> Array:
        shape = (round(QUIET_S * material.rate_hz), material.sound.shape[1])
        hiss = 10 ** (-75 / 20) * material.rng("hiss").standard_normal(shape)
        return np.concatenate([hiss, material.sound])
