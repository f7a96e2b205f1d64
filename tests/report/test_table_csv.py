"""The parts table opens in a spreadsheet as it is, and nothing in it calculates."""

from __future__ import annotations

import csv
import io

import pytest

from delivery.model.part import Delivery
from delivery.report.data import parts_csv
from delivery.report.view.make import view_of
from tests import samples


def rows(delivery: Delivery) -> list[dict[str, str]]:
    text = parts_csv.render(view_of(delivery, samples.FIGURES)).decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_one_row_for_each_file_with_whole_checksums() -> None:
    delivery = samples.delivery(3)
    found = rows(delivery)
    assert len(found) == 9
    assert [row["sha256"] for row in found] == [part.shipped.sha256 for part in delivery.parts if part.shipped]
    assert float(found[0]["true_peak_dbtp"]) < 0


@pytest.mark.parametrize("title", ["=1+1", "+1-1", "-2+3", "@SUM(A1)", "\t=1", "=cmd|' /C calc'!A0"])
def test_a_cell_that_could_start_a_formula_is_text(title: str) -> None:
    """OWASP, CSV injection: cells that begin with = + - @ tab or return."""
    cell = rows(samples.of_titles((title,)))[0]["title"]
    assert cell.startswith("'")


@pytest.mark.parametrize("title", samples.HOSTILE, ids=ascii)
def test_no_cell_starts_a_formula(title: str) -> None:
    for row in rows(samples.of_titles((title,))):
        for cell in row.values():
            assert not cell.startswith(("=", "@", "\t", "\r"))


@pytest.mark.parametrize("number", ["-1.03", "+0.32", "12", "-0"])
def test_numbers_stay_numbers(number: str) -> None:
    assert parts_csv.cell(number) == number


def test_refused_files_have_empty_figures_and_a_result() -> None:
    refused = rows(samples.troubled(3))[1]
    assert (refused["sha256"], refused["true_peak_dbtp"]) == ("", "")
    assert refused["result"] == "not ready (1 not met)"


def test_line_ends_and_mark() -> None:
    data = parts_csv.render(view_of(samples.delivery(1), samples.FIGURES))
    assert data.startswith(b"\xef\xbb\xbf")
    assert b"\r" not in data
