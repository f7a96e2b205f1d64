"""Numbers that the loop and its preparation share."""

from __future__ import annotations

HISTORY = 8
"""Values kept from the cell before; cells are whole multiples of it."""
ROWS = 7
"""Steps of the estimate: thinned, three sums, the low band, velocity, acceleration."""
VELOCITY, ACCELERATION = 0, 1
"""Columns of peaks."""
