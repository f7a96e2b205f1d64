"""Rounding. A rounded figure never appears to meet a limit that it misses."""

from __future__ import annotations

import math

from delivery.model.bounds import Bound, rounded
from delivery.model.figure import Figure, Reading
from delivery.report.view.elements import Amount
from delivery.report.view.words import plain


def amount(figure: Figure, reading: Reading | None, bounds: tuple[Bound, ...] = ()) -> Amount:
    """The reading as printed; 'not measured' if there is none."""
    value = reading.value if reading else None
    if value is None:
        return Amount("not measured", exists=False)
    if isinstance(value, bool):
        return Amount("yes" if value else "no")
    if isinstance(value, int | float) and figure.digits is not None and math.isfinite(value):
        text = rounded(float(value), figure.digits, bounds)
        return Amount(signed(text) if figure.unit.startswith(("dB", "LUFS")) else text, figure.unit)
    return Amount(plain(value), figure.unit)


def signed(text: str) -> str:
    """Levels carry their sign: '+0.32', '+0.00', '-1.03'."""
    return text if text.startswith("-") else f"+{text}"
