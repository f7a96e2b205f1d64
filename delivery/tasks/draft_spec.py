"""A spec of one's own, filled in field by field from a parent: checked as it will be read, and written last.

A field is 'name', 'title', 'about', 'edition', 'source', 'checked', or the id of a rule.
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from pathlib import Path
from typing import Any

from delivery.errors import Faulty, Occupied, Unusable
from delivery.intake import load_spec, spec_stamps, write_text
from delivery.intake.studio.location import own_specs
from delivery.intake.yaml.text import document_of
from delivery.model.finding import Weight
from delivery.model.spec import Spec
from delivery.rules import Rule, rules
from delivery.schema import difference
from delivery.schema.begin import NAME_FORM
from delivery.schema.catalogue import limit_form
from delivery.tasks.specs import find_spec, spec_folders

HEAD = ("title", "about", "edition", "source", "checked")
LIFTED, MUST, SHOULD = "lifted", "must", "should"
ANYWHERE = ""
"""Key of a fault that belongs to no single field."""


@dataclass(frozen=True, slots=True)
class Row:
    """What the draft states about one rule; a rule without a row is as in the parent."""

    rule: str
    word: str
    """'must', 'should' or 'lifted'."""
    limit: str = ""
    """As typed: a YAML value on one line."""
    source: str = ""


@dataclass(frozen=True, slots=True)
class Draft:
    """A spec that is being filled in."""

    name: str
    parent: str
    head: Mapping[str, str]
    """Texts of HEAD; empty ones are left out."""
    rows: tuple[Row, ...] = ()


@dataclass(frozen=True, slots=True)
class Choice:
    """A rule as a form offers it."""

    rule: str
    sentence: str
    form: str
    """What a limit looks like: 'number in dBTP, at most 0'."""
    now: str
    """What the parent requires: 'must 24'; empty: nothing."""
    limit: str
    """The parent's limit, or what a limit usually is, as it would be typed."""
    can_must: bool
    """Only a fact can be a must."""


def choices(parent: Spec) -> list[tuple[str, list[Choice]]]:
    """All rules by subject, with what *parent* requires."""
    required = parent.required()

    def offered(rule: Rule) -> Choice:
        now = required.get(rule.id)
        limit = json.dumps(now.limit, ensure_ascii=False) if now else ("true" if "const" in rule.limit else "")
        words = f"{MUST if now.must else SHOULD} {limit}" if now else ""
        return Choice(rule.id, rule.doc, limit_form(rule.limit), words, limit, rule.weight is Weight.FACT)

    ordered = sorted(rules().values(), key=lambda rule: (rule.subject, rule.id))
    grouped = groupby(ordered, lambda rule: rule.subject)
    return [(subject.replace("_", " "), [offered(rule) for rule in group]) for subject, group in grouped]


def checked(draft: Draft) -> tuple[dict[str, str], list[str]]:
    """Faults by field, and, where there are none, what the draft requires differently from its parent."""
    try:
        text = _text(draft)
        with tempfile.TemporaryDirectory(prefix="delivery-spec-") as folder:
            file = Path(folder) / f"{draft.name}.yaml"
            file.write_text(text, encoding="utf-8")
            return {}, difference(find_spec(draft.parent), load_spec(file, spec_folders()))
    except Faulty as found:
        return _by_field(found.faults), []
    except Unusable as fault:
        return _by_field([fault]), []


def write_draft(draft: Draft) -> Path:
    """Write the draft into the user's own folder of specs, where every release finds it.

    Raises
    ------
    Faulty, Unusable : it has faults
    Occupied : a spec has this name
    Unfinished : it cannot be written
    """
    faults, _ = checked(draft)
    if faults:
        raise Faulty(
            tuple(
                Unusable(field or draft.name, text, "a spec without faults", "Correct it.")
                for field, text in faults.items()
            )
        )
    target = own_specs() / f"{draft.name}.yaml"
    target.parent.mkdir(parents=True, exist_ok=True)
    write_text(target, _text(draft))
    return target


def _text(draft: Draft) -> str:
    """The file. Raises Faulty, Unusable, Occupied for the name, the parent and limits that cannot stand in one line."""
    faults = []
    for row in draft.rows:
        try:
            _requirement(row)
        except Unusable as fault:
            faults.append(fault)
    if faults:
        raise Faulty(tuple(faults))
    if not NAME_FORM.fullmatch(draft.name):
        raise Unusable(
            "name", repr(draft.name), "small letters, digits, hyphens", "It becomes a file and a folder name."
        )
    if draft.name in {Path(file).stem for file, *_ in spec_stamps(spec_folders())}:
        raise Occupied("name", f"a spec called {draft.name!r}", "a name that does not exist yet", "Choose another.")
    parent = find_spec(draft.parent).id
    head = [f"{key}: {_written(draft.head[key])}" for key in HEAD if draft.head.get(key, "").strip()]
    lines = [f"{row.rule}: {_requirement(row)}" for row in draft.rows]
    body = ["requires:", *(f"  {line}" for line in lines)] if lines else ["requires: {}"]
    return "\n".join([*head, f"based_on: {_written(parent)}", "", *body, ""])


def _requirement(row: Row) -> str:
    if row.word == LIFTED:
        return "~"
    source = f", source: {_written(row.source)}" if row.source.strip() else ""
    return f"{{{row.word}: {json.dumps(_limit(row), ensure_ascii=False)}{source}}}"


def _limit(row: Row) -> Any:
    typed = row.limit.strip()
    if not typed or not typed.isprintable():
        raise Unusable(f"requires {row.rule}", "no limit", limit_form(rules()[row.rule].limit), "Type it.")
    try:
        return document_of(f"limit: {typed}\n", row.rule).data["limit"]
    except Faulty as found:
        fault = found.faults[0]
        raise Unusable(f"requires {row.rule}", fault.found, fault.wanted, fault.remedy) from found


def _written(text: str) -> str:
    """A text in double quotes, or a date as it is: JSON is YAML."""
    text = " ".join(text.split())
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        return json.dumps(text, ensure_ascii=False)


def _by_field(faults: Sequence[Unusable]) -> dict[str, str]:
    found: dict[str, str] = {}
    for fault in faults:
        field = next(_fields_in(fault.place), ANYWHERE)
        said = f"Found {fault.found}, wanted {fault.wanted}. {fault.remedy}"
        found[field] = f"{found[field]} {said}" if field in found else said
    return found


def _fields_in(place: str) -> Iterator[str]:
    known = {"name", *HEAD, *rules()}
    yield from (word for word in place.split() if word in known)
