"""Gaps: exact zeros, or next to nothing."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tests.benchmarks.planted.places import Places
from tests.benchmarks.planted.trial import Array, Material

FADE_S = 0.0005


def _gaps(sound: Array, at: Sequence[int], material: Material, strength: str, floor: float) -> tuple[Array, list[int]]:
    """In one channel or in all; half of them with edges of half a millisecond."""
    rng = material.rng("gap", strength)
    length = round(float(strength.split()[0]) / 1000 * material.rate_hz)
    for frame in at:
        side = int(rng.integers(0, sound.shape[1] + 1))
        channels = slice(side, side + 1) if side < sound.shape[1] else slice(None)
        fade = round(FADE_S * material.rate_hz) if rng.random() < 0.5 else 0
        inside = slice(frame - fade, frame + length + fade)
        ramp = np.minimum(np.arange(length + 2 * fade), np.arange(length + 2 * fade)[::-1])
        gain = np.clip(1 - ramp / max(fade, 1), 0, 1) if fade else np.zeros(length)
        hiss = floor * rng.standard_normal(sound[inside, channels].shape)
        sound[inside, channels] = sound[inside, channels] * gain[:, None] + hiss
    return sound, list(at)


class ZeroRuns(Places):
    """Exact zeros inside loud sound."""

    id = "runs of zeros"
    planted = "exact zeros, {}"
    strengths = ("50 ms", "20 ms", "10 ms", "5 ms", "2 ms", "1 ms")
    called = "zero_run_places"
    also = ("dropout_places", "jump_places", "click_places")

    def put(self, sound: Array, at: Sequence[int], material: Material, strength: str) -> tuple[Array, list[int]]:
        return _gaps(sound, at, material, strength, floor=0.0)


class Dropouts(Places):
    """Gaps with a hiss at -75 dBFS in them: a transfer that lost contact."""

    id = "dropouts"
    planted = "gap with a hiss, {}"
    strengths = ("200 ms", "50 ms", "20 ms", "10 ms", "5 ms")
    called = "dropout_places"
    also = ("zero_run_places", "jump_places", "click_places")

    def put(self, sound: Array, at: Sequence[int], material: Material, strength: str) -> tuple[Array, list[int]]:
        return _gaps(sound, at, material, strength, floor=10 ** (-75 / 20))
