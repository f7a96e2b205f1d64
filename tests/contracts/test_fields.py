"""The table of label-copy fields: no empty cell, every cell true, and a new row is all that a new field needs."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from delivery.intake.sheet.write import RELEASE_KEYS, TRACK_KEYS
from delivery.intake.shipped_files import shipped_schema
from delivery.model.fields import FIELDS, fields_kept
from delivery.model.fields.row import (
    FORMATS,
    HEADING,
    NO_TAG,
    NOT_IN_FILE,
    NOT_PRINTED,
    NOT_REQUIRED,
    NOT_STORED,
    Field,
    Kept,
    People,
)
from delivery.model.release import Credit
from delivery.report.label_copy import jsonld
from delivery.report.view.headings import Words
from delivery.rules.label_copy import RELEASE_FIELDS, TRACK_FIELDS
from delivery.tags.fields import FIELDS as TAGS
from delivery.tags.values import tag_values
from tests.contracts import added_fields
from tests.report.test_label_copy import FULL, PLAIN, RELEASE, view

ROOT = Path(__file__).parents[2]
NAMED = tuple(Credit("Ada", field.role) for field in fields_kept(Kept.CREDIT))
EVERYTHING = replace(FULL, credits=NAMED + FULL.credits, texts=tuple((f.id, f.example) for f in fields_kept(Kept.TEXT)))
ALBUM = replace(
    RELEASE,
    tracks=(EVERYTHING, PLAIN),
    texts=tuple((f.id, f.example) for f in fields_kept(Kept.TEXT, of_release=True)),
)
"""Every field of the table is supplied, those of rows that were added later included."""
each_field = pytest.mark.parametrize("field", FIELDS.values(), ids=list(FIELDS))


@each_field
def test_no_cell_is_empty(field: Field) -> None:
    """What does not exist is written out: an empty cell could be a forgotten one."""
    texts = ("id", "title", "meaning", "words", "key", "json_ld", "required_as", "on_sheet")
    assert all(getattr(field, name).strip() for name in texts)
    if field.tag is not NO_TAG:
        assert field.tag.id
        assert field.tag.meaning
        assert all(getattr(field.tag, format_).strip() for format_ in FORMATS)
        assert any(field.tag.places(format_) for format_ in FORMATS)


@each_field
def test_a_row_suits_how_its_value_is_kept(field: Field) -> None:
    named = field.kept in (Kept.CREDIT, Kept.ARTIST)
    assert bool(field.role) is named
    assert not named or field.people in (People.ACT, People.PERSON)
    assert bool(field.example) is (field.kept is Kept.TEXT)
    assert field.kept is not Kept.TEXT or field.key == field.id, "documents name a text by its id"
    assert field.kept is not Kept.CREDIT or (field.key, field.on_sheet) == ("credits", "Credits")


def test_no_two_rows_share_a_role_or_a_tag() -> None:
    for named in (
        [f.role for f in FIELDS.values() if f.role],
        [f.tag.id for f in FIELDS.values() if f.tag is not NO_TAG],
    ):
        assert len(named) == len(set(named))


@each_field
def test_the_key_is_one_of_the_release_file(field: Field) -> None:
    schema = shipped_schema("release.schema.json")
    known = schema["properties"] if field.of_release or field.id == "isni" else schema["$defs"]["track"]["properties"]
    assert {*(() if field.key == NOT_IN_FILE else (field.key,)), *field.about} <= set(known)
    written = RELEASE_KEYS if field.of_release or field.id == "isni" else TRACK_KEYS
    assert field.key in (*written.values(), NOT_IN_FILE)


@each_field
def test_what_can_be_required_is_a_rule(field: Field) -> None:
    known = RELEASE_FIELDS if field.of_release else TRACK_FIELDS
    assert field.required_as in (*known, NOT_REQUIRED)


@each_field
def test_a_supplied_field_has_the_tag_of_its_row(field: Field) -> None:
    """Every field that a tag format stores is given a text by the release where it is supplied."""
    values = tag_values(ALBUM, EVERYTHING) | tag_values(ALBUM, PLAIN)
    assert field.tag is NO_TAG or values.get(field.tag.id), field.id
    assert field.tag is NO_TAG or TAGS[field.tag.id] is field.tag


@each_field
def test_json_ld_has_the_property_of_the_row(field: Field) -> None:
    keys = set(re.findall(r'"(\w+)":', jsonld.render(view(ALBUM)).decode("utf-8")))
    assert field.json_ld == NOT_STORED or field.json_ld in keys


@each_field
def test_the_sheet_prints_the_label_of_the_row(field: Field) -> None:
    shown = view(ALBUM)
    facts = {fact.label for fact in (*shown.facts, *shown.tracks[0].facts, *shown.tracks[1].facts)}
    routes = {"Goes to"}  # only where specs are delivered: tests of routes
    assert field.on_sheet in {*facts, *Words().order_columns, "Length", *routes, HEADING, NOT_PRINTED}


@pytest.fixture(scope="module")
def added(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """What the program does with three rows that are not in its code: names, a text of tracks, one of the release."""
    command = [sys.executable, "-m", "tests.contracts.added_fields", str(tmp_path_factory.mktemp("added"))]
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


LEADERS = [{"name": name, "role": "choir leader"} for name in ("Ilse Merrow", "Tam Varrick")]


def test_a_new_row_is_in_the_schemas(added: Any) -> None:
    release = added["schemas"]["release.schema.json"]
    assert release["$defs"]["track"]["properties"]["dedication"]["examples"] == ["for Ada"]
    assert release["properties"]["sponsor"]["$ref"] == "#/$defs/text"
    roles = release["$defs"]["credit"]["anyOf"][1]["properties"]["role"]["description"]
    assert "choir leader" in roles
    documents = added["schemas"]["output.schema.json"]["properties"]
    assert "dedication" in documents["sources"]["items"]["properties"]
    assert "sponsor" in documents["release"]["properties"]
    spec = added["schemas"]["spec.schema.json"]["$defs"]
    assert {"choir_leaders", "dedication"} <= set(spec["track_fields"]["items"]["enum"])
    assert "sponsor" in spec["release_fields"]["items"]["enum"]


def test_a_new_row_is_read_from_a_sheet(added: Any) -> None:
    """By a heading of the row's words; names are separated as those of persons."""
    sheet = added["sheet"]
    assert sheet["faults"] == []
    assert sheet["release"]["sponsor"] == "Ostrelune Fund"
    assert (sheet["track"]["dedication"], sheet["track"]["credits"]) == ("for Ada", LEADERS)
    assert {"dedication", "credits"} <= set(sheet["about"])


def test_a_new_row_is_tagged_and_read_back(added: Any) -> None:
    wanted = {"choirleaders": "Ilse Merrow; Tam Varrick", "dedication": "for Ada", "sponsor": "Ostrelune Fund"}
    for container, tags in added["tags"].items():
        assert {name: tags.get(name) for name in wanted} == wanted, container


def test_a_new_row_is_in_every_form_of_label_copy(added: Any) -> None:
    assert (added["csv"]["dedication"], added["csv"]["credits"]) == ("for Ada", LEADERS)
    assert added["json"]["tracks"][0]["dedication"] == "for Ada"
    assert added["json"]["release"]["sponsor"] == "Ostrelune Fund"
    assert "choir leader: Ilse Merrow and Tam Varrick; First recorded by" not in added["text"]
    assert "choir leader: Ilse Merrow and Tam Varrick; Dedicated: for Ada\n" in added["text"]
    album = added["json_ld"]
    recording = album["track"]["itemListElement"][0]["item"]
    assert album["funder"] == "Ostrelune Fund"
    assert recording["abstract"] == "for Ada"
    assert [one["roleName"] for one in recording["contributor"]] == ["choir leader"] * 2


def test_a_new_row_is_on_the_sheet(added: Any) -> None:
    facts = added["facts"]
    assert facts["Credits"] == "choir leader: Ilse Merrow and Tam Varrick"
    assert (facts["Dedicated"], facts["Sponsored by"]) == ("for Ada", "Ostrelune Fund")


def test_a_spec_can_require_a_new_row(added: Any) -> None:
    assert added["met"] == []
    assert added["not_met"] == ["choir_leaders", "dedication", "sponsor"]


def test_no_code_names_the_new_rows() -> None:
    """Else the test above would prove nothing."""
    code = "".join(path.read_text(encoding="utf-8") for path in (ROOT / "delivery").rglob("*.py"))
    assert not [field.id for field in added_fields.ADDED if field.id in code]
    assert not {field.id for field in added_fields.ADDED} & set(FIELDS)
    assert fields_kept(Kept.TEXT), "at least one field of the table goes this way"
