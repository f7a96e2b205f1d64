"""Reasons for a missing figure that other code compares: "does not apply" of a meter, one cause of several findings."""

from __future__ import annotations

OVER_16_BIT = "the samples are longer than 16 bits"
NO_QUIET_PASSAGE = "no passage quiet enough to tell"
ABOVE_48_KHZ = "cannot be decided above 48 kHz"
NO_ARTWORK = "the release file names no artwork"
