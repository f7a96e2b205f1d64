"""JSON Schema faults (draft 2020-12) as place, found, wanted, remedy; the library's own sentences are not used."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from difflib import SequenceMatcher, get_close_matches
from typing import Any

from delivery.errors import Unusable
from delivery.intake.yaml.renamed_keys import REPLACED
from delivery.intake.yaml.schema_formats import FORMS
from delivery.intake.yaml.schema_lookup import Schema, examples, followed, known_keys
from delivery.intake.yaml.source_locations import Located, in_file_order, located, shown, step_into

KINDS = {
    "string": "text",
    "integer": "a whole number",
    "number": "a number",
    "boolean": "true or false",
    "array": "a list",
    "object": "a group of keys",
    "null": "nothing",
}
FEW_KEYS = 12
"""Maximum number of names listed in a message; beyond it the nearest are listed."""


@dataclass(frozen=True, slots=True)
class _File:
    name: str
    lines: Mapping[str, int]
    written: Mapping[str, str]
    schema: Schema

    def fault(self, pointer: str, found: str, wanted: str, remedy: str) -> Located:
        return located(self.name, self.lines, pointer, found, wanted, remedy)

    def shown(self, pointer: str, value: Any) -> str:
        return shown(value, self.written.get(pointer))


def faults_of(
    data: Any, schema: Schema, lines: Mapping[str, int], file_name: str, written: Mapping[str, str] | None = None
) -> tuple[Unusable, ...]:
    """Everything in *data* that *schema* does not allow, in file order.

    Parameters
    ----------
    data : plain data, as in `Document`
    schema : JSON Schema, draft 2020-12; ``description`` and ``examples`` are used for the messages
    lines : pointer -> line
    file_name : file name for messages
    written : pointer -> source text of unquoted numbers, so that a remedy keeps leading zeros
    """
    return in_file_order(located_faults(data, schema, lines, file_name, written))


def located_faults(
    data: Any, schema: Schema, lines: Mapping[str, int], file_name: str, written: Mapping[str, str] | None = None
) -> Iterator[Located]:
    """As `faults_of`, unsorted: to be combined with faults that a schema cannot find."""
    from jsonschema import Draft202012Validator

    file = _File(file_name, lines, written or {}, schema)
    errors = Draft202012Validator(schema, format_checker=_format_checker()).iter_errors(data)
    for error in _kind_first(list(errors)):
        yield from _located(error, file)


def _kind_first(errors: list[Any]) -> list[Any]:
    """For a value of the wrong kind, other faults are not reported."""
    wrong = {tuple(error.absolute_path) for error in errors if error.validator == "type"}
    return [error for error in errors if error.validator == "type" or tuple(error.absolute_path) not in wrong]


def _format_checker() -> Any:
    from jsonschema import FormatChecker

    checker = FormatChecker(formats=())
    for name, form in FORMS.items():
        checker.checkers = {**checker.checkers, name: (_fits_or_no_text(form.fits), ())}
    return checker


def _fits_or_no_text(fits: Callable[[str], bool]) -> Callable[[object], bool]:
    return lambda value: not isinstance(value, str) or fits(value)


def _located(error: Any, file: _File) -> Iterator[Located]:
    pointer = ""
    for step in error.absolute_path:
        pointer = step_into(pointer, step)
    tell = TELLERS.get(error.validator, _other)
    yield from tell(error, pointer, file)


def _wrong_type(error: Any, pointer: str, file: _File) -> Iterator[Located]:
    kinds = [error.validator_value] if isinstance(error.validator_value, str) else error.validator_value
    wanted = _kind_words(kinds)
    yield file.fault(pointer, file.shown(pointer, error.instance), wanted, _type_remedy(error, kinds, pointer, file))


def _kind_words(kinds: list[str]) -> str:
    """A field that takes text, numbers and true/false takes them all as text."""
    if {"string", "number", "boolean"} <= set(kinds):
        kinds = [kind for kind in kinds if kind not in ("number", "boolean")]
    return " or ".join(KINDS[kind] for kind in kinds)


def _type_remedy(error: Any, kinds: list[str], pointer: str, file: _File) -> str:
    value, key = error.instance, pointer.rpartition("/")[2]
    label = "- " if key.isdecimal() else f"{key}: "
    if value is None:
        return f"Fill it in, or delete the line.{_example(error, file, ' ')}"
    if "string" in kinds and isinstance(value, (bool, int, float)):
        text = file.written.get(pointer, str(value))
        return f'Put it in quotes, so that every program reads it as text: {label}"{text}"'
    if "string" in kinds:
        return f"Put it in quotes if it is one text.{_example(error, file, ' ')}"
    if "array" in kinds:
        return "Write one item a line, each beginning with '- ', or [a, b]."
    if "boolean" in kinds:
        return "Write true or false, without quotes."
    if {"number", "integer"} & set(kinds) and isinstance(value, str):
        return "Write the number alone: no quotes, no unit, a point for decimals."
    if "integer" in kinds and isinstance(value, float):
        return "Write a number without decimals."
    return f"See the keys in the schema.{_example(error, file, ' ')}" if "object" in kinds else _advice(error, file)


def _missing_key(error: Any, pointer: str, file: _File) -> Iterator[Located]:
    for key in error.validator_value:
        if key not in error.instance:
            part = error.schema.get("properties", {}).get(key, {})
            yield file.fault(
                pointer,
                f"no '{key}'",
                f"the key '{key}'",
                f"Add it.{_example_text(followed(part, file.schema).get('examples', []), ' ')}",
            )


def _unknown_key(error: Any, pointer: str, file: _File) -> Iterator[Located]:
    known = sorted(known_keys(error.schema, file.schema))
    for key in error.instance:
        if key not in known:
            instead = REPLACED.get(str(key))
            remedy = f"It was replaced; write '{instead}'." if instead else _near_keys(str(key), known)
            yield file.fault(step_into(pointer, key), f"the unknown key '{key}'", "a key that exists", remedy)


def _near_keys(key: str, known: list[str]) -> str:
    """The key most likely intended; else all of a few, or the three nearest of many."""
    near = _nearest(key, known)
    if near or len(known) <= FEW_KEYS:
        return f"Did you mean '{near}'?" if near else f"Keys that exist here: {', '.join(known) or 'none'}."
    nearest = sorted(known, key=lambda name: _likeness(_plain(key), name), reverse=True)
    *others, last = (f"'{name}'" for name in nearest[:3])
    return f"The nearest of {len(known)} keys are {', '.join(others)} and {last}."


def _likeness(key: str, name: str) -> tuple[int, float]:
    """Similarity: shared words first ('loud_peak' has one of true_peak_max_dbtp), then shared letters."""
    words = [word for word in key.split("_") if len(word) > 2]
    shared = sum(any(part.startswith(word) for part in name.split("_")) for word in words)
    return shared, SequenceMatcher(None, key, name).ratio()


def _plain(word: str) -> str:
    return word.strip().lower().replace("-", "_").replace(" ", "_")


def _nearest(word: str, known: list[str]) -> str | None:
    plain = _plain(word)
    close = get_close_matches(plain, known, n=1, cutoff=0.6)
    inside = [key for key in known if len(plain) >= 3 and (plain in key or key in plain)]
    return close[0] if close else min(inside, key=len, default=None)


def _not_listed(error: Any, pointer: str, file: _File) -> Iterator[Located]:
    allowed = error.validator_value if error.validator == "enum" else [error.validator_value]
    words = [str(value) for value in allowed]
    near = _nearest(str(error.instance), words) if len(words) > 1 else None
    wanted = words[0] if len(words) == 1 else f"one of {', '.join(words)}"
    remedy = f"Did you mean {near}?" if near else f"Write {wanted}."
    yield file.fault(pointer, file.shown(pointer, error.instance), wanted, remedy)


def _out_of_range(error: Any, pointer: str, file: _File) -> Iterator[Located]:
    wanted = f"{RANGES[error.validator]} {error.validator_value}"
    yield file.fault(pointer, file.shown(pointer, error.instance), wanted, _advice(error, file))


def _wrong_size(error: Any, pointer: str, file: _File) -> Iterator[Located]:
    words, one, many = SIZES[error.validator]
    bound = error.validator_value
    size = len(error.instance)
    found = file.shown(pointer, error.instance) if size == 0 else f"{size} {one if size == 1 else many}"
    yield file.fault(pointer, found, f"{words} {bound} {one if bound == 1 else many}", _advice(error, file))


def _wrong_form(error: Any, pointer: str, file: _File) -> Iterator[Located]:
    form = FORMS[error.validator_value]
    yield file.fault(pointer, file.shown(pointer, error.instance), form.wanted, form.hint(error.instance))


def _wrong_pattern(error: Any, pointer: str, file: _File) -> Iterator[Located]:
    wanted = error.schema.get("description") or f"text of the form {error.validator_value}"
    yield file.fault(pointer, file.shown(pointer, error.instance), _phrase(wanted), _advice(error, file))


def _doubled(error: Any, pointer: str, file: _File) -> Iterator[Located]:
    items = list(error.instance)
    for index, item in enumerate(items):
        if item in items[:index]:
            at = step_into(pointer, index)
            yield file.fault(at, f"{file.shown(at, item)} a second time", "each item once", "Delete one.")


def _no_branch(error: Any, pointer: str, file: _File) -> Iterator[Located]:
    """Report the most likely branch: the one of the right kind that needs the fewest changes."""
    if not error.context:
        yield file.fault(
            pointer, file.shown(pointer, error.instance), "one of several forms, not two at once", _advice(error, file)
        )
        return
    branches: dict[Any, list[Any]] = {}
    for inner in error.context:
        branches.setdefault(inner.schema_path[0], []).append(inner)
    fitting = [inner for inner in branches.values() if not any(_is_kind_fault(fault) for fault in inner)]
    if fitting:
        for inner in _kind_first(min(fitting, key=_distance)):
            yield from _located(inner, file)
        return
    kinds = [
        word for inner in branches.values() for fault in inner if _is_kind_fault(fault) for word in _kinds_of(fault)
    ]
    wanted = " or ".join(dict.fromkeys(kinds))
    yield file.fault(pointer, file.shown(pointer, error.instance), wanted, _advice(error, file))


def _is_kind_fault(fault: Any) -> bool:
    return fault.validator in ("type", "const", "enum") and not fault.relative_path


def _kinds_of(fault: Any) -> list[str]:
    value = fault.validator_value
    if fault.validator == "type":
        return [_kind_words([value] if isinstance(value, str) else value)]
    return [", ".join(map(str, value)) if fault.validator == "enum" else str(value)]


def _distance(faults: list[Any]) -> tuple[int, int]:
    """Faults deeper inside mean that more of the branch matched."""
    return len(faults), -max(len(fault.relative_path) for fault in faults)


def _other(error: Any, pointer: str, file: _File) -> Iterator[Located]:
    wanted = error.schema.get("description") if isinstance(error.schema, Mapping) else None
    found = f"{file.shown(pointer, error.instance)}, which is not allowed here"
    yield file.fault(
        pointer, found, _phrase(wanted or f"a value that meets '{error.validator}' of the schema"), _advice(error, file)
    )


def _phrase(description: str) -> str:
    """A description's first sentence as the middle of a message."""
    sentence = description.strip().partition(". ")[0].rstrip(".")
    return sentence[:1].lower() + sentence[1:] if sentence[1:2].islower() or sentence[1:2] == " " else sentence


def _advice(error: Any, file: _File) -> str:
    return _example(error, file) or "Change it, or delete the line if it is not needed."


def _example(error: Any, file: _File, before: str = "") -> str:
    return _example_text(examples(error, file.schema), before)


def _example_text(examples: list[Any], before: str = "") -> str:
    return f"{before}Example: {examples[0]}" if examples else ""


RANGES = {
    "minimum": "at least",
    "maximum": "at most",
    "exclusiveMinimum": "more than",
    "exclusiveMaximum": "less than",
    "multipleOf": "a multiple of",
}
SIZES = {
    "minLength": ("at least", "character", "characters"),
    "maxLength": ("at most", "character", "characters"),
    "minItems": ("at least", "item", "items"),
    "maxItems": ("at most", "item", "items"),
    "minProperties": ("at least", "key", "keys"),
    "maxProperties": ("at most", "key", "keys"),
}

TELLERS: dict[str, Callable[[Any, str, _File], Iterator[Located]]] = {
    "type": _wrong_type,
    "required": _missing_key,
    "additionalProperties": _unknown_key,
    "unevaluatedProperties": _unknown_key,
    "enum": _not_listed,
    "const": _not_listed,
    **dict.fromkeys(RANGES, _out_of_range),
    **dict.fromkeys(SIZES, _wrong_size),
    "format": _wrong_form,
    "pattern": _wrong_pattern,
    "uniqueItems": _doubled,
    "anyOf": _no_branch,
    "oneOf": _no_branch,
}
