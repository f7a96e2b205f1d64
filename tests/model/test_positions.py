"""Positions of a master in the delivered file, at another sample rate."""

from __future__ import annotations

from fractions import Fraction

import pytest

from delivery.model.carried import Positions
from delivery.model.subcode import IndexPoint


@pytest.mark.parametrize(
    ("from_hz", "to_hz", "shift", "sample", "at", "length"),
    [
        (96_000, 44_100, 0, 96_000, 44_100, 44_100),
        (96_000, 48_000, 0, 1, 1, 1),
        (88_200, 44_100, 0, 3, 2, 2),
        (44_100, 44_100, 588, 10, 598, 10),
        (44_100, 44_100, -588, 10, 0, 10),
        (44_100, 96_000, 0, 0, 0, 0),
    ],
)
def test_a_position_of_the_master_in_the_delivered_file(
    from_hz: int, to_hz: int, shift: int, sample: int, at: int, length: int
) -> None:
    """By hand: 1 s is 1 s; half a sample is rounded up; nothing lies before the beginning."""
    positions = Positions(from_hz, to_hz, shift)
    assert (positions.at(sample), positions.length(sample)) == (at, length)
    assert positions.unchanged is (from_hz == to_hz and shift == 0)


@pytest.mark.parametrize(
    ("point", "samples"),
    [
        (IndexPoint("1.5", at_s=Fraction(3, 2)), 66_150),
        (IndexPoint("0", at_s=Fraction(0)), 0),
        (IndexPoint("0", at_s=Fraction(0), sample=96_000), 0),
        (IndexPoint("96000 samples", sample=96_000), 44_100),
        (IndexPoint("3 samples", sample=3), 1),
        (IndexPoint("0 samples", sample=0), 0),
    ],
)
def test_an_index_point_in_whole_samples_of_the_delivered_song(point: IndexPoint, samples: int) -> None:
    """From 96 to 44.1 kHz; sample 3 is 1.378 samples later, and whole ones before the position are counted."""
    assert point.samples(96_000, 44_100) == samples
