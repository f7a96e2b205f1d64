"""Every report: found by its folder, the same bytes twice, under a name of its own."""

from __future__ import annotations

import pytest

from delivery.pack import layout
from delivery.report.registry import label_copy_forms, on_request, reports
from delivery.report.view.report import Report
from tests.report.test_label_copy import view

each_report = pytest.mark.parametrize("report", reports().values(), ids=list(reports()))


def test_the_files_every_package_carries_are_reports() -> None:
    """The layout of a package names those that other parts of the program open again."""
    carried = {layout.of_release(report.file_name) for report in reports().values() if not report.on_request}
    assert carried == {layout.SHEET_PDF, layout.SHEET_HTML, layout.MAIL_TEXT, layout.PARTS_CSV}


def test_forms_of_label_copy_go_along_on_request() -> None:
    """Each form is a report of that name. Other folders of `report` may have reports on request too."""
    forms = {f"label_copy_{form}" for form in label_copy_forms()}
    assert forms == {name for name, report in on_request().items() if report.file_name.startswith("label-copy.")}


@each_report
def test_two_renders_are_equal_and_on_their_own_paper(report: Report) -> None:
    made = report.render(view())
    assert made == report.render(view())
    assert report.sentence
    assert (made != report.render(view(), "Letter")) is report.paged
