"""Hashes of the label copy's fields, as an approval stores them. Pure."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from dataclasses import asdict, is_dataclass
from datetime import date
from typing import Any

from delivery.model.approval import CopyMarks
from delivery.model.fields import FIELDS
from delivery.model.fields.row import NOT_IN_FILE, Kept
from delivery.model.release import Release, Track

DIGITS = 12
"""Hexadecimal digits of each hash: it detects a change, and by chance misses one in 280 million million."""
_ELSEWHERE = frozenset(
    {"title", "version", "client", "isni", "disc", "number", "side", "gap_before_s", "only_for", "not_for", NOT_IN_FILE}
)
"""Keys that are compared as the title, or are no label copy: where a track lies and goes, and for whom the work is."""
_TEXTS = frozenset(field.key for field in FIELDS.values() if field.kept is Kept.TEXT)


def copy_marks(release: Release) -> tuple[CopyMarks, ...]:
    """Marks of the release, then of each track."""
    return (_marks(release, of_release=True), *(_marks(track, of_release=False) for track in release.tracks))


def compared_keys(*, of_release: bool) -> frozenset[str]:
    """Keys of the data document that hold what an approval covers."""
    return frozenset({"title", "version", *_keys(of_release=of_release)})


def _marks(holder: Release | Track, *, of_release: bool) -> CopyMarks:
    title = f"{holder.title} ({holder.version})" if holder.version else holder.title
    values = ((key, _value(holder, key)) for key in _keys(of_release=of_release))
    return CopyMarks(title, {key: _hashed(value) for key, value in values if value is not None})


def _keys(*, of_release: bool) -> Iterator[str]:
    rows = (field for field in FIELDS.values() if field.of_release is of_release and field.key not in _ELSEWHERE)
    return iter(sorted({field.key for field in rows}))


def _value(holder: Release | Track, key: str) -> Any:
    """None if nothing is supplied. A track without artists of its own has the release's, which is a statement too."""
    value = holder.text(key) if key in _TEXTS else getattr(holder, key)
    if key == "artists":
        return value
    return None if value in ("", (), False) and key != "samples" else value


def _hashed(value: Any) -> str:
    text = json.dumps(_plain(value), ensure_ascii=False, sort_keys=True)
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:DIGITS]


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    if is_dataclass(value) and not isinstance(value, type):
        return asdict(value)
    return value.isoformat() if isinstance(value, date) else value
