"""Every rule as a page to read: id, figures needed, weight and source."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import groupby
from typing import Any

from delivery.formats import containers
from delivery.rules import Rule, rules
from delivery.rules.feasible import ALWAYS

HEAD = """# Catalogue of rules

Made by `python -m delivery.schema` from the rules themselves; do not edit.

A spec switches a rule on by its id under `requires`, as `must` (not met: the file
is not ready) or `should` (not met: a remark).
Only a *fact* can be a must: a *sign* can be wrong, so it only ever remarks. A waiver names the *rule*.
"""


def catalogue() -> str:
    """The page, in Markdown."""
    by_subject = sorted(rules().values(), key=lambda rule: (rule.subject, rule.id))
    chapters = [_chapter(subject, list(group)) for subject, group in groupby(by_subject, lambda rule: rule.subject)]
    return "\n".join([HEAD, *chapters, _always()])


NAMED: Mapping[str, Callable[[], Sequence[str]]] = {
    "#/$defs/container_id": lambda: sorted(containers()),
    "#/$defs/coding_id": lambda: sorted({coding for one in containers().values() for coding in one.codings}),
}
"""Definitions of lists, referred to by name in the schema."""


def limit_form(limit: Mapping[str, Any]) -> str:
    """A limit's schema in a few words: 'number in dBTP, at most 0'."""
    if "const" in limit:
        return "true"
    if limit["type"] == "array":
        items = limit["items"]
        values = items["enum"] if "enum" in items else NAMED.get(items.get("$ref", ""), tuple)()
        choice = ": " + ", ".join(map(str, values)) if values else ""
        return f"list of {limit['description']}{choice}"
    if limit["type"] in ("boolean", "object", "string"):
        return str(limit["description"])
    kind = "whole number" if limit["type"] == "integer" else "number"
    unit = limit["description"]
    bounds = [f"{word} {limit[key]}" for key, word in (("minimum", "at least"), ("maximum", "at most")) if key in limit]
    return ", ".join([f"{kind} in {unit}" if unit != "a plain number" else kind, *bounds])


def _always() -> str:
    """Checks that apply to every spec."""
    rows = [f"| `{check}` | {wanted} *Fact, track. Source: {source}.* |" for check, (wanted, source) in ALWAYS.items()]
    head = [
        "## Whether a file can be made\n",
        "Checked for every file that is not a plain copy; they are not part of any spec and cannot be waived.\n",
        "| check | what it requires |",
        "|---|---|",
    ]
    return "\n".join([*head, *rows, ""])


def _chapter(subject: str, members: list[Rule]) -> str:
    rows = [
        f"## {subject.replace('_', ' ').capitalize()}\n",
        "| rule | limit | what it requires |",
        "|---|---|---|",
    ]
    return "\n".join([*rows, *(_row(rule) for rule in members), ""])


def _row(rule: Rule) -> str:
    requires = (
        f"{rule.doc} *{rule.weight.capitalize()}, {rule.scope}; needs {', '.join(rule.needs)}. Source: {rule.source}.*"
    )
    return f"| `{rule.id}` | {limit_form(rule.limit)} | {requires} |"
