"""The overview of an audit as one HTML page: no network, no script, the same bytes for the same audit."""

from __future__ import annotations

from itertools import groupby

from delivery.model.audit import Audit
from delivery.report.html.page import environment, policy, template_text
from delivery.report.view import words
from delivery.report.view.audit import clash_sentence, difference, open_musts, total_sentences

SHOWN = 100
"""Groups and clashes on the page; the tables beside it have all."""


def render(audit: Audit) -> bytes:
    """UTF-8, LF."""
    made = (
        environment()
        .get_template("audit.html.j2")
        .render(
            audit=audit,
            title=", ".join(words.plain(folder) for folder in audit.folders),
            totals=total_sentences(audit),
            rules=[(spec, list(rows)) for spec, rows in groupby(audit.rules, key=lambda one: one.spec)],
            most=max((one.not_met + one.not_measured for one in audit.rules), default=1),
            worst=[(words.plain(row.item.path), open_musts(row)) for row in audit.worst],
            problems=[(words.plain(path), words.plain(why)) for path, why in audit.problems],
            groups=[
                [(words.plain(copy.path), difference(copy) if at else "") for at, copy in enumerate(group.copies)]
                for group in audit.duplicates[:SHOWN]
            ],
            clashes=[clash_sentence(clash) for clash in audit.clashes[:SHOWN]],
            shown=SHOWN,
            style=template_text("sheet.css"),
            policy=policy(()),
        )
    )
    return made.encode("utf-8", errors="replace")
