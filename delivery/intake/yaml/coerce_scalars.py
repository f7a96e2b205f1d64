"""Read scalars as intended: a key left empty is absent, a number in a text field is the text as written. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from delivery.intake.yaml.source_locations import step_into

Schema = Mapping[str, Any]


def coerced(value: Any, schema: Schema, written: Mapping[str, str], root: Schema, pointer: str = "") -> Any:
    """A copy of *value* without empty keys, and with source texts where the schema takes any one-line value as text.

    ``title: 1999`` is the text '1999', ``title: 007`` is '007', ``title: true`` is 'true', each exactly as written;
    ``version:`` without a value is no key at all. A required key stays, so that its fault has its own line.
    Codes and dates are not touched: an unquoted bar code has lost its leading zero in other programs.
    """
    parts = list(_parts(schema, root))
    if isinstance(value, dict):
        return _group(value, parts, written, root, pointer)
    if isinstance(value, list):
        items: Schema = next((part["items"] for part in parts if "items" in part), {})
        return [coerced(item, items, written, root, step_into(pointer, index)) for index, item in enumerate(value)]
    takes_any = any({"string", "number", "boolean"} <= set(_types(part)) for part in parts)
    return written.get(pointer, value) if takes_any and value is not None else value


def _group(
    value: dict[str, Any], parts: list[Schema], written: Mapping[str, str], root: Schema, pointer: str
) -> dict[str, Any]:
    known = {key: part for one in reversed(parts) for key, part in one.get("properties", {}).items()}
    required = {key for one in parts for key in one.get("required", ())}
    return {
        key: coerced(inner, known.get(key, {}), written, root, step_into(pointer, key))
        for key, inner in value.items()
        if key in required or key not in known or inner not in (None, "")
    }


def _parts(schema: Schema, root: Schema) -> Iterator[Schema]:
    """The schema itself, what it refers to inside the file, and its branches."""
    yield schema
    reference = schema.get("$ref", "")
    if reference.startswith("#/$defs/"):
        yield from _parts(root["$defs"][reference.removeprefix("#/$defs/")], root)
    for branch in schema.get("anyOf", ()):
        yield from _parts(branch, root)


def _types(schema: Schema) -> list[str]:
    types = schema.get("type", [])
    return [types] if isinstance(types, str) else types


def lost_texts(value: Any, after_hash: Mapping[str, str], pointer: str = "") -> Iterator[tuple[str, str, str]]:
    """Pointer, text and the part YAML took for a comment, for each text cut by a ' #' ('Song #9' reads 'Song')."""
    inside: Iterator[tuple[Any, Any]] = iter(())
    if isinstance(value, dict):
        inside = iter(value.items())
    elif isinstance(value, list):
        inside = iter(enumerate(value))
    elif pointer in after_hash:
        yield pointer, str(value), after_hash[pointer]
    for key, inner in inside:
        yield from lost_texts(inner, after_hash, step_into(pointer, key))
