"""The shipped specs folder is found installed and in a checkout, and its schemas hide nothing."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from delivery.errors import Unusable
from delivery.intake import shipped
from delivery.intake.shipped_files import shipped_schema
from delivery.intake.yaml.schema_formats import FORMS

SCHEMAS = ("release.schema.json", "studio.schema.json")
KEYWORDS = {
    "$schema", "$id", "$ref", "$defs", "title", "description", "examples", "type", "required", "properties", "items",
    "anyOf", "enum", "pattern", "format", "maxLength", "minimum",
    "maximum", "minItems", "uniqueItems", "unevaluatedProperties",
}  # fmt: skip


def put(path: Path) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("x", encoding="utf-8")
    return path


def test_the_checkouts_folder_beside_the_package(tmp_path: Path) -> None:
    beside = put(tmp_path / "specs" / "a.yaml")
    assert shipped("a.yaml", tmp_path / "delivery") == beside


def test_the_installed_folder_inside_the_package_comes_first(tmp_path: Path) -> None:
    put(tmp_path / "specs" / "a.yaml")
    inside = put(tmp_path / "delivery" / "specs" / "a.yaml")
    assert shipped("a.yaml", tmp_path / "delivery") == inside


def test_an_incomplete_installation_is_reported(tmp_path: Path) -> None:
    with pytest.raises(Unusable, match=r"a\.yaml: found no such file"):
        shipped("a.yaml", tmp_path / "delivery")


def parts(schema: Any) -> Iterator[dict[str, Any]]:
    """Every subschema, names of properties and definitions left out."""
    yield schema
    inner = [*schema.get("properties", {}).values(), *schema.get("$defs", {}).values(), *schema.get("anyOf", ())]
    for one in [*inner, *([schema["items"]] if "items" in schema else [])]:
        yield from parts(one)


@pytest.mark.parametrize("name", SCHEMAS)
def test_schemas_obey_draft_2020_12(name: str) -> None:
    Draft202012Validator.check_schema(shipped_schema(name))


@pytest.mark.parametrize("name", SCHEMAS)
def test_schemas_are_closed_and_use_only_what_is_checked(name: str) -> None:
    """A validator passes unknown keywords and formats silently."""
    for part in parts(shipped_schema(name)):
        assert set(part) <= KEYWORDS, part
        assert part.get("format", "date") in FORMS, part
        if part.get("type") == "object":
            assert part["unevaluatedProperties"] is False, part


@pytest.mark.parametrize("name", SCHEMAS)
def test_every_key_is_described_and_its_examples_are_right(name: str) -> None:
    schema = shipped_schema(name)
    keys = [(key, value) for part in parts(schema) for key, value in part.get("properties", {}).items()]
    assert len(keys) > 5
    for key, value in keys:
        assert value["description"].endswith("."), key
        checker = Draft202012Validator({"$defs": schema["$defs"], **value})
        for example in value["examples"] if value.get("items", {}).get("$ref") is None else value.get("examples", []):
            assert checker.is_valid(example), (key, example)
