"""Faults of data against a JSON Schema are reported in our words, in file order."""

from __future__ import annotations

from typing import Any

import pytest

from delivery.intake.yaml.schema_faults import faults_of

SCHEMA: dict[str, Any] = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "type": "object",
    "unevaluatedProperties": False,
    "required": ["title"],
    "properties": {
        "title": {"type": "string", "minLength": 1, "examples": ["Low Water"]},
        "isrc": {"$ref": "#/$defs/isrc"},
        "upc": {"type": "string", "format": "barcode"},
        "day": {"type": "string", "format": "date"},
        "language": {"type": "string", "format": "language"},
        "kind": {"enum": ["album", "single", "ep"]},
        "fixed": {"const": "yes"},
        "revision": {"type": "integer", "minimum": 1, "maximum": 9},
        "gap": {"type": "number", "exclusiveMinimum": 0},
        "names": {"type": "array", "items": {"type": "string"}, "minItems": 1, "maxItems": 2, "uniqueItems": True},
        "loud": {"type": "boolean"},
        "shape": {"type": "string", "pattern": "^[a-z]+$", "description": "Small letters only."},
        "limit": {"oneOf": [{"$ref": "#/$defs/window"}, {"type": "number"}]},
        "odd": {"not": {"type": "string"}},
        "word": {"anyOf": [{"const": "off"}, {"type": "integer"}]},
    },
    "$defs": {
        "isrc": {"type": "string", "format": "isrc"},
        "window": {
            "type": "object",
            "additionalProperties": False,
            "minProperties": 1,
            "properties": {"at_least": {"type": "number"}, "at_most": {"type": "number"}},
        },
    },
}


def reported(data: Any, written: dict[str, str] | None = None, lines: dict[str, int] | None = None) -> list[str]:
    if isinstance(data, dict):
        data = {"title": "x", **data}
    return [str(fault) for fault in faults_of(data, SCHEMA, lines or {"": 1}, "r.yaml", written)]


@pytest.mark.parametrize(
    ("data", "message"),
    [
        ({"isrc": "ZZOSL260000"}, "isrc: found 'ZZOSL260000', wanted 12 letters and digits. It has 11: 1 is missing."),
        ({"isrc": "ZZOSL26000011"}, "It has 13: 1 is too many."),
        ({"isrc": "ZZ/OSL/2600001"}, "Not part of the code: /"),
        ({"upc": "200000014001"[:11]}, "wanted 12 digits (UPC) or 13 digits (EAN). It has 11: 1 is missing."),
        ({"upc": "0000000000000"}, "It has only zeros, which are a placeholder and no code: leave it out"),
        ({"upc": "4.00638E+12"}, "Not part of the code: + . E"),
        ({"day": "27.11.2026"}, "found '27.11.2026', wanted a date such as 2026-11-25. Write year-month-day"),
        ({"day": "2026-02-30"}, "There is no such day in the calendar."),
        ({"day": "2026-11-25T10:00:00"}, "without a time"),
        (
            {"language": "German"},
            "found 'German', wanted a language code of ISO 639, such as en, ja or pt-BR. Write de",
        ),
        ({"language": "qq"}, "Write the code, not the name"),
        ({"language": "en "}, "Write en for English."),
        ({"language": "S"}, "Write the code, not the name"),
        ({"kind": "Singel"}, "found 'Singel', wanted one of album, single, ep. Did you mean single?"),
        ({"kind": 7}, "found the number 7, wanted one of album, single, ep. Write one of album, single, ep."),
        ({"fixed": "no"}, "found 'no', wanted yes. Write yes."),
        ({"revision": 0}, "found the number 0, wanted at least 1."),
        ({"revision": 10}, "wanted at most 9."),
        ({"revision": 1.5}, "found the number 1.5, wanted a whole number. "),
        ({"revision": "two"}, "wanted a whole number. Write the number alone: no quotes, no unit"),
        ({"gap": 0}, "wanted more than 0."),
        ({"names": []}, "found an empty list, wanted at least 1 item."),
        ({"names": ["a", "b", "c"]}, "found 3 items, wanted at most 2 items."),
        ({"names": ["a", "a"]}, "r.yaml:1 names 2: found 'a' a second time, wanted each item once."),
        ({"names": "a"}, "found 'a', wanted a list. Write one item a line, each beginning with '- '"),
        ({"loud": "yes"}, "found 'yes', wanted true or false. Write true or false, without quotes."),
        ({"title": ["x"]}, "found a list of 1, wanted text. Put it in quotes if it is one text. Example: Low Water"),
        ({"title": ""}, "found an empty text, wanted at least 1 character. Example: Low Water"),
        ({"title": None}, "found nothing, wanted text. Fill it in, or delete the line. Example: Low Water"),
        ({"title": True}, "found the bare word true, wanted text. Put it in quotes"),
        ({"shape": "ABC"}, "found 'ABC', wanted small letters only."),
        (
            {"limit": {"at_lest": 1}},
            "limit at_lest: found the unknown key 'at_lest', wanted a key that exists. Did you mean 'at_least'?",
        ),
        ({"limit": {"at_most": "x"}}, "limit at_most: found 'x', wanted a number."),
        ({"limit": {}}, "limit: found an empty group of keys, wanted at least 1 key."),
        ({"limit": "loud"}, "limit: found 'loud', wanted a group of keys or a number."),
        ({"odd": "x"}, "odd: found 'x', which is not allowed here, wanted a value that meets 'not' of the schema."),
        ({"word": "of"}, "word: found 'of', wanted off or a whole number."),
        (
            {"titel": "x"},
            "r.yaml:1 titel: found the unknown key 'titel', wanted a key that exists. Did you mean 'title'?",
        ),
        ({"zzz": "x"}, "The nearest of 15 keys are 'day', 'fixed' and 'gap'."),
        (["x"], "r.yaml:1: found a list of 1, wanted a group of keys."),
    ],
)
def test_one_fault_one_message(data: Any, message: str) -> None:
    (text,) = reported(data)
    assert message in text


def test_a_missing_key_is_reported_with_an_example() -> None:
    assert [str(fault) for fault in faults_of({}, SCHEMA, {"": 3}, "r.yaml")] == [
        "r.yaml:3: found no 'title', wanted the key 'title'. Add it. Example: Low Water"
    ]


def test_a_code_without_quotes_keeps_its_zeros_in_the_remedy() -> None:
    (text,) = reported({"upc": 36000291452}, written={"upc": "036000291452"})
    assert "found the number 036000291452, wanted text. Put it in quotes" in text
    assert text.endswith('upc: "036000291452"')


def test_faults_are_listed_in_file_order_and_once() -> None:
    lines = {"": 1, "kind": 9, "day": 2, "upc": 5}
    places = [fault.place for fault in faults_of({"title": "x", "kind": 1, "day": "x", "upc": "x"}, SCHEMA, lines, "r")]
    assert places == ["r:2 day", "r:5 upc", "r:9 kind"]


def test_right_data_have_no_faults() -> None:
    """The codes are the worked examples of ISO 3901 (display form) and of GS1 (629104150021, check digit 3)."""
    assert reported({"isrc": "US-SKG-19-12345", "upc": "6291041500213", "day": "2024-02-29", "language": "zxx"}) == []
    for language in ("en", "deu", "ger", "pt-BR", "zh-Hant-TW", "qaa", "yue", "und", "cel"):
        assert reported({"language": language}) == []


def test_the_librarys_own_sentences_never_appear() -> None:
    from jsonschema import Draft202012Validator

    data = {"titel": 1, "isrc": 4, "limit": {"x": 1}, "names": [1, 1, 1], "kind": "x", "revision": -1, "odd": "x"}
    text = " ".join(reported(data))
    raw = [error.message for error in Draft202012Validator(SCHEMA).iter_errors({"title": "x", **data})]
    assert len(raw) > 6
    assert not [sentence for sentence in raw if sentence in text]
