"""Rounding. A rounded figure must never look as if it met a limit that it missed."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from delivery.model.figure import Figure, Reading
from delivery.model.spec import Spec
from delivery.report.view_nouns import Amount
from delivery.report.view_words import plain

AT_LEAST, AT_MOST, WINDOW = "at_least", "at_most", "window"

LIMITS: Mapping[str, tuple[str, str]] = {
    "integrated_lufs": ("integrated_lufs", WINDOW),
    "true_peak_dbtp": ("true_peak_max_dbtp", AT_MOST),
    "sample_peak_dbfs": ("sample_peak_max_dbfs", AT_MOST),
    "dc_offset_percent": ("dc_offset_max_percent", AT_MOST),
    "loudness_range_lu": ("loudness_range_max_lu", AT_MOST),
    "momentary_max_lufs": ("momentary_max_lufs", AT_MOST),
    "short_term_max_lufs": ("short_term_max_lufs", AT_MOST),
    "lead_in_s": ("lead_in_s", WINDOW),
    "tail_s": ("tail_s", WINDOW),
    "duration_s": ("duration_s", WINDOW),
    "inner_silence_longest_s": ("inner_silence_max_s", AT_MOST),
    "low_band_correlation_min": ("low_band_correlation_min", AT_LEAST),
}
"""Figure -> the spec key that bounds it, and from which side."""

FINEST_DIGITS = 9


@dataclass(frozen=True, slots=True)
class Bound:
    """An inclusive limit, from above or from below."""

    at: float
    from_above: bool

    def holds(self, value: float) -> bool:
        return value <= self.at if self.from_above else value >= self.at


def bounds_of(figure: str, specs: tuple[Spec, ...]) -> tuple[Bound, ...]:
    """Every limit that any of *specs* sets on *figure*."""
    asks, side = LIMITS.get(figure, ("", ""))
    limits = [spec.limit(asks) for spec in specs] if asks else []
    return tuple(bound for limit in limits for bound in _bounds(limit, side))


def _bounds(limit: Any, side: str) -> list[Bound]:
    if isinstance(limit, Mapping):
        found = [(limit.get(AT_MOST), True), (limit.get(AT_LEAST), False)] if side == WINDOW else []
    else:
        found = [(limit, side == AT_MOST)] if side in (AT_MOST, AT_LEAST) else []
    return [Bound(float(at), above) for at, above in found if isinstance(at, int | float)]


def rounded(value: float, digits: int, bounds: tuple[Bound, ...] = ()) -> str:
    """*value* to *digits* decimals, or to as many more as keep it on its own side of every bound."""
    for finer in range(digits, FINEST_DIGITS + 1):
        text = f"{value:.{finer}f}"
        if all(bound.holds(float(text)) == bound.holds(value) for bound in bounds):
            return _no_negative_zero(text)
    return repr(value)


def _no_negative_zero(text: str) -> str:
    return text.removeprefix("-") if not float(text) else text


def amount(figure: Figure, reading: Reading | None, bounds: tuple[Bound, ...] = ()) -> Amount:
    """The reading as it is printed; 'not measured' where there is none."""
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
