"""Look-ups in a JSON Schema: targets of references, existing keys, nearest examples. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

Schema = Mapping[str, Any]

BRANCHES = ("allOf", "anyOf", "oneOf")
INNER_VALUES = ("properties", "items", "prefixItems", "additionalProperties", "patternProperties")


def known_keys(schema: Any, root: Schema) -> set[str]:
    """Keys that *schema* defines, in all its branches."""
    if not isinstance(schema, Mapping):
        return set()
    keys = set(schema.get("properties", {}))
    parts = [part for word in ("allOf", "anyOf", "oneOf") for part in schema.get(word, ())]
    parts += [schema[word] for word in ("if", "then", "else") if word in schema]
    if "$ref" in schema:
        parts.append(target(schema["$ref"], root))
    return keys.union(*(known_keys(part, root) for part in parts))


def followed(part: Any, root: Schema) -> Schema:
    """*part* with its reference into the same file resolved."""
    if not isinstance(part, Mapping):
        return {}
    reference = part.get("$ref", "")
    return {**followed(target(reference, root), root), **part} if reference.startswith("#/") else part


def target(reference: str, root: Schema) -> Any:
    """Target of '#/$defs/text'; references to other files are not resolved."""
    at: Any = root
    for step in reference.removeprefix("#/").split("/"):
        at = at.get(step.replace("~1", "/").replace("~0", "~"), {})
    return at


def examples(error: Any, root: Schema) -> list[Any]:
    """The nearest examples: beside a reference that led to the schema, else its own.

    The library leaves '$ref' out of its paths: if a step is not found, the reference is followed.
    """
    part: Any = root
    nearest: list[Any] = []
    for step in error.absolute_schema_path:
        while isinstance(part, Mapping) and step not in part and "$ref" in part:
            nearest = nearest or part.get("examples", [])
            part = target(part["$ref"], root)
        if step in BRANCHES:
            nearest = nearest or part.get("examples", [])
        elif step in INNER_VALUES:
            nearest = []
        part = part[step]
    own: list[Any] = error.schema.get("examples", []) if isinstance(error.schema, Mapping) else []
    return nearest or own
