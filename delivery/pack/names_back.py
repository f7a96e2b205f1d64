"""Read a file name back by its template: the values in the name must match the file. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import lru_cache
from itertools import combinations

from delivery.pack.names import file_name
from delivery.pack.template import template_fields

_FORMS = {
    "track": r"[0-9]+",
    "disc": r"[0-9]+",
    "disc_track": r"(?:[0-9]+-)?[0-9]+",
    "isrc": r"[A-Z]{2}[A-Z0-9]{3}[0-9]{7}",
    "rate": r"[0-9]+(?:\.[0-9]+)?",
    "bits": r"[0-9]+",
}
"""Field -> pattern of its text; all others may be anything."""
_MAY_BE_EMPTY = ("version", "bits", "isrc", "catalogue", "artist", "release")


def read_back(template: str, name: str) -> Mapping[str, str] | None:
    """Parse a file name without its extension into field -> text; None if it does not match the template.

    Empty fields are absent. Of adjacent free texts the first takes as little as possible, so only numbers and codes,
    and texts between them, are certain.

    Raises
    ------
    Unusable : a fault in the template
    """
    for pattern in _patterns(template):
        if found := pattern.fullmatch(name):
            return found.groupdict()
    return None


def disagreements(template: str, name: str, rate_hz: int, bits: int | None) -> tuple[str, ...]:
    """Rate and bit depth in a name made by *template* that differ from the file; empty if they agree.

    A title may contain figures too: one reading of the name that agrees with the file is enough.
    """
    truth = (("rate", f"{rate_hz / 1000:g}"), ("bits", "" if bits is None else str(bits)))
    without_count = re.sub(r"-[0-9]+$", "", name)  # suffix of a duplicate name
    if any(pattern.fullmatch(form) for pattern in _patterns(template, truth) for form in (name, without_count)):
        return ()
    known = read_back(template, name) or {}
    wrong = []
    if "rate" in known and known["rate"] != f"{rate_hz / 1000:g}":
        wrong.append(f"the name says {known['rate']} kHz, the file is {rate_hz / 1000:g} kHz")
    if "bits" in known and known["bits"] != str(bits):
        wrong.append(f"the name says {known['bits']} bit, the file is {bits} bit")
    return tuple(wrong)


@lru_cache(maxsize=64)
def _patterns(template: str, known: tuple[tuple[str, str], ...] = ()) -> tuple[re.Pattern[str], ...]:
    """One pattern for each choice of empty fields, fewest empty fields first: an empty field drops its brackets."""
    fields = tuple(dict.fromkeys(template_fields(template)))
    optional = [field for field in fields if field in _MAY_BE_EMPTY]
    choices = (set(gone) for many in range(len(optional) + 1) for gone in combinations(optional, many))
    if known:  # the known values must be present, and the empty ones absent
        choices = (
            gone for gone in choices if all(bool(text) != (field in gone) for field, text in known if field in fields)
        )
    forms = {**_FORMS, **{field: re.escape(text) for field, text in known if text}}
    return tuple(_pattern(template, [field for field in fields if field not in gone], forms) for gone in choices)


def _pattern(template: str, fields: list[str], forms: Mapping[str, str]) -> re.Pattern[str]:
    """The template's own skeleton, made by the name writer, with a group in place of each field."""
    tokens = {field: f"Q{number}Q" for number, field in enumerate(fields)}
    skeleton = file_name(template, tokens, "")
    return re.compile("".join(_pieces(skeleton, {token: field for field, token in tokens.items()}, forms)))


def _pieces(skeleton: str, fields: Mapping[str, str], forms: Mapping[str, str]) -> Iterator[str]:
    seen: set[str] = set()
    for part in re.split(r"(Q[0-9]+Q)", skeleton):
        field = fields.get(part)
        if field is None:
            yield re.escape(part)
        else:
            yield f"(?P={field})" if field in seen else f"(?P<{field}>{forms.get(field, '.+?')})"
            seen.add(field)
