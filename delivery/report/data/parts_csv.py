"""The parts table for spreadsheets: UTF-8 with a mark, commas, one row for each file, and nothing that calculates."""

from __future__ import annotations

import csv
import io
import re

from delivery.model.label_copy import inert
from delivery.report.view.make import View
from delivery.report.view.part_rows import PartRow, PartTable
from delivery.report.view.parts import ABSENT
from delivery.report.view.report import Report

COLUMNS = (
    "spec",
    "purpose",
    "folder",
    "no",
    "file",
    "title",
    "isrc",
    "format",
    "length_min_s",
    "true_peak_dbtp",
    "loudness_lufs",
    "size_bytes",
    "sha256",
    "md5",
    "result",
)
_NUMBER = re.compile(r"[+-]?\d+(\.\d+)?")


def render(view: View) -> bytes:
    """Rows in the order of the specs, then of the tracks.

    The byte-order mark is for spreadsheet programs, which otherwise read UTF-8 as something else.
    """
    into = io.StringIO(newline="")
    writer = csv.writer(into, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows(_row(table, row) for table in view.parts for row in table.rows)
    return into.getvalue().encode("utf-8-sig")


def _row(table: PartTable, row: PartRow) -> list[str]:
    return [
        "" if text == ABSENT else cell(text)
        for text in (
            table.spec,
            row.purpose,
            table.folder,
            row.number,
            row.file,
            row.title,
            row.isrc,
            row.format,
            row.length.number,
            row.true_peak.number,
            row.loudness.number,
            row.size_bytes,
            row.sha256,
            row.md5,
            str(row.verdict),
        )
    ]


def cell(text: str) -> str:
    """Numbers stay numbers, with or without a sign; nothing else can start a formula."""
    return text if _NUMBER.fullmatch(text) else inert(text)


REPORT = Report("parts_csv", "parts.csv", "every file with its figures, for spreadsheets", render)
