"""Shares of a work in percent, and whether they add up. Pure."""

from __future__ import annotations

from collections.abc import Sequence

LEAST_SLACK = 0.1


def add_up(shares: Sequence[float]) -> bool:
    """True if *shares*, in percent, add up to 100 within the rounding of their digits.

    Three thirds are written 33.33, 33.3 or 33. Whole numbers count as rounded only where all are the same share;
    50 and 49 are a mistake. Common practice, no source.
    """
    missing = abs(sum(shares) - 100)
    if shares and set(shares) == {round(100 / len(shares))}:
        return True
    slack = sum(0.5 * 10.0 ** -_digits(share) for share in shares if _digits(share))
    return missing <= max(LEAST_SLACK, slack) + 1e-9


def _digits(share: float) -> int:
    """Number of decimals."""
    return len(f"{share:.6f}".rstrip("0").partition(".")[2])
