"""One set of numbers: what is in the data document is on paper and on the screen, rounded and not otherwise."""

from __future__ import annotations

import json
import re
import subprocess
from html import unescape
from pathlib import Path

import pytest

from delivery.report.data import document as data_json
from delivery.report.html import sheet as sheet_html
from delivery.report.pdf import sheet as sheet_pdf
from delivery.report.text import mail as mail_text
from delivery.report.view.make import view_of
from delivery.report.view.tracks import ROWS
from tests import samples
from tests.judges import needs

CASES = {
    "whole": samples.delivery(3),
    "single": samples.delivery(1, (samples.CD,)),
    "log": samples.logged(samples.delivery(2)),
}


def figures_of(delivery: samples.Delivery) -> list[tuple[str, float]]:
    """Every figure of masters and delivered files that a track's page prints, from the data document."""
    document = json.loads(data_json.render(view_of(delivery, samples.FIGURES)))
    measured = [each["measured"] for each in document["sources"]] + [each["shipped"] for each in document["parts"]]
    return [
        (name, each["figures"][name])
        for each in measured
        for name in ROWS
        if name in samples.FIGURES and isinstance(each["figures"].get(name), int | float)
    ]


def printed(name: str, value: float) -> str:
    """By the figure's own digits; levels with their sign. Python's rounding, not the report's."""
    figure = samples.FIGURES[name]
    text = f"{value:.{figure.digits}f}"
    text = text.removeprefix("-") if not float(text) else text
    return f"+{text}" if figure.unit.startswith(("dB", "LUFS")) and not text.startswith("-") else text


def words(text: str) -> set[str]:
    return set(re.split(r"[\s,;:()]+", text.replace("\u2212", "-").replace("\u00a0", " ")))


@needs("pdftotext")
@pytest.mark.parametrize("name", sorted(CASES))
def test_every_figure_of_the_data_is_on_the_pdf(name: str, tmp_path: Path) -> None:
    (tmp_path / "sheet.pdf").write_bytes(sheet_pdf.render(view_of(CASES[name], samples.FIGURES)))
    done = subprocess.run(["pdftotext", "-layout", "sheet.pdf", "-"], cwd=tmp_path, check=True, capture_output=True)
    output = words(done.stdout.decode("utf-8"))
    wanted = figures_of(CASES[name])
    assert len(wanted) > 30
    assert [(figure, value) for figure, value in wanted if printed(figure, value) not in output] == []


@pytest.mark.parametrize("name", sorted(CASES))
def test_every_figure_of_the_data_is_on_the_page(name: str) -> None:
    html = sheet_html.render(view_of(CASES[name], samples.FIGURES)).decode("utf-8")
    output = words(unescape(re.sub(r"<[^>]*>", " ", html)))
    assert [(figure, value) for figure, value in figures_of(CASES[name]) if printed(figure, value) not in output] == []


@pytest.mark.parametrize("name", sorted(CASES))
def test_results_have_the_same_word_everywhere(name: str) -> None:
    view = view_of(CASES[name], samples.FIGURES)
    document = json.loads(data_json.render(view))
    html = " ".join(unescape(re.sub(r"<[^>]*>", " ", sheet_html.render(view).decode("utf-8"))).split())
    mail = " ".join(mail_text.render(view).decode("utf-8").split())
    assert document["result"] == view.verdict.word
    assert f"Result: {view.verdict}" in mail
    assert str(view.verdict) in html
    assert {spec["result"] for spec in document["specs"]} == {route.verdict.word for route in view.routes}
