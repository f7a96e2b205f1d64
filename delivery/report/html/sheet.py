"""The delivery sheet as one HTML file: no network, no tracking, and no script but our own.

The page has a policy that the browser enforces: nothing is loaded, and only scripts run whose hashes the policy lists.
Titles go through the template's escaping; what looks like markup is text.
"""

from __future__ import annotations

import base64

from delivery.report.html.fonts import font_faces
from delivery.report.html.page import environment, policy, template_text
from delivery.report.pictures import small
from delivery.report.view.groups import groups_of
from delivery.report.view.make import View
from delivery.report.view.notices import by_words
from delivery.report.view.report import Report
from delivery.report.view.texts import words_of

SCRIPTS = ("sheet.js", "check.js", "answer.js")
"""How the page behaves, the check of the package it lies in, and the form to approve or ask for changes."""


def render(view: View) -> bytes:
    """UTF-8, LF; the same bytes for the same view."""
    scripts = [template_text(name) for name in SCRIPTS]
    page = environment().get_template("sheet.html.j2")
    faces = font_faces(words_of(view), view.lang)
    made = page.render(
        view=view,
        words=view.words,
        notices_once=by_words(view.notices),
        groups=groups_of(view.notices, view.remarks),
        style=faces + template_text("sheet.css"),
        scripts=scripts,
        policy=policy(scripts, fonts=bool(faces), media=bool(view.answer and view.answer.plays)),
        logo=_data_uri(small(view.logo.path)),
        artwork=_data_uri(small(view.artwork.path)),
    )
    return made.encode("utf-8", errors="replace")


def _data_uri(picture: bytes | None) -> str:
    return f"data:image/jpeg;base64,{base64.b64encode(picture).decode('ascii')}" if picture else ""


REPORT = Report("sheet_html", "delivery-sheet.html", "the delivery sheet, for a browser", render, own=True)
