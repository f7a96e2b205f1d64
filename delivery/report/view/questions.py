"""Questions that only the client can answer: in words, and as cells of a sheet to fill in. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from delivery.model.fields import FIELDS
from delivery.model.finding import Answer
from delivery.report.view import words
from delivery.report.view.finding_rows import Notice
from delivery.report.view.groups import CLIENT_SUBJECTS
from delivery.report.view.label_copy import LabelCopy, label_copy
from delivery.report.view.model import View

TRACK_COLUMNS: Mapping[str, str] = {field.required_as: field.id for field in FIELDS.values() if not field.of_release}
"""Field of a track that may not be supplied -> column of a sheet."""
RELEASE_COLUMNS: Mapping[str, str] = {field.required_as: field.id for field in FIELDS.values() if field.of_release}
RULE_COLUMNS: Mapping[str, str] = {
    "isrc_form": "isrc", "isrc_prefix_known": "isrc", "isrc_unique": "isrc", "legal_names": "composer",
    "shares_total": "share", "samples_cleared": "samples", "instrumental_wordless": "instrumental",
    "title_style": "title", "title_unique": "version", "sides_stated": "side", "upc_check_digit": "upc",
    "release_title_style": "album", "catalogue_pattern": "catalogue_number",
}  # fmt: skip
"""Rule whose finding the client may answer -> the column it is about."""
EXPECTED_FROM_CLIENT = ("number", "title", "version", "file")
"""Columns by which the answer finds its tracks again."""


@dataclass(frozen=True, slots=True)
class Question:
    """One question for the client."""

    about: str
    """'Track 3, Salt Road', 'The release'."""
    text: str
    column: str = ""
    """Id of the column in which it is answered; empty where no sheet can hold the answer, such as a cover."""


@dataclass(frozen=True, slots=True)
class Questions:
    """Questions for the client, and the sheet for the answers."""

    questions: tuple[Question, ...]
    sheet: LabelCopy
    """Release fields and columns to be answered, besides those that identify each track."""


def questions_of(view: View) -> Questions:
    """Every question once, for any number of specs; the release first, then by track."""
    raised = dict.fromkeys(_question(notice, view) for notice in view.notices if _is_for_the_client(notice))
    about = list(words.unique(question.about for question in raised))
    order = list(FIELDS)
    open_questions = tuple(
        sorted(
            raised,
            key=lambda one: (about.index(one.about), order.index(one.column) if one.column else len(order), one.text),
        )
    )
    return Questions(open_questions, _sheet(view, {question.column for question in open_questions}))


def in_words(text: str, notices: Iterable[Notice]) -> str:
    """The *text* of an item; fields that are not supplied by their headings, not by the keys of the release file."""
    missing = [notice for notice in notices if notice.found == words.NOT_SUPPLIED]
    names = words.unique(_heading(notice) for notice in missing)
    return f"{words.NOT_SUPPLIED}: {', '.join(names)}" if missing else text


def _heading(notice: Notice) -> str:
    column = (TRACK_COLUMNS if notice.position else RELEASE_COLUMNS).get(notice.wanted, "")
    return FIELDS[column].title if column else notice.wanted


def _is_for_the_client(notice: Notice) -> bool:
    return notice.verdict.word == Answer.NOT_MET.value and (
        notice.subject in CLIENT_SUBJECTS or notice.rule in RULE_COLUMNS
    )


def _question(notice: Notice, view: View) -> Question:
    about = "The release"
    if notice.position:
        about = f"Track {notice.track}, {words.plain(view.delivery.release.track(notice.position).title)}"
    if notice.found != words.NOT_SUPPLIED:
        return Question(about, _sentence(notice), RULE_COLUMNS.get(notice.rule, ""))
    column = (TRACK_COLUMNS if notice.position else RELEASE_COLUMNS).get(notice.wanted, "")
    if not column:
        return Question(about, f"{'The cover' if notice.wanted == 'artwork' else notice.wanted} is missing.")
    name, text = FIELDS[column].title, FIELDS[column].meaning
    return Question(about, f"{name} is missing{'' if text == name.lower() else f': {text}'}.", column)


def _sentence(notice: Notice) -> str:
    """What was found and what is needed; the remedy is the engineer's."""
    wanted = f"; needed: {notice.wanted}" if notice.wanted else ""
    return f"{notice.found}{wanted}. Please check."


def _sheet(view: View, open_questions: Iterable[str]) -> LabelCopy:
    """The label copy with the columns in question only: missing columns change nothing when it is read back."""
    whole = label_copy(view)
    wanted = {FIELDS[column].title for column in open_questions if column}
    known = {FIELDS[column].title for column in EXPECTED_FROM_CLIENT}
    persons = bool({FIELDS["composer"].title, FIELDS["share"].title} & wanted)  # then "Writer 1", "Shares % 1" ...
    keep = [
        at for at, title in enumerate(whole.columns) if title in wanted | known or (persons and title[-1].isdigit())
    ]
    release = [pair for pair in whole.release if pair[0] in wanted or pair[0] == FIELDS["album"].title]
    return LabelCopy(
        tuple(release),
        tuple(whole.columns[at] for at in keep),
        tuple(tuple(row[at] for at in keep) for row in whole.rows),
    )


def mail(view: View, open_questions: Questions, sheet_name: str) -> str:
    """A message to the client: the questions, numbered, and how to answer."""
    lines = [f"{view.title}: {words.counted(len(open_questions.questions), 'question')} before delivery", ""]
    at = ""
    for number, question in enumerate(open_questions.questions, start=1):
        if question.about != at:
            lines += [*([""] if at else []), question.about]
            at = question.about
        lines.append(f"  {number}. {question.text}")
    lines += ["", f"Please answer in {sheet_name} (one cell for each), or by the numbers above."]
    lines.append("Codes, credits, shares and rights are yours to get right; we check their form.")
    return "\n".join(lines) + "\n"
