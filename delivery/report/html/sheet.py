"""The delivery sheet as one HTML file: no network, no tracking, and no script but our own.

The page has a policy that the browser enforces: nothing is loaded, and only scripts run whose hashes the policy lists.
Titles go through the template's escaping; what looks like markup is text.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from delivery.report.html.plots import bars, beam, jumps, plots
from delivery.report.pictures import small
from delivery.report.view.make import View
from delivery.report.view.notices import by_words
from delivery.report.view.report import Report
from delivery.report.view.words import typographic

SCRIPTS = ("sheet.js", "check.js")
"""How the page behaves, and the check of the package it lies in."""
TEMPLATES = Path(__file__).with_name("templates")


def render(view: View) -> bytes:
    """UTF-8, LF; the same bytes for the same view."""
    scripts = [template_text(name) for name in SCRIPTS]
    page = environment().get_template("sheet.html.j2")
    made = page.render(
        view=view,
        words=view.words,
        notices_once=by_words(view.notices),
        style=template_text("sheet.css"),
        scripts=scripts,
        policy=policy(scripts),
        logo=_data_uri(small(view.logo.path)),
        artwork=_data_uri(small(view.artwork.path)),
    )
    return made.encode("utf-8", errors="replace")


def policy(scripts: Iterable[str]) -> str:
    """Content Security Policy (W3C, level 3) of a page that needs nothing but itself."""
    digests = (base64.b64encode(hashlib.sha256(script.encode("utf-8")).digest()).decode("ascii") for script in scripts)
    allowed = {
        "default-src": "'none'",
        "img-src": "data:",
        "style-src": "'unsafe-inline'",
        "script-src": " ".join(f"'sha256-{digest}'" for digest in digests),
        "base-uri": "'none'",
        "form-action": "'none'",
    }
    return "; ".join(f"{key} {value}" for key, value in allowed.items())


@cache
def environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES, encoding="utf-8"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        newline_sequence="\n",
        keep_trailing_newline=True,
    )
    filters: dict[str, Any] = {"fig": typographic, "plots": plots, "bars": bars, "jumps": jumps, "beam": beam}
    environment.filters.update(filters)
    return environment


@cache
def template_text(name: str) -> str:
    return (TEMPLATES / name).read_text(encoding="utf-8").replace("\r\n", "\n")


def _data_uri(picture: bytes | None) -> str:
    return f"data:image/jpeg;base64,{base64.b64encode(picture).decode('ascii')}" if picture else ""


REPORT = Report("sheet_html", "delivery-sheet.html", "the delivery sheet, for a browser", render)
