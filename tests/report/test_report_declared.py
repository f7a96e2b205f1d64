"""What a module of reports declares is what is rendered, on the paper that was asked for."""

from __future__ import annotations

from pathlib import Path

from delivery.model.part import Delivery
from delivery.model.release import Release, Studio
from delivery.report.view.make import view_of
from delivery.report.view.report import Report

VIEW = view_of(Delivery(Release(Path("release.yaml"), "Album", "Merrow", ()), Studio(), (), (), ()), {})


def test_only_a_report_with_pages_is_given_the_size_of_paper() -> None:
    paged = Report("x", "x.pdf", "pages", lambda view, page: f"{view.title} on {page}".encode(), paged=True)
    assert paged.render(VIEW) == b"Album on A4"
    assert paged.render(VIEW, "Letter") == b"Album on Letter"
    plain = Report("x", "x.txt", "a text", lambda view: view.title.encode())
    assert plain.render(VIEW, "Letter") == b"Album"
