"""The numbers under the stereo meters, window by window."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.dsp.stereo.pairs import LowestCorrelation


@pytest.mark.parametrize("piece", [1, 3, 1000, 5000])
@pytest.mark.parametrize("place", [0, 995, 1010, 1023, 1024, 2970])
def test_lowest_correlation_is_found_wherever_it_is(piece: int, place: int) -> None:
    """Steps are looked at in batches; a window may lie across two of them. Judge: every window, one by one."""
    left, right = np.random.default_rng(place).standard_normal((2, 3000, 50))
    right[place : place + 30] -= 2 * left[place : place + 30]
    left[1500:1600] *= 1e-4  # too quiet to be asked, and the two would be perfectly opposed
    right[1500:1600] = -left[1500:1600]
    sums = np.stack([left**2, right**2, (left + right) ** 2, (left - right) ** 2]).sum(axis=-1).T
    lowest = LowestCorrelation(30, 50, 0.1)
    for at in range(0, 3000, piece):
        lowest.append(sums[at : at + piece])
    assert lowest.windows == 2971
    each = {}
    for at in range(2971):
        a, b = left[at : at + 30].ravel(), right[at : at + 30].ravel()
        if (a @ a + b @ b) / 3000 > 0.1:
            each[at] = (a @ b) / np.sqrt((a @ a) * (b @ b))
    expected = min(each, key=lambda at: each[at])
    assert lowest.result() == (pytest.approx(each[expected]), expected)
