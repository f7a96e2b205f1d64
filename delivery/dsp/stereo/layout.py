"""Rows and columns of the sums that the loops of this package keep."""

from __future__ import annotations

LEFT, RIGHT, SUM, DIFFERENCE = 0, 1, 2, 3
"""Columns of sums of squares: left, right, left + right, left - right."""
SUMS = 4

REAL, IMAGINARY = 2, 3
"""Rows of cross-spectra after LEFT and RIGHT: conj(left) * right."""

NUMERATOR_HISTORY = 4
LANES = 8
"""Low-passes that are computed at once."""
