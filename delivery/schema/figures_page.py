"""Definition and measurement of every figure: for the terminal, the schema of documents, and a page.

The text comes from the meters: the figure's own sentence, and its meter's ``method``, else the meter's docstring.
"""

from __future__ import annotations

import inspect
from collections.abc import Iterator, Mapping
from difflib import get_close_matches
from functools import cache
from itertools import groupby
from typing import Any

from delivery.errors import Unusable
from delivery.meters import figures_by_subject, member_of
from delivery.model.figure import Figure
from delivery.report.view.words import counted

HEAD = """# Figures

Made by `python -m delivery.schema` from the meters themselves; do not edit.

`delivery measure --explain FIGURE` prints the same for one figure.
"""


def definition(name: str) -> tuple[str, ...]:
    """Lines: definition, method, unit, printed digits and source.

    Raises
    ------
    Unusable : no figure of that name
    """
    known = figures_by_subject()
    if name not in known:
        near = get_close_matches(name, known, n=3)
        remedy = f"Perhaps {' or '.join(near)}." if near else "'delivery measure FILE --json' names them all."
        raise Unusable("measure --explain", f"'{name}'", "the name of a figure", remedy)
    return tuple(_lines(known[name]))


def one_line(name: str) -> str:
    """The same as one paragraph, for a schema's description."""
    return " ".join(definition(name))


def page() -> str:
    """All figures by subject, in Markdown."""
    chapters = []
    for subject, members in groupby(figures_by_subject().values(), key=lambda figure: figure.subject):
        chapters.append(f"## {subject.value.capitalize()}\n")
        for figure in members:
            chapters.append("\n".join([f"**`{figure.name}`**  ", *(f"{line}  " for line in _lines(figure)), ""]))
    return "\n".join([HEAD, *chapters])


def with_descriptions(schema: dict[str, Any]) -> dict[str, Any]:
    """The schema of documents with every figure named and described."""
    described = {
        name: {"$ref": "#/$defs/value", "description": one_line(name)} for name in sorted(figures_by_subject())
    }
    figures = schema["$defs"]["figures"] | {"properties": described}
    return schema | {"$defs": schema["$defs"] | {"figures": figures}}


def _lines(figure: Figure) -> Iterator[str]:
    yield figure.sentence
    method = _methods()[figure.name]
    if method:
        yield f"Method: {method}"
    unit = figure.unit or "none"
    yield (
        f"Unit: {unit}." if figure.digits is None else f"Unit: {unit}; printed to {counted(figure.digits, 'decimal')}."
    )
    if figure.columns:
        yield f"Rows of: {', '.join(figure.columns)}."
    if figure.along:
        yield f"One value for each of {figure.along}."
    if figure.error:
        yield f"Standard error: {figure.error}."
    if figure.weight:
        yield f"It is a {figure.weight}."
    yield f"Source: {figure.source}."


@cache
def _methods() -> Mapping[str, str]:
    return {name: _method(member_of(name)) for name in figures_by_subject()}


def _method(member: type) -> str:
    own = getattr(member, "method", "") or inspect.getdoc(member) or ""
    return " ".join(own.replace("``", "").split())
