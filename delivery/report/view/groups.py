"""Findings of a check in the three groups of every short output: to settle, questions, remarks. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from delivery.model.finding import Answer
from delivery.model.reasons import NO_ARTWORK
from delivery.report.view import words
from delivery.report.view.finding_rows import Notice
from delivery.report.view.notices import alike_in_words

CLIENT_SUBJECTS = frozenset({"artwork", "codes", "label_copy", "rights", "title_style"})
"""Subjects of rules about what the client supplies."""
_EXPLAINED = re.compile(r" \([^()]*\)")
"""What a remedy has in brackets."""
BRIEF = 72
"""Characters of what a remark found, in short output on the terminal."""
MOST_APART = 12
"""Up to this many causes to settle are listed one by one; more are listed by rule."""


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
    found: str = ""
    """Beginning of the text, where a line is too short for all of it."""
    remedy: str = ""
    """The first of the remedies, without its explanation; what such a line ends with."""


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

    @property
    def settle_lines(self) -> tuple[Item, ...]:
        """Items to settle; by rule, as remarks are, where there are more than a page can list."""
        if len(self.to_settle) <= MOST_APART:
            return self.to_settle
        return tuple(_must(same) for same in _alike(notice for item in self.to_settle for notice in item.notices))


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
        to_settle=tuple(_must(same) for same in alike_in_words(refusing)),
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
    return Item(_tracks(same), rules[0] + more, text, tuple(same))


def by_rule(notices: Iterable[Notice], *, brief: bool = False) -> tuple[Item, ...]:
    """One item for each rule, with the first text that it found and the tracks in order."""
    return tuple(_remark(same, brief=brief) for same in _alike(notices))


def _alike(notices: Iterable[Notice]) -> Iterable[list[Notice]]:
    """Notices of one rule together."""
    alike: dict[str, list[Notice]] = {}
    for notice in notices:
        alike.setdefault(notice.rule, []).append(notice)
    return alike.values()


def _remark(same: list[Notice], *, brief: bool) -> Item:
    first, more = _found(same)
    if brief and len(first) > BRIEF:
        first = f"{first[: BRIEF - 1].rstrip()}…"
    return Item(_tracks(same), same[0].rule, first + more, tuple(same))


def _must(same: list[Notice]) -> Item:
    """An item to settle; required values and remedies that differ are left out."""
    first, more = _found(same)
    found = first + more
    wanted, remedy = ({getattr(notice, name) for notice in same} for name in ("wanted", "remedy"))
    required = f" (required: {same[0].wanted})" if same[0].wanted and len(wanted) == 1 and not same[0].why else ""
    text = same[0].remedy if len(remedy) == 1 and not same[0].why else ""
    return Item(
        _tracks(same),
        same[0].rule,
        f"{found}{required}" + (f": {text}" if text else ""),
        tuple(same),
        found,
        _EXPLAINED.sub("", text).partition(", or ")[0],
    )


def _found(same: list[Notice]) -> tuple[str, str]:
    """What the first of them found, and how many others there are."""
    sentence = list(words.unique(notice.found if not notice.why else f"not measured: {notice.why}" for notice in same))
    others = f"; and {len(sentence) - 1} other" + "s" * (len(sentence) > 2) if len(sentence) > 1 else ""
    return sentence[0], others


def _tracks(same: list[Notice]) -> str:
    return words.runs(list(words.unique(notice.track for notice in same)))
