"""Positions in a file: minutes, seconds and milliseconds, and the same in samples."""

from __future__ import annotations

from typing import Any

from delivery.model.figure import Figure, Measurement
from delivery.report.view.words import clock

AT = "at_s"


def is_place(figure: Figure) -> bool:
    """True if the figure is a time in the file, or a row of such times."""
    return figure.name.endswith(f"_{AT}")


def where(at_s: float, rate_hz: int | None) -> str:
    """'1:02.345, sample 2749414'; the sample is counted from 0."""
    return exact_clock(at_s) + (f", sample {sample_at(at_s, rate_hz)}" if rate_hz else "")


def exact_clock(seconds: float) -> str:
    """'1:02.345', '1:00:00.000': to the millisecond; times before the start have a sign."""
    return ("-" if round(seconds * 1000) < 0 else "") + clock(abs(seconds), 3)


def sample_at(at_s: float, rate_hz: int) -> int:
    """Number of the sample at *at_s* seconds, from 0."""
    return round(at_s * rate_hz)


def samples_of(figure: Figure, measurement: Measurement) -> int | list[int] | None:
    """The samples, counted from 0, at which a figure's times are; None if it has no times."""
    value, rate_hz = measurement.value(figure.name), measurement.value("rate_hz")
    if value is None or not rate_hz:
        return None
    if is_place(figure):
        return [sample_at(at_s, rate_hz) for at_s in value] if _is_row(value) else sample_at(value, rate_hz)
    if AT in figure.columns and _is_row(value):
        column = figure.columns.index(AT)
        return [sample_at(row[column], rate_hz) for row in value]
    return None


def _is_row(value: Any) -> bool:
    return isinstance(value, list | tuple)
