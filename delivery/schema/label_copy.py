"""The parts of the schemas of release files and documents that follow label-copy fields and reports."""

from __future__ import annotations

from typing import Any

from delivery.model.fields import FIELDS, fields_kept
from delivery.model.fields.row import Field, Kept
from delivery.report.registry import on_request

Schema = dict[str, Any]


def release_schema(committed: Schema) -> Schema:
    """The schema of release files with each text of the table as a property, roles of credits and reports by name."""
    track = committed["$defs"]["track"]
    texts = track["properties"] | {field.key: _text(field) for field in fields_kept(Kept.TEXT)}
    defs = committed["$defs"] | {
        "track": track | {"properties": texts},
        "credit": _credit(committed["$defs"]["credit"]),
    }
    of_release = {field.key: _text(field) for field in fields_kept(Kept.TEXT, of_release=True)}
    papers = committed["properties"]["papers"] | {"items": {"enum": list(on_request())}}
    return committed | {"properties": committed["properties"] | of_release | {"papers": papers}, "$defs": defs}


def documents_schema(committed: Schema) -> Schema:
    """The schema of data documents with each text of the table as a property of sources or release."""
    properties = dict(committed["properties"])
    source = properties["sources"]["items"]
    properties["sources"] = properties["sources"] | {"items": _with_texts(source, of_release=False)}
    properties["release"] = _with_texts(properties["release"], of_release=True)
    return committed | {"properties": properties}


def _with_texts(schema: Schema, *, of_release: bool) -> Schema:
    texts = {field.id: {"type": "string"} for field in fields_kept(Kept.TEXT, of_release=of_release)}
    return schema | {"properties": schema["properties"] | texts}


def _text(field: Field) -> Schema:
    return {
        "$ref": "#/$defs/text",
        "description": f"{field.title}: {field.meaning}.",
        "examples": [field.example],
    }


def _credit(schema: Schema) -> Schema:
    text, full = schema["anyOf"]
    roles = ", ".join(field.role for field in FIELDS.values() if field.role and field.role != "main")
    role = full["properties"]["role"] | {
        "description": f"What the name did: {roles}, or any other function. Without it: main."
    }
    return schema | {"anyOf": [text, full | {"properties": full["properties"] | {"role": role}}]}
