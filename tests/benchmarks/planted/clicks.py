"""Clicks of a few samples, and places where samples are lost."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tests.benchmarks.planted.places import Places
from tests.benchmarks.planted.trial import Array, Material

EXCITATION_ORDER = 12
NEAR_S = 0.012


def excitation(near: Array) -> float:
    """Rms of what linear prediction of order 12 leaves of (frames,): the least-squares answer, for planting only."""
    x = near - near.mean()
    rows = np.lib.stride_tricks.sliding_window_view(x, EXCITATION_ORDER + 1)
    before, now = rows[:, :-1], rows[:, -1]
    coefficients, *_ = np.linalg.lstsq(before, now, rcond=None)
    return float(np.sqrt(np.mean((now - before @ coefficients) ** 2)))


SOFTEST, LOUDEST = 10 ** (-40 / 20), 10 ** (-6 / 20)


class Clicks(Places):
    """1 to 5 samples raised in one channel or both, so many dB over the local excitation, or at a level.

    Over the excitation, but never softer than -40 dBFS (under loud music nobody hears that); where it would have to be
    louder than -6 dBFS none is planted.
    """

    id = "clicks"
    planted = "click, {}"
    strengths = (
        *(f"{db} dB over the excitation" for db in (40, 30, 26, 20)),
        *(f"-{db} dBFS" for db in (12, 20)),
    )
    called = "click_places"
    also = ("jump_places",)

    def put(self, sound: Array, at: Sequence[int], material: Material, strength: str) -> tuple[Array, list[int]]:
        rng = material.rng("shape", strength)
        half, number = round(NEAR_S * material.rate_hz), float(strength.split()[0])
        planted: list[int] = []
        for frame in at:
            width = int(rng.integers(1, 6))
            shape = rng.choice([-1.0, 1.0]) * (np.ones(1) if width == 1 else np.hanning(width + 2)[1:-1])
            side = int(rng.integers(0, sound.shape[1] + 1))
            channels = [side] if side < sound.shape[1] else list(range(sound.shape[1]))
            near = max(excitation(material.sound[frame - half : frame + half, c]) for c in channels)
            level = 10 ** (number / 20) * (1.0 if "dBFS" in strength else near)
            if level <= LOUDEST * 1.0001:
                sound[frame : frame + width, channels] += max(level, SOFTEST) * shape[:, None]
                planted.append(frame)
        return sound, planted


class LostSamples(Places):
    """Frames cut out in loud sound, all channels at once; the ends are pushed together as they are."""

    id = "jumps"
    planted = "{}"
    strengths = (
        "1 frame lost",
        "4 frames lost",
        "16 frames lost",
        "64 frames lost",
        "200 frames lost",
        "500 frames lost",
    )
    called = "jump_places"
    also = ("click_places",)

    def put(self, sound: Array, at: Sequence[int], material: Material, strength: str) -> tuple[Array, list[int]]:
        del material
        lost = int(strength.split()[0])
        kept = np.ones(len(sound), bool)
        for frame in at:
            kept[frame : frame + lost] = False
        return sound[kept], [frame - number * lost for number, frame in enumerate(at)]
