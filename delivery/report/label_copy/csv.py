"""Label copy for spreadsheets: UTF-8 with a byte order mark, release fields above, a row per track, no formulas."""

from __future__ import annotations

import csv
import io

from delivery.model.label_copy import inert
from delivery.report.view.label_copy import LabelCopy, label_copy
from delivery.report.view.model import View
from delivery.report.view.report import Report


def render(view: View) -> bytes:
    """Label copy as CSV, in UTF-8 with a byte-order mark."""
    return as_csv(label_copy(view))


def as_csv(copy: LabelCopy) -> bytes:
    """The byte-order mark is for spreadsheet programs, which otherwise read UTF-8 as something else."""
    into = io.StringIO(newline="")
    writer = csv.writer(into, lineterminator="\n")
    writer.writerows([inert(text) for text in pair] for pair in copy.release)
    writer.writerow([])
    writer.writerow(copy.columns)
    writer.writerows([inert(text) for text in row] for row in copy.rows)
    return into.getvalue().encode("utf-8-sig")


REPORT = Report(
    "label_copy_csv",
    "label-copy.csv",
    "for spreadsheets, UTF-8; reads back as the same release",
    render,
    on_request=True,
)
