"""Findings of a check in the three groups of every short output: to settle, questions, remarks. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from delivery.model.finding import Answer
from delivery.model.reasons import NO_ARTWORK
from delivery.report.view import words
from delivery.report.view.finding_rows import Notice
from delivery.report.view.notices import alike_in_words, by_words

CLIENT_SUBJECTS = frozenset({"artwork", "codes", "label_copy", "rights", "title_style"})
"""Subjects of rules about what the client supplies."""
BRIEF = 72
"""Characters of what a remark found, in short output on the terminal."""


@dataclass(frozen=True, slots=True)
class Item:
    """One line of a group."""

    tracks: str
    """'2 to 14', 'release'."""
    rule: str
    """Its id."""
    text: str
    notices: tuple[Notice, ...] = ()
    """What it sums up, one for each track and cause; none for a sentence that no rule gives."""


@dataclass(frozen=True, slots=True)
class Groups:
    """Findings in three groups: to settle, questions, remarks."""

    to_settle: tuple[Item, ...]
    """Findings that keep files from being ready: one item for each cause."""
    questions: tuple[Item, ...]
    """Questions that only the client can answer and that do not keep a file from being ready."""
    remarks: tuple[Item, ...]
    """One item for each rule, with the tracks in order."""
    remark_count: int
    """Number of single remarks in these."""


def groups_of(notices: Iterable[Notice], own_remarks: Iterable[str] = (), *, brief: bool = False) -> Groups:
    """Sort the notices of a view into the three groups.

    Parameters
    ----------
    own_remarks : sentences that no rule gives, such as about names that were altered
    brief : cut long remarks, for the terminal; on paper and in mails a sentence is whole
    """
    each = _without_echoes(once(notices))
    refusing = [notice for notice in each if notice.refuses]
    others = [notice for notice in each if not notice.refuses and notice.verdict.word != Answer.WAIVED.value]
    questioned = [notice for notice in others if notice.subject in CLIENT_SUBJECTS]
    remarked = [notice for notice in others if notice.subject not in CLIENT_SUBJECTS]
    further = tuple(Item("", "", text) for text in own_remarks)
    return Groups(
        to_settle=tuple(
            Item(one.track, one.rule, sentence_of(one), tuple(same))
            for one, same in zip(by_words(refusing), alike_in_words(refusing), strict=True)
        ),
        questions=_questions(questioned),
        remarks=(*by_rule(remarked, brief=brief), *further),
        remark_count=len(remarked) + len(further),
    )


def once(notices: Iterable[Notice]) -> list[Notice]:
    """One for each rule, track and cause, whatever each spec requires; the one that refuses counts.

    Findings with one remedy have one cause. A peak that is too high for two conversions is one master that is too
    loud: the higher one counts. What is a must for one spec and a remark for another is the must alone.
    """
    known: dict[tuple[int | None, str, str], Notice] = {}
    for notice in notices:
        key = notice.position, notice.rule, _cause(notice)
        if key not in known or _rank(notice) > _rank(known[key]):
            known[key] = notice
    refused = {(notice.position, notice.rule, notice.found) for notice in known.values() if notice.refuses}
    return [
        notice
        for notice in known.values()
        if notice.refuses or (notice.position, notice.rule, notice.found) not in refused
    ]


def _cause(notice: Notice) -> str:
    """What sets a finding apart from others of its rule and track; empty where there is one a track."""
    if notice.excess_db or (not notice.refuses and notice.position and notice.subject not in CLIENT_SUBJECTS):
        return ""
    return notice.remedy if notice.refuses else f"{notice.found} {notice.wanted}"


def _rank(notice: Notice) -> tuple[bool, float]:
    return notice.refuses, notice.excess_db


def _without_echoes(notices: list[Notice]) -> list[Notice]:
    """Where the cover itself is required and missing, not also each rule that could not look at it."""
    if not any(notice.found == words.NOT_SUPPLIED and notice.wanted == "artwork" for notice in notices):
        return notices
    return [notice for notice in notices if notice.why != NO_ARTWORK or notice.refuses]


def sentence_of(notice: Notice) -> str:
    """Found, what is required, and the remedy; or why nothing could be measured."""
    if notice.why:
        return f"not measured: {notice.why}"
    required = f" (required: {notice.wanted})" if notice.wanted else ""
    return f"{notice.found}{required}" + (f": {notice.remedy}" if notice.remedy else "")


def _questions(notices: Iterable[Notice]) -> tuple[Item, ...]:
    """Fields not supplied in one item for the same tracks; the rules that one gap leaves unanswered in one item."""
    missing: dict[tuple[str, str], list[Notice]] = {}
    sentence: dict[str, list[Notice]] = {}
    for notice in notices:
        if notice.found == words.NOT_SUPPLIED:
            missing.setdefault((notice.rule, notice.wanted), []).append(notice)
        else:
            sentence.setdefault(notice.found or notice.why, []).append(notice)
    fields: dict[tuple[str, str], list[Notice]] = {}
    for (rule, _), same in missing.items():
        fields.setdefault((words.runs([notice.track for notice in same]), rule), []).extend(same)
    return (
        *(_of_fields(tracks, rule, same) for (tracks, rule), same in fields.items()),
        *(_of_rules(text, same) for text, same in sentence.items()),
    )


def _of_fields(tracks: str, rule: str, same: list[Notice]) -> Item:
    names = ", ".join(words.unique(notice.wanted for notice in same))
    return Item(tracks, rule, f"{words.NOT_SUPPLIED}: {names}", tuple(same))


def _of_rules(text: str, same: list[Notice]) -> Item:
    rules = list(words.unique(notice.rule for notice in same))
    more = f" and {len(rules) - 1} more" if len(rules) > 1 else ""
    return Item(words.runs(list(words.unique(notice.track for notice in same))), rules[0] + more, text, tuple(same))


def by_rule(notices: Iterable[Notice], *, brief: bool = False) -> tuple[Item, ...]:
    """One item for each rule, with the first text that it found and the tracks in order."""
    alike: dict[str, list[Notice]] = {}
    for notice in notices:
        alike.setdefault(notice.rule, []).append(notice)
    return tuple(_of_rule(rule, same, brief=brief) for rule, same in alike.items())


def _of_rule(rule: str, same: list[Notice], *, brief: bool) -> Item:
    sentence = list(words.unique(notice.found or f"not measured: {notice.why}" for notice in same))
    more = f"; and {len(sentence) - 1} other" + "s" * (len(sentence) > 2) if len(sentence) > 1 else ""
    first = sentence[0]
    if brief and len(first) > BRIEF:
        first = f"{first[: BRIEF - 1].rstrip()}…"
    return Item(words.runs(list(words.unique(notice.track for notice in same))), rule, first + more, tuple(same))
