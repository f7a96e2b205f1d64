"""Sizes that the loops of this package and its other modules share."""

from __future__ import annotations

TAPS = 64
"""Frames that decide the sound at a place between two of them."""
BLOCK = 256
"""Frames that are filtered side by side."""
