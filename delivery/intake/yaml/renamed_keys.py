"""Keys and rule ids of earlier versions: still read, and rewritten by 'delivery migrate'. Pure.

A text is brought up to date by replacing single words at their places, so comments, order and line numbers stay.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from delivery.intake.yaml.nodes import composed_root

TOP_KEYS: Mapping[str, str] = MappingProxyType({"asks": "requires", "intended": "accepted"})
"""Keys at the top of a spec or release file. Renamed in 0.2.0."""

RULES: Mapping[str, str] = MappingProxyType(
    {
        "album-loudness": "album_integrated_lufs",
        "artwork-border": "artwork_no_border",
        "artwork-ending": "artwork_ending",
        "artwork-enlarged": "artwork_not_enlarged",
        "artwork-kind": "artwork_kind",
        "artwork-largest-side": "artwork_max_px",
        "artwork-mode": "artwork_mode",
        "artwork-profile": "artwork_srgb",
        "artwork-size": "artwork_max_bytes",
        "artwork-smallest-side": "artwork_min_px",
        "artwork-square": "artwork_square",
        "catalogue-pattern": "catalogue_pattern",
        "cd-text": "cd_text_latin",
        "channel-balance": "balance_max_db",
        "channel-count": "channels",
        "channel-delay": "channel_delay_max",
        "check-digits": "check_digits",
        "clicks": "click_places_max",
        "clipped-runs": "clip_runs_max",
        "coder-frames": "not_lossy_sourced",
        "cut-edges": "no_audible_cut",
        "dc-offset": "dc_offset_max_percent",
        "discontinuities": "jump_places_max",
        "dropouts": "dropout_places_max",
        "duplicate-audio": "no_duplicate_audio",
        "duration": "duration_s",
        "early-band-edge": "no_early_band_edge",
        "edge-step": "no_audible_cut",
        "effective-word-length": "effective_bits_min",
        "emphasis-change": "emphasis_changes_in_pauses",
        "fade-end": "fade_finished",
        "file-size": "size_max_bytes",
        "finite-samples": "finite_samples",
        "gaps-stated": "gaps_stated",
        "header-form": "extensible_header",
        "hum": "hum_places_max",
        "index-points": "index_points_inside",
        "inner-silence": "inner_silence_max_s",
        "instrumental-words": "instrumental_wordless",
        "integrated-loudness": "integrated_lufs",
        "isrc-form": "isrc_form",
        "isrc-prefix": "isrc_prefix_known",
        "isrc-unique": "isrc_unique",
        "joins-of-one-form": "joins_of_one_form",
        "joins-run-on": "joins_run_on",
        "lead-in": "lead_in_s",
        "legal-names": "legal_names",
        "live-channels": "live_channels",
        "loudness-range": "loudness_range_max_lu",
        "low-band-phase": "low_band_correlation_min",
        "low-band-phase-below": "low_band_phase",
        "momentary-loudness": "momentary_max_lufs",
        "mono-loss": "mono_loss_octave_max_db",
        "name-ascii": "name_ascii",
        "name-length": "name_max_bytes",
        "near-duplicate-audio": "no_near_duplicate",
        "one-depth": "one_depth",
        "one-rate": "one_rate",
        "part-length": "part_length_max",
        "part-length-good": "part_length_good",
        "polarity": "not_inverted",
        "product-code": "upc_check_digit",
        "raised-rate": "not_upsampled",
        "release-label-copy": "release_fields",
        "release-title-style": "release_title_style",
        "sample-peak-ceiling": "sample_peak_max_dbfs",
        "sample-rate": "rate_hz",
        "samples-cleared": "samples_cleared",
        "scaled-words": "not_scaled",
        "shares-total": "shares_total",
        "short-term-loudness": "short_term_max_lufs",
        "sibilance": "sibilant_spots_max",
        "side-balance": "side_difference_max_s",
        "sides-stated": "sides_stated",
        "tail": "tail_s",
        "title-style": "title_style",
        "title-unique": "title_unique",
        "total-duration": "total_duration_max_s",
        "track-label-copy": "track_fields",
        "tracks-on-part": "part_tracks_max",
        "true-peak-ceiling": "true_peak_max_dbtp",
        "true-stereo": "true_stereo",
        "undithered-words": "not_truncated",
        "word-length": "bits",
        "zero-runs": "zero_run_places_max",
    }
)
"""Ids of rules in waivers and acceptances, which became the keys that specs always used. Renamed in 0.2.0."""

REQUIREMENTS: Mapping[str, str] = MappingProxyType({"not_cut": "no_audible_cut"})
"""Keys under 'requires'. Renamed in 0.2.0."""

REPLACED: Mapping[str, str] = MappingProxyType({"edge_step_max_percent": "no_audible_cut: {should: true}"})
"""Keys under 'requires' whose limit no longer exists, and what to write instead. Removed in 0.2.0."""

MERGED: Mapping[str, str] = MappingProxyType({"edge_step_max_percent": "no_audible_cut"})
"""Rules that are now part of another, in waivers and acceptances: the other one answers for them."""

SPECS: Mapping[str, str] = MappingProxyType(
    {"store-master-hires": "store-master-high-rate", "store-flac-hires": "store-flac-high-rate"}
)
"""Names of shipped specs. Renamed in 0.2.0."""

_HINT = re.compile(
    rf"^(?:{'|'.join(TOP_KEYS)})\s*:|\b(?:{'|'.join((*SPECS, *REQUIREMENTS, *MERGED))})\b"
    rf"|\brule[\"']?\s*:\s*[\"']?(?:{'|'.join(map(re.escape, RULES))})(?![\w-])",
    re.MULTILINE,
)


@dataclass(frozen=True, slots=True)
class Rename:
    """One renamed word of a file."""

    line: int
    old: str
    new: str


@dataclass(frozen=True, slots=True)
class Current:
    """A text with the names of this version."""

    text: str
    renames: tuple[Rename, ...] = ()
    """In the order of the text."""


def current(text: str) -> Current:
    """*text* of a spec or release file with the names of this version; unreadable YAML is returned as it is."""
    if not _HINT.search(text):
        return Current(text)
    from ruamel.yaml.error import YAMLError

    try:
        root = composed_root(text)
    except (YAMLError, RecursionError):
        return Current(text)
    renames = []
    for node, new in sorted(_outdated(root), key=lambda one: one[0].start_mark.index, reverse=True):
        start, end = node.start_mark.index, node.end_mark.index
        text = text[:start] + text[start:end].replace(node.value, new) + text[end:]
        renames.append(Rename(node.start_mark.line + 1, node.value, new))
    return Current(text, tuple(reversed(renames)))


def remark(file_name: str, renames: tuple[Rename, ...]) -> str:
    """One sentence that names the old and the new words; empty where there are none."""
    if not renames:
        return ""
    said = ", ".join(dict.fromkeys(f"{one.old!r} is now {one.new!r}" for one in renames))
    return f"{file_name} uses names of an earlier version ({said}). 'delivery migrate {file_name}' rewrites them."


def _outdated(root: Any) -> Iterator[tuple[Any, str]]:
    """Scalar nodes that hold an old name, each with the new one."""
    top = _entries(root)
    for key, value in top:
        if key.value in TOP_KEYS:
            yield key, TOP_KEYS[key.value]
        name = TOP_KEYS.get(str(key.value), key.value)
        if name == "requires":
            yield from ((rule, REQUIREMENTS[rule.value]) for rule, _ in _entries(value) if rule.value in REQUIREMENTS)
        elif name in ("waivers", "accepted"):
            for item in _items(value):
                yield from _renamed_values(item)
        elif name in ("deliver_to", "only_for", "not_for", "based_on"):
            yield from _named(value, SPECS)
        elif name == "tracks":
            for item in _items(value):
                for inner, names in _entries(item):
                    if inner.value in ("only_for", "not_for"):
                        yield from _named(names, SPECS)


def _renamed_values(item: Any) -> Iterator[tuple[Any, str]]:
    for key, value in _entries(item):
        if key.value == "rule":
            yield from _named(value, {**RULES, **REQUIREMENTS, **MERGED})
        elif key.value == "spec":
            yield from _named(value, SPECS)


def _named(node: Any, table: Mapping[str, str]) -> Iterator[tuple[Any, str]]:
    """A scalar, or those of a list, that *table* renames."""
    for one in _items(node) or [node]:
        if isinstance(one.value, str) and one.value in table:
            yield one, table[one.value]


def _entries(node: Any) -> list[tuple[Any, Any]]:
    return list(node.value) if str(getattr(node, "tag", "")).endswith(":map") else []


def _items(node: Any) -> list[Any]:
    return list(node.value) if str(getattr(node, "tag", "")).endswith(":seq") else []
