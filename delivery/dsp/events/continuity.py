"""Is the waveform continuous across a cut? Tested on the samples of both sides, and against false joins.

A linear predictor is fitted to both sides (covariance method, least squares; Makhoul, "Linear Prediction: A Tutorial
Review", Proc. IEEE 63, 1975), leaving out predictions across the cut. Those predictions are then made. If the waveform
continues, their errors are as small as all others. That alone proves nothing for noise, so the same test is made on
false joins, with samples removed or inserted: a join counts as proven only if a false one would have shown.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.events.layout import EDGE_FRAMES as EDGE_FRAMES

Array = NDArray[np.float64]

ORDER = 24
RUNS_ON_DB = 15.0
"""Of some dozen predictions the largest error is three times the usual one, five in peaky music."""
STEP_DB = 20.0
MISSING = (1, 2, 3, 5, 9, 17, 33)
QUIET = 10 ** (-60 / 20)
SMALLEST = 2.0**-31


@dataclass(frozen=True, slots=True)
class Evidence:
    """Result of the comparison; in dB above the usual prediction error."""

    step_db: float
    """Largest error across the cut."""
    false_db: float
    """The same for the best false join: the least that a fault would have shown."""

    @property
    def runs_on(self) -> bool:
        """True if the second song continues the waveform of the first."""
        return self.step_db <= RUNS_ON_DB

    @property
    def proven(self) -> bool:
        """True if they continue at this cut and at no false one."""
        return self.runs_on and self.false_db > STEP_DB

    @property
    def steps(self) -> bool:
        """True if the waveform has a step at the cut."""
        return self.step_db > STEP_DB


def is_quiet(last: Array, first: Array) -> bool:
    """True for silence on at least one side of the cut: nothing to prove, and no predictor needed."""
    return bool(np.abs(last[-EDGE_FRAMES:]).max() < QUIET or np.abs(first[:EDGE_FRAMES]).max() < QUIET)


def evidence(last: Array, first: Array) -> Evidence:
    """Examine a cut.

    Parameters
    ----------
    last, first : (frames, channels), the end of the earlier and the start of the later audio, of one rate;
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
    """Starts with samples lost, doubled, or silence inserted."""
    zero, again = np.zeros_like(after[:1]), before[-1:]
    return [*(after[gone:] for gone in MISSING), np.concatenate([zero, after]), np.concatenate([again, after])]


@dataclass(frozen=True, slots=True)
class _Predictor:
    coefficients: Array
    usual: float
    """RMS prediction error away from the cut."""
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
        """Largest prediction error of a sample whose history crosses the cut, relative to the usual one."""
        across = np.concatenate([self.history, after[:ORDER]])
        misses = across[ORDER:] - _histories(across) @ self.coefficients
        return float(np.abs(misses).max()) / self.usual


def _histories(samples: Array) -> Array:
    """(n - ORDER, ORDER): the preceding samples of each sample that has enough of them."""
    return np.lib.stride_tricks.sliding_window_view(samples[:-1], ORDER)


def _db(ratio: float) -> float:
    return 20 * float(np.log10(max(ratio, 1e-6)))
