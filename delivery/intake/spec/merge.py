"""Merge a spec file and its ancestors into one Spec: the child overrides, key by key."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, fields, replace
from datetime import date
from typing import Any

from delivery.intake.yaml.source_locations import line_at
from delivery.model.carrier import Carrier, Pressing
from delivery.model.spec import Conversions, Cover, Requirement, Spec

FROM_ANY_LAYER = {
    "name": "name_template",
    "embed_tags": "embed_tags",
    "embed_artwork": "embed_artwork",
    "id3_version": "id3_version",
    "dual_mono": "dual_mono",
    "good_for_months": "good_for_months",
}
"""Key of the file -> field of Spec; taken from the nearest layer that has it."""


@dataclass(frozen=True, slots=True)
class Layer:
    """One spec file, checked, not yet merged with its parents."""

    id: str
    file_name: str
    data: Mapping[str, Any]
    lines: Mapping[str, int]
    outdated: str = ""
    """Sentences about outdated names in the file."""

    def requirement(self, key: str) -> Requirement:
        """The requirement under *key*, with the layer's source and date where it has none of its own."""
        stated = self.data["requires"][key]
        word = "must" if "must" in stated else "should"
        return Requirement(
            rule=key,
            limit=_frozen(stated[word]),
            must=word == "must",
            source=stated.get("source") or self.data["source"],
            checked=date.fromisoformat(stated.get("checked") or self.data["checked"]),
            spec=self.id,
            place=f"{self.file_name}:{line_at(self.lines, f'requires/{key}')}",
            note=stated.get("note", ""),
        )


def merged(layers: Sequence[Layer]) -> Spec:
    """Merge *layers*, nearest first: the requested file, its parent, the parent's parent."""
    own = layers[0].data
    spec = Spec(
        id=layers[0].id,
        title=own["title"],
        about=own["about"],
        checked=date.fromisoformat(own["checked"]),
        requirements=_requirements(layers),
        conversions=Conversions(**_gathered(layers, "convert")),
        lineage=tuple(layer.id for layer in layers[1:]),
        edition=own.get("edition", ""),
        reference_only=_purpose(layers) == "reference_only",
        bitrate_kbps=_nearest(layers, "encode", {}).get("bitrate_kbps"),
        vbr_quality=_nearest(layers, "encode", {}).get("vbr_quality"),
        papers=tuple(_nearest(layers, "papers", ())),
        own_sheet=_nearest(layers, "sheet", "common") == "own",
        carrier=_carrier(_gathered(layers, "carrier")),
        cover=Cover(**cover) if (cover := _gathered(layers, "cover")) else None,
        keep_tags=_kept(_nearest(layers, "keep_tags")),
        keep_chunks=tuple(_nearest(layers, "keep_chunks", ())),
        **{field: _nearest(layers, key) for key, field in FROM_ANY_LAYER.items() if _nearest(layers, key) is not None},
    )
    return replace(spec, digest=digest(spec), outdated=tuple(layer.outdated for layer in layers if layer.outdated))


def digest(spec: Spec) -> str:
    """SHA-256 of the spec's canonical JSON, without line numbers: comments and blank lines do not change it.

    Where its sheet lies is no requirement and does not count.
    """
    apart = ("digest", "outdated", "own_sheet")
    data = {field.name: getattr(spec, field.name) for field in fields(spec) if field.name not in apart}
    data["requirements"] = [
        {key: value for key, value in asdict(requirement).items() if key != "place"}
        for requirement in spec.requirements
    ]
    data["conversions"] = asdict(spec.conversions)
    data["cover"] = asdict(spec.cover) if spec.cover else None
    data["carrier"] = asdict(spec.carrier) if spec.carrier else None
    text = json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=False, default=str, allow_nan=False)
    return hashlib.sha256(text.encode()).hexdigest()


def _requirements(layers: Sequence[Layer]) -> tuple[Requirement, ...]:
    """Farthest first, so that the nearer layer overrides; ``~`` removes a requirement."""
    required: dict[str, Requirement] = {}
    for layer in reversed(layers):
        for key, stated in (layer.data.get("requires") or {}).items():
            if stated is None:
                required.pop(key, None)
            else:
                required[key] = layer.requirement(key)
    return tuple(required[key] for key in sorted(required))


def _gathered(layers: Sequence[Layer], key: str) -> dict[str, Any]:
    return {name: value for layer in reversed(layers) for name, value in layer.data.get(key, {}).items()}


def _carrier(data: Mapping[str, Any]) -> Carrier | None:
    """The carrier of all layers together; without ``kind``, a fault has been reported."""
    if "kind" not in data:
        return None
    pressing = Pressing(data.get("size_inch"), data.get("speed_rpm"))
    plain = {key: value for key, value in data.items() if key not in ("size_inch", "speed_rpm")}
    return Carrier(**plain, pressing=pressing)


def _kept(kinds: Sequence[str] | None) -> tuple[str, ...] | None:
    """The kinds to keep; None (default) differs from an empty list."""
    return None if kinds is None else tuple(kinds)


def _nearest(layers: Sequence[Layer], key: str, otherwise: Any = None) -> Any:
    return next((layer.data[key] for layer in layers if key in layer.data), otherwise)


def _purpose(layers: Sequence[Layer]) -> str:
    """A child of a listening copy is one too, unless stated otherwise; other parents pass on no purpose."""
    purposes = (layer.data["purpose"] for layer in layers if "purpose" in layer.data)
    return next((purpose for purpose in purposes if purpose != "parent_only"), "release")


def _frozen(limit: Any) -> Any:
    return tuple(limit) if isinstance(limit, list) else limit
