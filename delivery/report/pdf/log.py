"""Accepted remarks and the QC log."""

from __future__ import annotations

from collections.abc import Sequence

from delivery.report.pdf.flow import Flow
from delivery.report.pdf.look import SMALL
from delivery.report.pdf.table import Cell, Column, table
from delivery.report.view.finding_rows import AcceptedRow, LogRow
from delivery.report.view.model import View
from delivery.report.view.words import typographic


def accepted(flow: Flow, view: View, rows: Sequence[AcceptedRow], *, with_track: bool = True) -> None:
    """Each acceptance with its remark, name and reason."""
    columns = _columns(view.words.accepted_columns, (0.07, 0.20, 0.29, 0.16, 0.28), with_track)
    text = [(row.track, row.rule, typographic(row.found) + _for(view, row), row.by, row.why) for row in rows]
    table(flow, columns, [row[0 if with_track else 1 :] for row in text], pad=1.6)


def _for(view: View, row: AcceptedRow) -> str:
    """The specs that require it, unless all do."""
    everywhere = row.specs.count(", ") == len(view.routes) - 1
    return "" if everywhere or not row.specs else f" [{row.specs}]"


def log(flow: Flow, view: View, rows: Sequence[LogRow], *, with_track: bool = True) -> None:
    """Time, channel, what, decision, by whom."""
    columns = _columns(view.words.log_columns, (0.07, 0.12, 0.09, 0.31, 0.25, 0.16), with_track)
    text = [(row.track, Cell(row.time), row.channel, row.what, row.decision, row.by) for row in rows]
    table(flow, columns, [row[0 if with_track else 1 :] for row in text], pad=1.6)


def _columns(heads: Sequence[str], shares: Sequence[float], with_track: bool) -> list[Column]:
    """Without the track column, its width is given to the others."""
    skip = 0 if with_track else 1
    whole = sum(shares[skip:])
    return [Column(head, share / whole, style=SMALL) for head, share in zip(heads[skip:], shares[skip:], strict=True)]
