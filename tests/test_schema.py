"""The schema of spec files is closed and sound; catalogue and sentences are made from the rules."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from delivery.errors import Unusable
from delivery.formats import containers
from delivery.intake import load_spec, spec_names
from delivery.intake.shipped_files import shipped
from delivery.intake.yaml.schema_formats import FORMS
from delivery.model.finding import Weight
from delivery.rules import rules
from delivery.rules.feasible import ALWAYS
from delivery.schema import catalogue, difference, explain, new_spec, spec_schema
from delivery.schema.__main__ import generated
from tests.rules.case_files import requirement, spec_of

KEYWORDS = {
    "$schema", "$defs", "$ref", "title", "description", "examples",
    "type", "properties", "required", "additionalProperties", "anyOf", "oneOf",
    "enum", "const", "pattern", "items", "minItems", "uniqueItems", "minLength", "minimum", "maximum", "format",
}  # fmt: skip
TODAY = date(2026, 11, 25)


def schemas(schema: Any) -> Iterator[dict[str, Any]]:
    """*schema* and every schema inside it."""
    yield schema
    inside = [*schema.get("properties", {}).values(), *schema.get("$defs", {}).values()]
    inside += [one for word in ("anyOf", "oneOf") for one in schema.get(word, ())]
    inside += [schema["items"]] if "items" in schema else []
    for one in inside:
        yield from schemas(one)


def test_schema_obeys_the_meta_schema() -> None:
    """JSON Schema draft 2020-12, by the validator's own copy of the meta-schema."""
    Draft202012Validator.check_schema(spec_schema())


def test_no_keyword_or_format_that_would_pass_in_silence() -> None:
    for schema in schemas(spec_schema()):
        assert set(schema) <= KEYWORDS
        assert schema.get("format") in {None, *FORMS}


def test_every_object_is_closed_and_every_reference_lands() -> None:
    whole = spec_schema()
    objects = [schema for schema in schemas(whole) if "properties" in schema or schema.get("type") == "object"]
    assert len(objects) > len(rules())
    assert all(schema["additionalProperties"] is False and schema["type"] == "object" for schema in objects)
    references = {schema["$ref"] for schema in schemas(whole) if "$ref" in schema}
    assert {reference.removeprefix("#/$defs/") for reference in references} <= set(whole["$defs"])


def test_sign_can_only_be_a_should() -> None:
    requires = spec_schema()["properties"]["requires"]["properties"]
    for rule in rules().values():
        words = requires[rule.id]["anyOf"][1]["properties"].keys() & {"must", "should"}
        assert words == ({"must", "should"} if rule.weight is Weight.FACT else {"should"})


@pytest.mark.parametrize("name", generated())
def test_generated_file_is_up_to_date(name: str) -> None:
    """Run `python -m delivery.schema` after changing a rule, a container, a dither or a paper."""
    assert shipped(name).read_text(encoding="utf-8") == generated()[name]


def test_catalogue_names_every_rule_once() -> None:
    page = catalogue()
    assert all(page.count(f"| `{rule.id}` |") == 1 for rule in rules().values())
    assert all(page.count(f"| `{check}` | ") == 1 for check in ALWAYS)


@pytest.mark.parametrize("name", [name for name, _ in spec_names()])
def test_explain_prints_every_limit_with_source_and_date(name: str) -> None:
    spec = load_spec(name)
    reported = explain(spec)
    requested = [line for line in reported if line.startswith(("Must: ", "Should: "))]
    assert len(requested) == len(spec.requirements)
    assert all(any(f"checked {one.checked.isoformat()})" in line for line in requested) for one in spec.requirements)
    assert all("checked 2026-11-2" in line for line in requested)
    assert all(any(one.source in line for line in requested) for one in spec.requirements)
    assert "{" not in "".join(requested)


def test_explained_limit_reads_plainly() -> None:
    reported = explain(load_spec("broadcast-r128"))
    assert any(
        line.startswith("Must: the integrated loudness is -23.20 to -22.80 LUFS, best -23.00 LUFS (EBU R 128 v5")
        for line in reported
    )
    assert "The level is changed by plain gain to meet the loudness target (each track by itself)." in reported
    assert "It inherits from store-master-24 and store-base." in explain(load_spec("store-master-high-rate"))


def test_difference_names_limits_weights_and_steps() -> None:
    one = spec_of(requirement("true_peak_max_dbtp", -1.0), requirement("tail_s", {"at_most": 10}))
    other = replace(spec_of(requirement("true_peak_max_dbtp", -1.0, must=False)), id="other", name_template="{title}")
    assert difference(one, other) == [
        "tail_s: invented must: at most 10.00 s; other does not require it.",
        "true_peak_max_dbtp: invented must: at most -1.00 dBTP; other should: at most -1.00 dBTP.",
        "name: invented: Files are named '{disc_track} {title}'. other: Files are named '{title}'.",
    ]


def test_specs_with_equal_requirements_do_not_differ() -> None:
    one = load_spec("cd-rate-16")
    assert difference(one, one) == []
    assert difference(one, replace(one, title="Another", checked=date(2020, 1, 1))) == []


def test_new_spec_loads_and_its_comments_name_every_key(tmp_path: Path) -> None:
    text = new_spec("harbour-library", "store-master-24", TODAY)
    (tmp_path / "harbour-library.yaml").write_text(text, encoding="utf-8")
    spec = load_spec("harbour-library", (tmp_path,))
    parent = load_spec("store-master-24")
    assert difference(spec, parent) == []
    assert spec.lineage == ("store-master-24", "store-base")
    assert spec.checked == TODAY
    assert f"list of container ids, the preferred one first: {', '.join(containers())}" in text
    assert "list of codings, the preferred one first: aac, float, mp3, opus, pcm" in text
    assert all(f"  # {rule.id}: " in text for rule in rules().values() if rule.id != "finite_samples")


@pytest.mark.parametrize("name", ["", "My Spec", "../up", "-x", "a/b", "Größe"])
def test_new_spec_with_a_name_that_is_no_file_name_is_refused(name: str) -> None:
    with pytest.raises(Unusable, match="small letters, digits, hyphens"):
        new_spec(name, "store-base", TODAY)
