"""Standard errors by leaving out stretches of time, and the stretches themselves."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.dsp.spectrum.jackknife import LEAST_STRETCHES, MOST, Stretches


@pytest.mark.parametrize("duration_s", [10.0, 95.9, 96.0, 400.0])
def test_a_known_duration_only_saves_the_doubling(duration_s: float) -> None:
    """Sums are in the same stretches, of the same length, whether these were doubled on the way or not."""
    grown, known = Stretches(1, 0.0), Stretches(1, duration_s)
    for at_s in np.arange(0.0, duration_s, 0.5).tolist():
        for stretches in (grown, known):
            stretches.add(at_s, np.ones(1))
    grown.ends(duration_s)
    assert grown.length_s == known.length_s
    assert duration_s < MOST * known.length_s
    np.testing.assert_array_equal(grown.parts(), known.parts())


def test_error_of_a_mean_is_the_usual_one() -> None:
    """Of a mean the jackknife is the standard deviation over the root of the number (Quenouille, Tukey)."""
    values = np.random.default_rng(2).standard_normal(20)
    stretches = Stretches(2, 30.0)
    for number, value in enumerate(values):
        stretches.add(1.5 * number, np.array([value, 1.0]))
    found = stretches.standard_error(lambda sums: sums[..., :1] / sums[..., 1:])
    assert found == pytest.approx([values.std(ddof=1) / np.sqrt(20)])


def test_few_stretches_have_no_error() -> None:
    stretches = Stretches(1, 0.0)
    for number in range(LEAST_STRETCHES - 1):
        stretches.add(1.5 * number, np.ones(1))
    assert stretches.standard_error(lambda sums: sums) is None
