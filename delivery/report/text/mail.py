"""A short message to go with a delivery: plain text to paste, wrapped for any mail program, in the view's words."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from delivery.model.finding import Answer
from delivery.report.view.finding_rows import Notice
from delivery.report.view.groups import Item, groups_of
from delivery.report.view.log import OPEN
from delivery.report.view.make import View
from delivery.report.view.questions import in_words
from delivery.report.view.report import Report
from delivery.report.view.words import unique

WIDTH = 72
"""Columns that are kept when a mail is quoted (RFC 5322, 2.1.1 requires fewer than 78)."""
MOST = 8
"""Lines of not-met requirements and remarks; the rest is on the sheet."""
MOST_CHANGES = 40
"""More than of other lists: the client compares each of them with what was agreed."""
HEAD = frozenset({"Catalogue number", "UPC / EAN", "Dated"})
CLOSING = "Please compare titles, order and codes with what was agreed, and listen to the files."
TO_ANSWER = "To answer, reply in plain words, a line for each track by its number above:"
ANSWERS = ("{revision}: all ok", "1 ok", "2: more bass in the second verse")
"""The first names the revision, so that an answer without the quoted mail is not taken for another one."""
FORM = "Or use the form in delivery-sheet.html: it works offline and makes a file to send back."


def render(view: View) -> bytes:
    """UTF-8, LF; the same bytes for the same view."""
    return ("\n".join(lines(view)) + "\n").encode("utf-8", errors="replace")


def with_fingerprint(fingerprint: str) -> bytes:
    """Text added to the copy beside a package."""
    paragraphs = (
        f"Fingerprint of the package: {fingerprint}",
        "'delivery verify' prints it at your end too. To be sure that the package was not changed on its way, "
        "compare the two by telephone.",
    )
    return ("\n" + "\n".join(line for text in paragraphs for line in _paragraph(text)) + "\n").encode("utf-8")


def lines(view: View) -> Iterator[str]:
    """Release, result, routes, running order, notices, requests to the reader, and a name."""
    yield from _paragraph(f"{view.running}, {view.revision}")
    yield from _paragraph("; ".join(f"{fact.label} {fact.value}" for fact in view.facts if fact.label in HEAD))
    yield from ("", *_paragraph(f"Result: {view.verdict}"))
    yield from ("", view.words.routes)
    for route in view.routes:
        note = f" ({route.note})" if route.note else ""
        yield from _item(f"{route.title}{note}: {route.files} in {route.folder}, {route.verdict}")
    yield from ("", f"{view.words.order}: {view.order_total}")
    wide = max((len(row.number) for row in view.order), default=1)
    for row in view.order:
        yield from _wrapped(f"{row.number:>{wide}}  {row.title}, {row.length}", "  ", wide + 4)
    yield from (line for text in view.running_orders for line in _item(text))
    yield from _changes(view)
    yield from _notices(view)
    if view.remarks:
        yield from ("", view.words.remarks)
        for remark in view.remarks[:MOST]:
            yield from _item(remark)
        if len(view.remarks) > MOST:
            yield from _item(f"and {len(view.remarks) - MOST} more, on the sheet")
    if view.approval:
        yield from ("", view.words.approval, *_item(view.approval))
    if view.delivery.built and not view.answer:
        yield from ("", *_paragraph(CLOSING))
    elif view.answer:  # the sheet has the form, and there is something to approve
        yield from (
            "",
            *_paragraph(f"{CLOSING} {TO_ANSWER}"),
            *(f"    {example.format(revision=view.revision)}" for example in ANSWERS),
            *_paragraph(FORM),
        )
    yield from ("", *view.studio)


def _changes(view: View) -> Iterator[str]:
    if not view.changed:
        return
    yield from ("", *_paragraph(f"{view.words.changes}. {view.changed}"))
    for line in view.changes[:MOST_CHANGES]:
        yield from _item(line)
    if len(view.changes) > MOST_CHANGES:
        yield from _item(f"and {len(view.changes) - MOST_CHANGES} more, on the sheet")


def _notices(view: View) -> Iterator[str]:
    """What was refused, one by one; questions and remarks grouped: one line for each cause."""
    yield from _some("Not delivered, because", [notice for notice in view.notices if notice.refuses], len(view.routes))
    groups = groups_of(view.notices)
    for heading, items in ((view.words.questions, groups.questions), ("To note", groups.remarks)):
        yield from _grouped(heading, items, len(view.routes))
    waived = [notice for notice in view.notices if notice.verdict.word == Answer.WAIVED.value]
    yield from _some("Waived", waived, len(view.routes))
    quieted = [row for row in view.accepted if row.specs]
    if quieted:
        yield from ("", view.words.accepted)
        for row in quieted:
            yield from _item(f"{view.words.track} {row.track}, {row.rule}: {row.found}. {row.by}: {row.why}")
    still_open = [row for row in view.log if row.decision == OPEN]
    if still_open:
        yield from ("", f"{view.words.log}, still {OPEN}")
        for entry in still_open:
            of = f"{view.words.track} {entry.track}, " if entry.position else ""
            yield from _item(f"{of}{entry.time}: {entry.what} ({entry.by})")


def _some(heading: str, notices: Sequence[Notice], specs: int) -> Iterator[str]:
    if not notices:
        return
    yield from ("", heading)
    for notice in notices[:MOST]:
        yield from _item(_notice(notice, specs))
    if len(notices) > MOST:
        yield from _item(f"and {len(notices) - MOST} more, on the sheet")


def _grouped(heading: str, items: Sequence[Item], specs: int) -> Iterator[str]:
    if not items:
        return
    yield from ("", heading)
    for item in items[:MOST]:
        text = in_words(item.text, item.notices)
        yield from _item(f"{_of(item.tracks)}: {text} [{item.rule}]{_for(item, specs)}")
    if len(items) > MOST:
        yield from _item(f"and {len(items) - MOST} more, on the sheet")


def _for(item: Item, specs: int) -> str:
    """The specs it concerns, unless all."""
    concerned = list(unique(spec for notice in item.notices for spec in notice.specs))
    return f" [{', '.join(concerned)}]" if 0 < len(concerned) < specs else ""


def _of(tracks: str) -> str:
    """'The release', 'Track 3', 'Tracks 2 to 14'."""
    if tracks == "release":
        return "The release"
    return f"Tracks {tracks}" if " " in tracks else f"Track {tracks}"


def _notice(notice: Notice, specs: int) -> str:
    """The finding, its specs unless all, and the remedy or the waiver."""
    of = f"Track {notice.track}" if notice.position else "The release"
    wanted = f", wanted {notice.wanted}" if notice.wanted and notice.found else ""
    sentence = f"{notice.found}{wanted}" or notice.why
    place = f" ({notice.place})" if notice.place else ""
    requested = f" [{', '.join(notice.specs)}]" if 0 < len(notice.specs) < specs else ""
    waived = notice.verdict.word == Answer.WAIVED.value
    then = notice.why if waived else notice.remedy and f"Remedy: {notice.remedy}"
    return f"{of}, {notice.rule}: {notice.verdict.word}; {sentence}{place}{requested}" + (f". {then}" if then else "")


def _item(text: str) -> list[str]:
    return _wrapped(f"- {text}", "", 2)


def _paragraph(text: str) -> list[str]:
    return _wrapped(text, "", 0)


def _wrapped(text: str, before: str, hang: int) -> list[str]:
    """Broken between words only: a path or a code stays in one piece, however long."""
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=before,
        subsequent_indent=" " * hang,
        break_long_words=False,
        break_on_hyphens=False,
    )


REPORT = Report("mail_text", "mail.txt", "a text for the mail that announces the delivery", render, own=True)
