"""The JSON Schema of spec files, assembled from rules, containers, dithers and papers. Every object is closed."""

from __future__ import annotations

import pkgutil
from collections.abc import Mapping
from typing import Any

import delivery.pack.papers
from delivery.dsp.writing.dither import dithers
from delivery.model.carried import KEEP_CHUNKS, KEEP_TAGS
from delivery.model.carrier import PARTS
from delivery.model.dual_mono import TWO_LOUDSPEAKERS_LU
from delivery.model.finding import Weight
from delivery.report.registry import on_request
from delivery.rules import Rule, rules
from delivery.schema.catalogue import NAMED

Schema = dict[str, Any]

DATE: Schema = {"type": "string", "format": "date", "examples": ["2026-11-25"]}
SOURCE: Schema = {
    "type": "string",
    "minLength": 1,
    "description": "document and clause, or 'common practice, no source'",
    "examples": ["common practice, no source"],
}
SAID: Schema = {word: {"$ref": f"#/$defs/{word}"} for word in ("source", "checked", "note")}
"""Properties of every requirement."""


def spec_schema() -> Schema:
    """JSON Schema (draft 2020-12) of one spec file, before its parents are merged in."""
    requires = rules()
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "What one recipient requires",
        "type": "object",
        "properties": _frame() | {"requires": _requires(requires)},
        "required": ["title", "about", "checked"],
        "additionalProperties": False,
        "$defs": {
            "container_id": {"enum": NAMED["#/$defs/container_id"](), "description": "id of a container"},
            "source": SOURCE,
            "checked": DATE,
            "note": _text("a remark for readers of the spec"),
            "coding_id": {"enum": NAMED["#/$defs/coding_id"](), "description": "how samples are coded"},
            **{key: dict(rule.limit) for key, rule in sorted(requires.items())},
        },
    }


def _frame() -> Schema:
    return {
        "title": _text("what the spec is for, in a few words"),
        "about": _text("who requires this and when to use it, in a sentence or two"),
        "edition": _text("of the recipient's document, as printed on it"),
        "checked": DATE | {"description": "the day this file was last compared with its sources"},
        "good_for_months": {"type": "integer", "minimum": 1, "maximum": 120, "description": "months until it is stale"},
        "based_on": _text("name of the spec whose requirements are inherited"),
        "purpose": {
            "enum": ["release", "reference_only", "parent_only"],
            "description": "reference_only: listening copies, marked so; parent_only: only a parent of other specs",
        },
        "source": SOURCE | {"description": "source of every requirement that names none of its own"},
        "dual_mono": {
            "type": "boolean",
            "description": f"mono counts as two equal loudspeakers: {TWO_LOUDSPEAKERS_LU:.2f} LU more",
        },
        "convert": _convert(),
        "encode": _closed(
            {
                "bitrate_kbps": {
                    "type": "integer",
                    "minimum": 32,
                    "maximum": 512,
                    "description": "kbit/s: constant for MP3, an average for AAC and Opus",
                },
                "vbr_quality": {
                    "type": "integer",
                    "minimum": 0,
                    "maximum": 9,
                    "description": "instead of a bit rate, for mp3: a variable one, 0 for the best quality",
                },
            },
            "for lossy codings: one of these",
        ),
        "carrier": _carrier(),
        "name": _text("file name template without suffix", ["{disc_track} {title}"]),
        "embed_tags": {"type": "boolean", "description": "write label copy into the files"},
        "keep_tags": _some_of(KEEP_TAGS, "what of a master's own texts may stay in the files"),
        "keep_chunks": _some_of(KEEP_CHUNKS, "which of a master's chunks are kept, positions scaled"),
        "embed_artwork": {"type": "boolean", "description": "put the cover into the files"},
        "cover": _closed(
            {
                "side_px": {"type": "integer", "minimum": 64, "maximum": 10_000, "description": "px, square"},
                "kind": {"enum": ["jpeg", "png"], "description": "kind of picture"},
            },
            "a cover of this size is added, made from the original and never larger than it",
        )
        | {"required": ["side_px"]},
        "id3_version": {"enum": [2.3, 2.4], "description": "of the tag in an MP3"},
        "papers": {
            "type": "array",
            "items": {"enum": _papers()},
            "uniqueItems": True,
            "description": "papers added to the package",
        },
        "sheet": {
            "enum": ["common", "own"],
            "description": "own: a delivery sheet of its own in its folder; the common sheet only refers to it",
        },
    }


def _convert() -> Schema:
    """Schema of `model.spec.Conversions`."""
    return _closed(
        {
            "rate": {
                "enum": ["never", "lower", "any"],
                "description": "sample rate: kept, only lowered, or raised too",
            },
            "depth": {"enum": ["never", "lower"], "description": "bit depth: kept, or lowered with the dither below"},
            "dither": {"enum": sorted(dithers()), "description": "noise added before rounding"},
            "silence": {
                "enum": ["dithered", "zero"],
                "description": "digital silence at a song's ends: kept at zero (default), or dithered like the rest",
            },
            "gain": {
                "enum": ["never", "down_to_ceiling", "to_target"],
                "description": "gain: none, down to the true-peak ceiling, or to the loudness target",
            },
            "gain_scope": {"enum": ["track", "album"], "description": "album: one gain for all tracks"},
            "container": {"enum": ["any", "never"], "description": "any: the same samples in another container"},
        },
        "the steps the recipient, or the engineer for them, permits",
    )


def _carrier() -> Schema:
    """Schema of `model.carrier.Carrier`."""
    return _closed(
        {
            "kind": {"enum": sorted(PARTS), "description": "what is made of the files"},
            "frame_samples": {"type": "integer", "minimum": 1, "description": "samples; songs begin on multiples"},
            "first_pause_s": {"type": "number", "minimum": 0, "description": "s of silence before the file"},
            "size_inch": {"enum": [7, 10, 12], "description": "inches; a release's pressing overrides it"},
            "speed_rpm": {"enum": [33, 45], "description": "turns a minute, 33 for 33 1/3; likewise"},
            "copy_permitted": {
                "type": "boolean",
                "description": "digital copy flag of a CD; a track may state its own",
            },
            "mark_early_frames": _frames("frames by which index 1 precedes the audio, in silence"),
            "mark_late_frames": _frames("frames by which a track ends after its audio, in silence"),
        },
        "songs are joined into one continuous file for each disc or side",
    )


def _frames(description: str) -> Schema:
    return {"type": "integer", "minimum": 0, "maximum": 75, "description": description}


def _papers() -> list[str]:
    found = pkgutil.iter_modules(delivery.pack.papers.__path__)
    return sorted([*(info.name for info in found if not info.name.startswith("_")), *on_request()])


def _requires(rules_by_key: dict[str, Rule]) -> Schema:
    properties = {key: _requirement(rule) for key, rule in sorted(rules_by_key.items())}
    return _closed(properties, "what the recipient requires; a key set to ~ removes the parent's requirement")


def _requirement(rule: Rule) -> Schema:
    """``{must: limit}`` or ``{should: limit}``; a rule that is only a sign cannot be a must."""
    words = ("must", "should") if rule.weight is Weight.FACT else ("should",)
    limit = {"$ref": f"#/$defs/{rule.id}"}
    ask = _closed(dict.fromkeys(words, limit) | SAID)
    choice = {"oneOf": [{"required": [word]} for word in words]} if len(words) > 1 else {"required": ["should"]}
    return {
        "description": f"{rule.doc} Kind of evidence: {rule.weight}.",
        "anyOf": [{"type": "null"}, ask | choice],
        "examples": ["{should: <limit>, source: 'common practice, no source'}"],
    }


def _some_of(kinds: Mapping[str, str], description: str) -> Schema:
    listed = "; ".join(f"{kind}: {text}" for kind, text in kinds.items())
    items = {"enum": sorted(kinds)}
    return {"type": "array", "items": items, "uniqueItems": True, "description": f"{description}. {listed}"}


def _text(description: str, examples: list[str] | None = None) -> Schema:
    return {"type": "string", "minLength": 1, "description": description} | ({"examples": examples} if examples else {})


def _closed(properties: Schema, description: str = "") -> Schema:
    schema: Schema = {"type": "object", "properties": properties, "additionalProperties": False}
    return schema | ({"description": description} if description else {})
