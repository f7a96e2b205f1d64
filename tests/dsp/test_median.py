"""The median without NumPy's masked arrays."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.dsp.median import median, medians


@pytest.mark.parametrize("count", [1, 2, 3, 10, 101, 1000])
def test_it_is_the_same_number_as_numpys(count: int) -> None:
    """To the last bit, for any count; NumPy's own `median` is the judge."""
    values = np.random.default_rng(count).normal(size=(7, count))
    assert median(values[0]) == np.median(values[0])
    assert np.array_equal(medians(values), np.median(values, axis=1))


def test_what_is_not_a_number_shows() -> None:
    assert np.isnan(median([1.0, np.nan, 3.0]))
    assert np.isnan(median([]))
    assert np.array_equal(medians([[1.0, np.nan], [1.0, 2.0]]), [np.nan, 1.5], equal_nan=True)
