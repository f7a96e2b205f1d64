"""Reasons for a missing figure that rules read as "does not apply"; meters give them, rules compare them."""

from __future__ import annotations

OVER_16_BIT = "the samples are longer than 16 bits"
NO_QUIET_PASSAGE = "no passage quiet enough to tell"
ABOVE_48_KHZ = "cannot be told above 48 kHz"
