"""One file's figures in words, by subject, for people; programs use ``report.data.measured`` and its CSV."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from delivery.dsp.median import median
from delivery.model.answer import Weight
from delivery.model.bounds import rounded
from delivery.model.figure import Figure, Measurement, Reading, Subject
from delivery.report.view import words
from delivery.report.view.figure_names import figure_name
from delivery.report.view.numbers import amount, signed
from delivery.report.view.places import exact_clock, is_place, where

if TYPE_CHECKING:
    from delivery.model.programme_totals import ProgrammeTotals

LISTED = 10
"""Events that are listed one by one; the rest is counted."""
FEW = 8
"""Up to this many numbers are listed; more are drawn."""
RANKED, TIMES = "_ranked", "_at_s"
"""Suffix of places ordered by strength, where ``_at_s`` has the same by time."""
NOTHING = ("none",)
MOST_CELLS = 12
"""Most bands printed one by one; of more, levels are drawn and counts are thinned."""
SHORT_S = 60.0
"""EBU Tech 3342: loudness range is not meant for short programmes; 'not under 60 s' is the EBU's."""


@dataclass(frozen=True, slots=True)
class Row:
    """A figure and its value."""

    name: str
    """Id of the figure."""
    lines: tuple[str, ...] = ()
    curve: tuple[float, ...] = ()
    """To be drawn small above the lines; empty where there is nothing to draw."""
    cells: tuple[str, ...] = ()
    """Pairs such as band and level, set in as many columns as fit, above the lines."""

    @property
    def label(self) -> str:
        """What people call the figure."""
        return figure_name(self.name)


@dataclass(frozen=True, slots=True)
class Group:
    """The figures of one subject."""

    subject: Subject
    rows: tuple[Row, ...] = ()
    notes: tuple[str, ...] = ()
    """The method, and what could not be measured and why."""


def grouped(measurement: Measurement, figures: Mapping[str, Figure]) -> tuple[Group, ...]:
    """Every figure of one file, by subject, and within one in the order of *figures*."""
    by_subject: dict[Subject, list[Figure]] = {subject: [] for subject in Subject}
    for figure in (figures[name] for name in figures if name in measurement):
        by_subject[figure.subject].append(figure)
    for name in measurement:
        if name not in figures:
            by_subject[Subject.OTHER].append(Figure(name, "", None, "", ""))
    errors = {figure.error for figure in figures.values() if figure.error in measurement}
    beside = {figure.along for figure in figures.values()} | {name for name in errors if measurement[name].exists}
    return tuple(
        _group(subject, [figure for figure in here if figure.name not in beside], measurement)
        for subject, here in by_subject.items()
        if here
    )


def together(one: ProgrammeTotals, figures: Mapping[str, Figure]) -> tuple[str, tuple[Row, ...], tuple[str, ...]]:
    """Heading, rows and notes of several files as one programme."""
    missing = one.files - one.measured
    notes = ["gated over all of it at once, which is not the average of the files"]
    notes += [f"without {words.counted(missing, 'file')} that could not be used"] if missing else []
    if one.why_no_loudness:
        notes.append(f"not measured: {figure_name('integrated_lufs')} ({words.plain(one.why_no_loudness)})")
    rows = [Row("duration_s", (exact_clock(one.duration_s),))]
    for name, value, where_ in (
        ("integrated_lufs", one.integrated_lufs, ""),
        ("true_peak_dbtp", one.true_peak_dbtp, f", in {words.plain(one.true_peak_file)}"),
    ):
        if value is not None:
            rows.append(Row(name, (_single(figures[name], Reading(value), None) + where_,)))
    return f"All {words.counted(one.measured, 'file')} as one programme", tuple(rows), tuple(notes)


def _group(subject: Subject, figures: Sequence[Figure], measurement: Measurement) -> Group:
    if subject is Subject.MATERIAL:
        held = words.listed(figure.name for figure in figures)
        return Group(subject, notes=(f"long rows for pictures and comparisons, in the JSON document: {held}",))
    found = [figure for figure in figures if measurement[figure.name].exists]
    rows = _once(row_of(figure, measurement) for figure in found)
    notes = _counted(measurement) if subject is Subject.LOUDNESS else ()
    return Group(subject, rows, (*notes, *_weights(figures), *_missing(figures, measurement)))


def _once(rows: Iterable[Row]) -> tuple[Row, ...]:
    """A list of events already listed by another figure is not repeated."""
    listed = list(rows)
    ranked = {row.name for row in listed if row.name.endswith(RANKED) and row.lines != NOTHING}
    entries_by: dict[tuple[str, ...], str] = {}
    every = []
    for row in listed:
        by_rank = row.name.removesuffix(TIMES) + RANKED if row.name.endswith(TIMES) else ""
        before = entries_by.setdefault(row.lines, row.name) if len(row.lines) > 1 else row.name
        before = by_rank if by_rank in ranked else before
        every.append(row if before == row.name else Row(row.name, (f"the same as {figure_name(before)}",)))
    return tuple(every)


def _weights(figures: Sequence[Figure]) -> Iterator[str]:
    """Which figures are facts and which are signs, and how much a sign proves."""
    of = {weight: [figure.name for figure in figures if figure.weight is weight] for weight in Weight}
    yield from (f"{weight}: {_names(names)}" for weight, names in of.items() if names)
    if of[Weight.STRONG_SIGN] or of[Weight.WEAK_SIGN]:
        yield "a sign is no proof: filters, samplers and old converters leave them too"


def _missing(figures: Sequence[Figure], measurement: Measurement) -> Iterator[str]:
    reasons: dict[tuple[str, str], list[str]] = {}
    for figure in figures:
        reading = measurement[figure.name]
        if not reading.exists:
            kind = "not measured" if figure.weight in (None, Weight.FACT) else "cannot tell"
            why = words.plain(reading.why_missing) or "no reason given"
            reasons.setdefault((kind, why), []).append(figure.name)
    yield from (f"{kind}: {_names(names)} ({why})" for (kind, why), names in reasons.items())


def _names(figures: Iterable[str]) -> str:
    return words.listed(map(figure_name, figures))


def _counted(measurement: Measurement) -> tuple[str, ...]:
    """How channels are counted, and a caution for short files."""
    channels, duration_s = measurement.value("channels"), measurement.value("duration_s")
    weights = measurement.value("channel_weights")
    counted = "one channel, counted as it is; dual mono counts it as two equal loudspeakers" if channels == 1 else ""
    if channels is not None and channels > 2 and weights:
        counted = "channels are weighted by their loudspeakers, see Channel weights"
    brief = measurement.value("loudness_range_lu") is not None and duration_s is not None and duration_s < SHORT_S
    worth = f"under {SHORT_S:.0f} s the loudness range is of little use" if brief else ""
    return tuple(text for text in (counted, worth) if text)


def row_of(figure: Figure, measurement: Measurement) -> Row:
    """The figure as printed; it must exist."""
    reading, rate_hz = measurement[figure.name], measurement.value("rate_hz")
    value = reading.value
    if not isinstance(value, list | tuple):
        error = measurement.value(figure.error) if figure.error else None
        return Row(figure.name, (_single(figure, reading, rate_hz, error),))
    axis = measurement.value(figure.along) if figure.along else None
    if not value:
        return Row(figure.name, NOTHING)
    if isinstance(value[0], list | tuple):
        return Row(figure.name, _first(_place(figure, item, rate_hz) for item in value))
    if isinstance(axis, list | tuple) and len(axis) == len(value):
        errors = measurement.value(figure.error) if figure.error else None
        return _along(figure, value, axis, rate_hz, errors)
    if is_place(figure):
        return Row(figure.name, _first(where(at_s, rate_hz) for at_s in value))
    if len(value) > FEW and all(isinstance(item, int | float) for item in value):
        return Row(figure.name, (_summary(figure, value, axis),), tuple(float(item) for item in value))
    return Row(figure.name, (", ".join(_number(item, figure.unit) for item in value) + _unit(figure.unit),))


def _first(lines: Iterator[str]) -> tuple[str, ...]:
    every = tuple(lines)
    rest = len(every) - LISTED
    return every if rest <= 0 else (*every[:LISTED], f"and {rest} more")


def _single(figure: Figure, reading: Reading, rate_hz: int | None, error: float | None = None) -> str:
    if is_place(figure):
        return where(reading.value, rate_hz)
    if error is not None:
        return f"{_with_error(reading.value, error, figure)} {figure.unit}"
    sentence = amount(figure, reading)
    return f"{sentence.number} {sentence.unit}".strip()


def _with_error(value: float, error: float, figure: Figure) -> str:
    """To the digits that the standard error leaves, and the error itself."""
    digits = 1 if figure.digits is None else figure.digits
    true = min(digits, max(-math.floor(math.log10(error)), 0)) if error > 0 else digits
    return f"{signed(rounded(value, true))} ± {max(error, 10**-digits):.{true}f}"


def _place(figure: Figure, item: Sequence[Any], rate_hz: int | None) -> str:
    """One row of a row of rows, each value with its column's words."""
    names = figure.columns if len(figure.columns) == len(item) else ("",) * len(item)
    return " ".join(_cell(name, value, rate_hz) for name, value in zip(names, item, strict=True))


def _cell(name: str, value: Any, rate_hz: int | None) -> str:
    if name == "at_s" or name.endswith(TIMES):
        return where(value, rate_hz)
    if name == "channel" and value == 0:
        return "several channels"
    head, _, tail = name.rpartition("_")
    unit = UNITS.get(tail, "")
    text = _number(value, unit) + _unit(unit)
    label = head.replace("_", " ") if unit else name.replace("_", " ")
    return text if isinstance(value, str) else f"{label} {text}".strip()


UNITS: Mapping[str, str] = {
    "dbtp": "dBTP", "dbfs": "dBFS", "db": "dB", "lufs": "LUFS", "lu": "LU", "hz": "Hz", "s": "s", "ms": "ms",
    "percent": "%", "frames": "frames", "bits": "bit",
}  # fmt: skip


def _unit(unit: str) -> str:
    return f" {unit}" if unit else ""


def _number(value: Any, unit: str) -> str:
    """Numbers in rows, with a sensible number of digits, which their figure does not define."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return str(amount(Figure("", "", None, "", ""), Reading(value)).number)
    if isinstance(value, int):
        return str(value)
    if unit.startswith(("dB", "LU")):
        return signed(rounded(value, 2 if unit == "dBTP" else 1))
    if unit in ("", "s"):
        return rounded(value, 3 if unit else 2)
    return f"{value:.0f}" if abs(value) >= 1000 else f"{value:.4g}"


def _along(
    figure: Figure, value: Sequence[Any], axis: Sequence[Any], rate_hz: int | None, errors: Sequence[float] | None
) -> Row:
    """Each value with its position."""
    at = [_standing(each, figure.along) for each in axis]
    if is_place(figure):
        return Row(figure.name, tuple(f"{each}: {where(item, rate_hz)}" for each, item in zip(at, value, strict=True)))
    if all(isinstance(item, int) for item in value):
        return _counts(figure, value, at)
    sentence = [_number(item, figure.unit) + _unit(figure.unit) for item in value]
    if errors and len(errors) == len(value):
        pairs = zip(value, errors, strict=True)
        sentence = [_with_error(item, error, figure) + _unit(figure.unit) for item, error in pairs]
    if len(value) <= MOST_CELLS:
        return Row(figure.name, cells=tuple(f"{each}: {item}" for each, item in zip(at, sentence, strict=True)))
    highest = max(range(len(value)), key=lambda k: value[k])
    line = f"{len(value)} values, {at[0]} to {at[-1]}; highest at {at[highest]}: {sentence[highest]}"
    if errors:
        line += f"; standard errors {min(errors):.1f} to {max(errors):.1f}{_unit(figure.unit)}"
    return Row(figure.name, (line,), tuple(float(item) for item in value))


def _standing(at: Any, axis: str) -> str:
    unit = UNITS.get(axis.rpartition("_")[2], "")
    return _number(at, unit) + _unit(unit)


def _counts(figure: Figure, value: Sequence[int], at: Sequence[str]) -> Row:
    """Counts that are 0 are left out; of many, every n-th is printed, and the last."""
    some = [f"{each}: {item}" for each, item in zip(at, value, strict=True) if item]
    apart = -(-len(some) // MOST_CELLS)
    cells = tuple(some[::-1][:: max(apart, 1)][::-1])
    zeros = len(value) - len(some)
    lines = (f"0 at the other {zeros}" if some else f"0 at each of {zeros}",) if zeros else ()
    return Row(figure.name, lines, cells=cells)


def _summary(figure: Figure, value: Sequence[float], step: Any) -> str:
    lowest, middle, highest = (_number(float(pick(value)), figure.unit) for pick in (min, median, max))
    apart = f", {step:g} s apart" if isinstance(step, int | float) else ""
    return f"{len(value)} values{apart}: {lowest} to {highest}{_unit(figure.unit)}, half of them above {middle}"
