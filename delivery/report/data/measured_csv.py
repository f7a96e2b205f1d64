"""Figures of files for spreadsheets: UTF-8 with a mark, one row for each figure of each file, nothing that calculates.

One row for each figure, and not one for each file: so every figure has its unit, its samples and the reason where it
is missing beside it, a new figure adds rows and moves no column, and a pivot table makes the other form of it.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from delivery.model.figure import Figure, Measurement, Subject
from delivery.model.part import Source
from delivery.model.programme_totals import ProgrammeTotals
from delivery.model.second_opinion import SecondOpinion
from delivery.model.trial import Trial
from delivery.report.data.document import plain
from delivery.report.data.parts_csv import cell
from delivery.report.view.places import samples_of
from delivery.report.view.words import counted

COLUMNS = ("file", "subject", "figure", "value", "unit", "at_sample", "why_missing")
MOST_LETTERS = 32_000
"""Spreadsheet programs cut a cell's text off at 32,767."""
FINEST = 9
"""Decimals: finer than any figure here, and never an exponent."""
ALL = "(all files as one)"

Cells = tuple[str, str, str, str, str, str, str]


def render(
    sources: Sequence[Source],
    figures: Mapping[str, Figure],
    one: ProgrammeTotals | None = None,
    trials: Mapping[int, Sequence[Trial]] | None = None,
    opinions: Mapping[int, SecondOpinion] | None = None,
) -> bytes:
    """Files in the order given, figures in the order of *figures*; the parameters are those of ``data_measured``.

    A row of numbers is a JSON array in one cell. Long rows for pictures are left to the JSON document.
    """
    into = io.StringIO(newline="")
    writer = csv.writer(into, lineterminator="\n")
    writer.writerow(COLUMNS)
    for source in sources:
        file, at = source.place, source.track.position
        rows = [*_measured(file, source, figures), *_opinion(file, (opinions or {}).get(at))]
        rows += [row for trial in (trials or {}).get(at, ()) for row in _trial(file, trial)]
        writer.writerows(map(cell, row) for row in rows)
    if one:
        writer.writerows(map(cell, row) for row in _together(one))
    return into.getvalue().encode("utf-8-sig", errors="replace")


def _measured(file: str, source: Source, figures: Mapping[str, Figure]) -> Iterator[Cells]:
    if source.measurement is None:
        yield file, "", "", "", "", "", source.problem
        return
    found = source.measurement
    for name in [*(name for name in figures if name in found), *(name for name in found if name not in figures)]:
        figure = figures.get(name) or Figure(name, "", None, "", "")
        if figure.subject is not Subject.MATERIAL:
            value, why = _value(found, name)
            at = samples_of(figure, found)
            yield file, figure.subject.value, name, value, figure.unit, "" if at is None else text(at), why


def _value(found: Measurement, name: str) -> tuple[str, str]:
    reading = found[name]
    if not reading.exists:
        return "", reading.why_missing
    sentence = text(reading.value)
    if len(sentence) <= MOST_LETTERS:
        return sentence, ""
    return "", f"{counted(len(reading.value), 'value')}, too long for a cell; the JSON document has them"


def text(value: Any) -> str:
    """Numbers with a point and no exponent; yes and no; arrays as JSON; nothing for None."""
    value = plain(value)
    if value is None or isinstance(value, str):
        return value or ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return json.dumps(_rounded(value), ensure_ascii=False)
    return _number(value) if isinstance(value, float) else str(value)


def _rounded(value: Any) -> Any:
    if isinstance(value, list):
        return [_rounded(item) for item in value]
    return round(value, FINEST) if isinstance(value, float) else value


def _number(value: float) -> str:
    digits = f"{value:.{FINEST}f}".rstrip("0").rstrip(".")
    return "0" if digits == "-0" else digits


def _opinion(file: str, opinion: SecondOpinion | None) -> Iterator[Cells]:
    if opinion:
        subject = f"second opinion, {opinion.program}"
        yield file, subject, "integrated_lufs", text(opinion.integrated_lufs), "LUFS", "", opinion.why_missing
        yield file, subject, "difference_lu", text(opinion.difference_lu), "LU", "", opinion.why_missing


def _trial(file: str, trial: Trial) -> Iterator[Cells]:
    subject = f"after {trial.form}"
    found = trial.decoded
    figures: tuple[tuple[str, Any, str], ...] = (
        ("true_peak_dbtp", found and found.true_peak_dbtp, "dBTP"),
        ("change_db", trial.change_db if found else None, "dB"),
        ("overs_count", found and found.overs_count, ""),
        ("trim_db", trial.trim_db if found else None, "dB"),
    )
    for name, value, unit in figures:
        yield file, subject, name, text(value), unit, "", trial.not_tested


def _together(one: ProgrammeTotals) -> Iterator[Cells]:
    """Gated over all files as one programme: not an average."""
    yield ALL, Subject.FILE.value, "duration_s", text(one.duration_s), "s", "", ""
    loudness = text(one.integrated_lufs)
    yield ALL, Subject.LOUDNESS.value, "integrated_lufs", loudness, "LUFS", "", one.why_no_loudness
    peak = text(one.true_peak_dbtp)
    yield ALL, Subject.PEAKS.value, "true_peak_dbtp", peak, "dBTP", "", "" if peak else "not known of every file"
