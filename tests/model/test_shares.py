"""Shares add up to 100 within the rounding they are written with."""

from __future__ import annotations

import pytest

from delivery.model.shares import add_up


@pytest.mark.parametrize(
    "shares",
    [
        (100,),
        (50, 50),
        (33.33,) * 3,
        (33.3,) * 3,
        (33,) * 3,
        (16.67,) * 6,
        (14.3,) * 7,
        (62.5, 37.5),
        (33.3, 33.3, 33.4),
        (6.3,) * 16,
        (6.2,) * 16,
        (3.13,) * 32,
        (50, 49.9),
    ],
)
def test_rounded_shares_add_up(shares: tuple[float, ...]) -> None:
    """n shares of a whole, each rounded to half a unit of its last digit, miss it by at most n halves (arithmetic)."""
    assert add_up(shares)


@pytest.mark.parametrize("shares", [(), (50, 49), (60, 30), (33.33, 33.33), (34, 34, 34), (99.5,), (0.5, 0.5)])
def test_slips_do_not(shares: tuple[float, ...]) -> None:
    assert not add_up(shares)


@pytest.mark.parametrize(
    "shares",
    [(6.3,) * 15 + (6.4,), (6.2,) * 15 + (6.1,), (33.3, 33.3, 33.2), (50, 49.8), (33.33, 33.33, 33.23), (101,)],
)
def test_one_step_beyond_all_rounding_is_a_slip(shares: tuple[float, ...]) -> None:
    """n shares of one decimal miss 100 by at most n times 0.05 (arithmetic): 16 of 6.25 by 0.8, printed 6.3 or 6.2.

    A whole number counts as exact, and a tenth is always permitted.
    """
    assert not add_up(shares)
