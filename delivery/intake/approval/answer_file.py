"""The file that the form on the HTML sheet makes: JSON, read strictly. Pure."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date
from typing import Any

from delivery.errors import Unusable
from delivery.intake.approval.answer import Answer, Request
from delivery.intake.shipped_files import shipped_schema
from delivery.intake.yaml.quoting import one_line
from delivery.intake.yaml.schema_faults import faults_of
from delivery.intake.yaml.schema_formats import seconds_of

SCHEMA = "approval.schema.json"
FORM = "delivery-approval/1"
_REMEDY = "Ask for the file again, or record the answer by hand: delivery approve RELEASE --by NAME --date DAY."


def from_json(text: str, name: str) -> Answer:
    """The answer in *text*.

    Raises
    ------
    Unusable : no JSON, another form, or a value that the form does not make
    """
    data = _checked(_parsed(text, name), name)
    tracks = data["tracks"]
    numbers = [track["number"] for track in tracks]
    if len(set(numbers)) != len(numbers):
        raise _unusable(name, "a track number twice", "each track once")
    requests = [_request(one, track["number"]) for track in tracks for one in track["requests"]]
    both = next((track["number"] for track in tracks if track["approved"] and track["requests"]), None)
    if both is not None:
        raise _unusable(name, f"track {both} approved, with a change requested", "one of the two")
    if data["remark"].strip():
        requests.append(Request(one_line(data["remark"])))
    return Answer(
        approved=tuple(track["number"] for track in tracks if track["approved"]),
        requests=tuple(requests),
        by=one_line(data["by"]),
        dated=date.fromisoformat(data["date"]),
        audio_hashes={track["number"]: track["audio_hash"] for track in tracks},
        label_copy=data["label_copy"],
        revision=data["revision"],
    )


def _request(data: Mapping[str, Any], number: str) -> Request:
    at = data["at"]
    return Request(one_line(data["what"]), number, seconds_of(at) if at else None)


def _parsed(text: str, name: str) -> Any:
    try:
        return json.loads(text, object_pairs_hook=_once, parse_constant=_no_constant)
    except (ValueError, RecursionError) as fault:
        line = getattr(fault, "lineno", None)
        place = f"{name}:{line}" if line else name
        raise _unusable(
            place, f"no valid JSON ({getattr(fault, 'msg', fault)})", "the file as the sheet made it"
        ) from fault


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    if len({key for key, _ in pairs}) != len(pairs):
        raise ValueError("a key twice")
    return dict(pairs)


def _no_constant(text: str) -> Any:
    raise ValueError(f"{text} is no number")


def _checked(data: Any, name: str) -> Any:
    if isinstance(data, dict) and data.get("form") != FORM:
        raise _unusable(name, f"the form {str(data.get('form'))[:40]!r}", f"{FORM!r}")
    for fault in faults_of(data, shipped_schema(SCHEMA), {}, name):
        raise _unusable(fault.place, fault.found[:200], "the file as the sheet made it")
    try:
        date.fromisoformat(data["date"])
    except ValueError as fault:
        raise _unusable(f"{name} date", repr(data["date"]), "a day of the calendar") from fault
    return data


def _unusable(place: str, found: str, wanted: str) -> Unusable:
    return Unusable(place, found, wanted, _REMEDY)
