"""The data document obeys its schema, holds what was measured unrounded, and is the same bytes every time."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from jsonschema import Draft202012Validator

from delivery.model.figure import Reading
from delivery.model.part import Delivery
from delivery.report.data import document as data_json
from delivery.report.view.make import view_of
from tests import samples

SCHEMA = json.loads((Path(__file__).parents[2] / "specs" / "output.schema.json").read_text(encoding="utf-8"))
DELIVERIES = {"whole": samples.delivery(3), "troubled": samples.troubled(6), "bare": samples.bare()}


def render(delivery: Delivery) -> bytes:
    return data_json.render(view_of(delivery, samples.FIGURES))


def read(delivery: Delivery) -> Any:
    return json.loads(render(delivery))


@pytest.mark.parametrize("name", sorted(DELIVERIES))
def test_it_obeys_the_schema(name: str) -> None:
    assert [error.message for error in Draft202012Validator(SCHEMA).iter_errors(read(DELIVERIES[name]))] == []


def test_the_schema_is_one() -> None:
    Draft202012Validator.check_schema(SCHEMA)


def objects(schema: Any) -> Iterator[dict[str, Any]]:
    if isinstance(schema, dict):
        if schema.get("type") == "object":
            yield schema
        for value in schema.values():
            yield from objects(value)
    if isinstance(schema, list):
        for value in schema:
            yield from objects(value)


def test_every_object_of_the_schema_is_closed() -> None:
    """jsonschema passes unknown keys silently where an object is open."""
    found = list(objects(SCHEMA))
    assert len(found) > 10
    assert all(schema.get("unevaluatedProperties") is False for schema in found)


@pytest.mark.parametrize("at", [(), ("release",), ("parts", 0), ("parts", 0, "shipped"), ("parts", 0, "chain")])
def test_an_unknown_key_breaks_the_schema_anywhere(at: tuple[Any, ...]) -> None:
    document = read(DELIVERIES["whole"])
    place = document
    for step in at:
        place = place[step]
    place["unheard"] = 1
    assert not Draft202012Validator(SCHEMA).is_valid(document)


def test_figures_are_unrounded_and_missing_ones_have_reasons() -> None:
    shipped = DELIVERIES["whole"].parts[-1].shipped
    assert shipped is not None
    found = read(DELIVERIES["whole"])["parts"][-1]["shipped"]
    assert found["figures"]["true_peak_dbtp"] == shipped.measurement.value("true_peak_dbtp")
    assert found["figures"]["bits"] is None
    assert found["why_missing"]["bits"] == "a lossy coding has none"
    assert (found["path"], found["sha256"], found["md5"]) == (shipped.path, shipped.sha256, shipped.md5)
    assert found["audio_hash"] == shipped.measurement.value("audio_hash")


def test_curves_are_left_out() -> None:
    figures = read(DELIVERIES["whole"])["sources"][0]["measured"]["figures"]
    assert not set(figures) & data_json.CURVES
    assert len(figures["third_octave_db"]) == 31


def test_it_is_the_same_bytes_with_sorted_keys_and_unix_line_ends() -> None:
    data = render(DELIVERIES["troubled"])
    assert data == render(samples.troubled(6))
    assert b"\r" not in data
    assert data.endswith(b"}\n")
    assert list(json.loads(data)) == sorted(json.loads(data))


def test_numbers_of_array_libraries_are_plain_numbers() -> None:
    changed = with_figure(Reading(np.float64(-1.25)))
    assert read(changed)["sources"][0]["measured"]["figures"]["true_peak_dbtp"] == -1.25


def test_an_invented_number_is_refused() -> None:
    with pytest.raises(ValueError, match="JSON compliant"):
        render(with_figure(Reading(float("nan"))))


def with_figure(reading: Reading) -> Delivery:
    whole = samples.delivery(1)
    source = whole.sources[0]
    assert source.measurement is not None
    measured = source.measurement.with_readings({"true_peak_dbtp": reading})
    return replace(whole, sources=(replace(source, measurement=measured),))


def test_no_path_of_this_machine_is_printed(tmp_path: Path) -> None:
    album = samples.release(("Tidal",), tmp_path)
    source = replace(samples.delivery(1).sources[0], track=album.tracks[0])
    whole = replace(samples.delivery(1), release=album, sources=(source,))
    assert str(tmp_path) not in render(whole).decode("utf-8")
    assert read(whole)["sources"][0]["file"] == "01 master.wav"
