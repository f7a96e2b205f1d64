"""Does the sound run on across a cut? Asked of the samples on both sides, and of what would be there if it did not.

A linear predictor is fitted to both sides (covariance method, least squares; Makhoul, "Linear Prediction: A Tutorial
Review", Proc. IEEE 63, 1975), leaving out the guesses that reach across the cut. Those guesses are then made. Where
the sound runs on they miss by as little as all others. That alone proves nothing when the sound is noise, so the same
is asked of false joins, with samples taken out or put in: proven is only what those would have betrayed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

EDGE_FRAMES = 512
"""Samples looked at on each side."""
ORDER = 24
RUNS_ON_DB = 15.0
"""Of some dozen guesses the worst misses by three times the usual, by five in peaky music."""
STEP_DB = 20.0
MISSING = (1, 2, 3, 5, 9, 17, 33)
QUIET = 10 ** (-60 / 20)
SMALLEST = 2.0**-31


@dataclass(frozen=True, slots=True)
class Evidence:
    """What the two sides say; in dB above the usual miss of a guess."""

    step_db: float
    """Of the worst guess across the cut."""
    false_db: float
    """The same for the best of the false joins: what a fault would at least have shown."""

    @property
    def runs_on(self) -> bool:
        return self.step_db <= RUNS_ON_DB

    @property
    def proven(self) -> bool:
        return self.runs_on and self.false_db > STEP_DB

    @property
    def steps(self) -> bool:
        return self.step_db > STEP_DB


def is_quiet(last: Array, first: Array) -> bool:
    """Silence on one side of the cut at least: nothing to prove, and no need to fit a predictor."""
    return bool(np.abs(last[-EDGE_FRAMES:]).max() < QUIET or np.abs(first[:EDGE_FRAMES]).max() < QUIET)


def evidence(last: Array, first: Array) -> Evidence:
    """Look at a cut.

    Parameters
    ----------
    last, first : (frames, channels), the end of the earlier sound and the beginning of the later one, of one rate;
        at least ``EDGE_FRAMES`` long
    """
    before, after = last[-EDGE_FRAMES:], first[:EDGE_FRAMES]
    predictors = [_Predictor.of(before[:, c], after[:, c]) for c in range(before.shape[1])]
    real = max(predictor.miss(after[:, c]) for c, predictor in enumerate(predictors))
    false = min(
        max(predictor.miss(wrong[:, c]) for c, predictor in enumerate(predictors)) for wrong in _wrong(before, after)
    )
    return Evidence(_db(real), _db(false))


def _wrong(before: Array, after: Array) -> list[Array]:
    """Beginnings as they would be with samples lost, doubled, or silence put in."""
    zero, again = np.zeros_like(after[:1]), before[-1:]
    return [*(after[gone:] for gone in MISSING), np.concatenate([zero, after]), np.concatenate([again, after])]


@dataclass(frozen=True, slots=True)
class _Predictor:
    coefficients: Array
    usual: float
    """Root mean square miss away from the cut."""
    history: Array
    """The last ``ORDER`` samples before the cut."""

    @classmethod
    def of(cls, before: Array, after: Array) -> _Predictor:
        rows = np.concatenate([_histories(before), _histories(after)])
        wanted = np.concatenate([before[ORDER:], after[ORDER:]])
        coefficients = np.linalg.lstsq(rows, wanted, rcond=1e-12)[0]
        misses = wanted - rows @ coefficients
        usual = float(np.sqrt(np.mean(misses**2)))
        return cls(coefficients, max(usual, SMALLEST), before[-ORDER:])

    def miss(self, after: Array) -> float:
        """The worst guess of a sample whose history reaches across the cut, against the usual one."""
        across = np.concatenate([self.history, after[:ORDER]])
        misses = across[ORDER:] - _histories(across) @ self.coefficients
        return float(np.abs(misses).max()) / self.usual


def _histories(samples: Array) -> Array:
    """(n - ORDER, ORDER): the samples before each one that has so many."""
    return np.lib.stride_tricks.sliding_window_view(samples[:-1], ORDER)


def _db(ratio: float) -> float:
    return 20 * float(np.log10(max(ratio, 1e-6)))
