"""Which stem is late, too loud or inverted, so that the stems do not add up to the main mix. Pure.

Each stem in turn is sought in what the main holds besides the others: where it alone is at fault, that is the stem at
its right place. The stem whose mending leaves least is taken, and the search continues with the others.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from delivery.model.stem_check import StemFault

Array = NDArray[np.float64]

WORTH = 0.7
"""Share of what is left, at most, that a fault must leave to be one. Common practice, no source."""
LEVEL_DB = 0.1
"""A level that is off by less is no fault."""


@dataclass(frozen=True, slots=True)
class Windows:
    """A few seconds of the main mix and all stems, with a margin on either side."""

    main: Array
    """(windows, frames + 2 * margin)."""
    stems: Array
    """(stems, windows, frames + 2 * margin)."""
    margin: int

    def left(self, placed: Array) -> Array:
        """(windows, frames) of the main less the stems as placed."""
        inner = slice(self.margin, self.main.shape[1] - self.margin)
        return np.asarray(self.main[:, inner] - placed.sum(axis=0))

    def stem(self, number: int, late: int, gain: float) -> Array:
        """(windows, frames) of one stem, read *late* frames later, divided by *gain*."""
        frames = self.main.shape[1] - 2 * self.margin
        return np.asarray(self.stems[number][:, self.margin + late : self.margin + late + frames] / gain)


def stem_faults(names: Sequence[str], windows: Windows) -> tuple[StemFault, ...]:
    """Faults that explain what is left, the heaviest first."""
    placed = np.stack([windows.stem(number, 0, 1.0) for number in range(len(names))])
    found: dict[int, tuple[int, float]] = {}
    open_ones = set(range(len(names)))
    while open_ones:
        left = windows.left(placed)
        before = float((left**2).sum())
        tried = {number: _sought(windows, number, left + placed[number]) for number in sorted(open_ones)}
        number = min(tried, key=lambda each: tried[each][2])
        late, gain, after = tried[number]
        if after > WORTH * before or (late == 0 and abs(20 * np.log10(abs(gain))) < LEVEL_DB and gain > 0):
            break
        found[number] = late, gain
        placed[number] = windows.stem(number, late, gain)
        open_ones.remove(number)
    for number in (*found, *found) if len(found) > 1 else ():  # each was judged beside others not yet mended
        late, gain, _ = _sought(windows, number, windows.left(placed) + placed[number])
        found[number], placed[number] = (late, gain), windows.stem(number, late, gain)
    return tuple(
        StemFault(names[number], late, 20 * float(np.log10(abs(gain))), gain < 0)
        for number, (late, gain) in found.items()
    )


def _sought(windows: Windows, number: int, target: Array) -> tuple[int, float, float]:
    """How late the stem is, its gain, and the energy left with it at its place in *target*."""
    stem, margin, frames = windows.stems[number], windows.margin, target.shape[1]
    size = 1 << (stem.shape[1] - 1).bit_length()
    spectra = np.fft.rfft(stem, size) * np.conj(np.fft.rfft(target, size))
    products = np.fft.irfft(spectra, size)[:, : 2 * margin + 1].sum(axis=0)
    squares = np.concatenate([np.zeros((len(stem), 1)), np.cumsum(stem**2, axis=1)], axis=1)
    energies = (squares[:, frames : frames + 2 * margin + 1] - squares[:, : 2 * margin + 1]).sum(axis=0)
    whole = float((target**2).sum())
    if not energies.any() or not whole:
        return 0, 1.0, whole
    taken = products**2 / np.maximum(energies, 1e-12)
    best = int(taken.argmax())
    return best - margin, float(energies[best] / (products[best] or 1e-12)), whole - float(taken[best])
