"""Checks of a spec file beyond its schema: order within windows, fields in names, keys that need each other."""

from __future__ import annotations

import string
from collections.abc import Iterator, Mapping, Sequence
from difflib import get_close_matches
from typing import Any

from delivery.errors import Unusable
from delivery.intake.spec.combinations import combination_faults, lossy
from delivery.intake.spec.merge import Layer
from delivery.intake.yaml.schema_faults import located_faults
from delivery.intake.yaml.source_locations import in_file_order, located, place_of, step_into
from delivery.intake.yaml.text import Document
from delivery.model.spec import Spec

Fault = tuple[str, str, str, str]
"""Pointer, found, wanted, remedy."""

NAME_FIELDS = (
    "track", "disc", "disc_track", "title", "version", "artist", "release", "catalogue", "isrc", "rate", "bits", "spec",
    "part",
)  # fmt: skip
"""Fields of a file name template; a contract test compares them with those of `delivery.pack`."""
DISC_FORM = {"rate_hz": 44_100, "bits": 16, "channels": 2}
"""IEC 60908: 44.1 kHz, 16 bit, two channels."""
DISTINGUISHES_TRACKS = ("disc_track", "track", "title", "isrc")
DISTINGUISHES_SIDES = ("part",)


def faults_in(document: Document, file_name: str, schema: Mapping[str, Any]) -> tuple[Unusable, ...]:
    """All faults of one spec file by itself, in file order."""
    data, lines = document.data, document.lines
    signs = tuple(_musts_of_signs(data, schema))
    own = (*signs, *_window_faults(data), *_source_faults(data), *_name_faults(data))
    by_schema = located_faults(_without(data, signs), schema, lines, file_name, document.written)
    return in_file_order([*by_schema, *(located(file_name, lines, *fault) for fault in own)])


def faults_of_whole(spec: Spec, layers: Sequence[Layer]) -> tuple[Unusable, ...]:
    """Faults of a spec with its parents merged in: steps without the requirement they aim at, sizes that exclude each
    other."""
    return tuple(
        Unusable(_place(pointer, layers), found, wanted, remedy)
        for pointer, found, wanted, remedy in (
            *_gain_faults(spec),
            *_encode_faults(spec),
            *combination_faults(spec),
            *_one_name_faults(spec),
            *_artwork_faults(spec),
            *_carrier_faults(spec, layers),
        )
    )


def _requirements(data: Any) -> Iterator[tuple[str, Mapping[str, Any]]]:
    requires = data.get("requires") if isinstance(data, Mapping) else None
    for key, ask in requires.items() if isinstance(requires, Mapping) else ():
        if isinstance(ask, Mapping):
            yield key, ask


def _musts_of_signs(data: Any, schema: Mapping[str, Any]) -> Iterator[Fault]:
    for key, ask in _requirements(data):
        known = schema["properties"]["requires"]["properties"].get(key)
        if "must" in ask and known and "must" not in known["anyOf"][1]["properties"]:
            yield (
                f"requires/{key}/must",
                "a must",
                "a should",
                "This rule reads a sign, and a sign can be wrong: only facts fail a file.",
            )


def _without(data: Any, faults: Sequence[Fault]) -> Any:
    """The data with each reported must already changed to a should."""
    faulty = {pointer.split("/")[1] for pointer, *_ in faults}
    if not faulty:
        return data
    renamed = {"must": "should"}
    requires = {
        key: {renamed.get(word, word): value for word, value in ask.items()} if key in faulty else ask
        for key, ask in data["requires"].items()
    }
    return {**data, "requires": requires}


def _window_faults(data: Any) -> Iterator[Fault]:
    for key, ask in _requirements(data):
        for word in ("must", "should"):
            window = ask.get(word)
            if isinstance(window, Mapping):
                yield from _window(f"{step_into('requires', key)}/{word}", window)


def _window(pointer: str, window: Mapping[str, Any]) -> Iterator[Fault]:
    edges = {
        key: value for key, value in window.items() if isinstance(value, (int, float)) and not isinstance(value, bool)
    }
    low, high = edges.get("at_least", float("-inf")), edges.get("at_most", float("inf"))
    if low > high:
        yield (
            pointer,
            f"at_least {low} and at_most {high}",
            "at_least below at_most",
            "Nothing can meet it: swapped values?",
        )
    elif not low <= edges.get("target", low if low > float("-inf") else high) <= high:
        wanted = f"a target within {low} to {high}"
        yield f"{pointer}/target", f"the target {edges['target']}", wanted, "Move the target or the window."


def _source_faults(data: Any) -> Iterator[Fault]:
    for key, ask in _requirements(data):
        if "source" not in ask and "source" not in data:
            remedy = "Add 'source:' here, or once at the top for all; honest is 'common practice, no source'."
            yield step_into("requires", key), "no source", "the document and clause this limit comes from", remedy


def _name_faults(data: Any) -> Iterator[Fault]:
    template = data.get("name") if isinstance(data, Mapping) else None
    if isinstance(template, str):
        for found, remedy in _template_faults(template):
            yield "name", found, "a template of known fields in braces", remedy


def _one_name_faults(spec: Spec) -> Iterator[Fault]:
    """A template whose fields are the same for every file, so that all names would be equal."""
    apart = DISTINGUISHES_SIDES if spec.carrier else DISTINGUISHES_TRACKS
    named = {field for _, field, _, _ in string.Formatter().parse(spec.name_template) if field}
    if not named & {*apart}:
        wanted = " or ".join(f"{{{field}}}" for field in apart)
        yield "name", f"{spec.name_template!r}", wanted, "As it is, every file would have the same name."


def _template_faults(template: str) -> Iterator[tuple[str, str]]:
    try:
        pieces = list(string.Formatter().parse(template))
    except ValueError as error:
        yield f"{template!r} ({error})", "Close every brace; write {{ and }} for braces in the name."
        return
    for _, field, width, conversion in pieces:
        if field is not None and field not in NAME_FIELDS:
            near = get_close_matches(field, NAME_FIELDS, n=1)
            yield (
                f"the field {{{field}}}",
                f"Did you mean {{{near[0]}}}?" if near else f"Fields: {', '.join(NAME_FIELDS)}.",
            )
        elif conversion or (width and not (field in ("track", "disc") and len(width) == 2 and width[0] == "0")):
            yield f"{{{field}:{width or conversion}}}", "Only {track:02} and {disc:02} take a width."


def _gain_faults(spec: Spec) -> Iterator[Fault]:
    gain = spec.conversions.gain
    album = spec.conversions.gain_scope == "album"
    window = (album and spec.limit("album_integrated_lufs")) or spec.limit("integrated_lufs")
    if gain == "to_target" and "target" not in (window or {}):
        yield (
            "convert/gain",
            "gain to_target",
            f"an {'album_integrated_lufs' if album else 'integrated_lufs'} requirement with a target",
            "Add the target to the requirement, or set gain to never.",
        )
    if (
        gain == "down_to_ceiling"
        and spec.limit("true_peak_max_dbtp") is None
        and spec.limit("sample_peak_max_dbfs") is None
    ):
        yield (
            "convert/gain",
            "gain down_to_ceiling",
            "a peak ceiling among the requirements",
            "Add true_peak_max_dbtp, or set gain to never.",
        )


def _encode_faults(spec: Spec) -> Iterator[Fault]:
    codings = spec.limit("coding") or ()
    made = codings[0] if codings and lossy(codings[0]) else ""
    if made and spec.bitrate_kbps is None and spec.vbr_quality is None:
        yield (
            "requires/coding",
            f"{made} without a bit rate",
            "encode: {bitrate_kbps: ...}",
            "Say at which bit rate it is made.",
        )
    if spec.vbr_quality is not None and made not in ("", "mp3"):
        yield "encode/vbr_quality", f"vbr_quality for {made}", "bitrate_kbps", "Only MP3 is made by quality."
    if spec.vbr_quality is not None and spec.bitrate_kbps is not None:
        yield "encode", "bitrate_kbps and vbr_quality", "one of them", "Take one away."


def _carrier_faults(spec: Spec, layers: Sequence[Layer]) -> Iterator[Fault]:
    """Songs are joined unprocessed: a gain for each would break the joins, and coded audio cannot be joined."""
    if spec.carrier is None:
        if any("carrier" in layer.data for layer in layers):
            yield "carrier", "a carrier without a kind", "kind: cd, vinyl or cassette", "Say what is made."
        return
    marks = spec.carrier.mark_early_frames or spec.carrier.mark_late_frames
    if marks and not spec.carrier.in_frames:
        yield "carrier", "marks in frames", "frame_samples: 588 with them", "Only a carrier with frames has marks."
    for key, value in DISC_FORM.items() if spec.carrier.kind == "cd" else ():
        stated = spec.limit(key)
        if stated and tuple(stated) != (value,):
            yield (
                f"requires/{key}",
                f"{', '.join(map(str, stated))} for a CD",
                str(value),
                "A CD has no other (IEC 60908).",
            )
    if spec.conversions.gain != "never":
        yield "convert/gain", f"gain {spec.conversions.gain}", "never, for songs that are joined", "Set gain to never."
    if tuple(spec.limit("coding") or ()) != ("pcm",):
        yield "requires/coding", "no or another coding", "coding: {must: [pcm]}", "One continuous file is always PCM."


def _artwork_faults(spec: Spec) -> Iterator[Fault]:
    smallest, largest = spec.limit("artwork_min_px"), spec.limit("artwork_max_px")
    if smallest is not None and largest is not None and smallest > largest:
        yield (
            "requires/artwork_min_px",
            f"at least {smallest} px and at most {largest} px",
            "sizes that some picture has",
            "Swap them?",
        )


def _place(pointer: str, layers: Sequence[Layer]) -> str:
    """Place of the value in the nearest layer that has it."""
    layer = next((layer for layer in layers if pointer in layer.lines), layers[0])
    return place_of(layer.file_name, layer.lines, pointer)
