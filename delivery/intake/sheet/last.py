"""What the sheet said the last time, kept beside the release file, and what is different now."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from delivery.intake.masters import Master
from delivery.intake.sheet.row import Row
from delivery.intake.write import write_text
from delivery.model.label_copy import COLUMNS

NAME = "release.label-copy.json"
FORM = 1
SAID_ELSEWHERE = ("file", "duration_or", "isni")
"""The file names the row, and whom names mean is said once for the release."""
TITLES = {"composers": "Composers", "lyricists": "Lyricists", "writers": "Writers", "publishers": "Publishers",
          "artists": "Artists",
          "credits": "Credits", "release_language": "Language of titles"}  # fmt: skip


def as_said(release: Mapping[str, Any], pairs: Sequence[tuple[Row, Master]]) -> dict[str, Any]:
    """Plain data: release fields, and fields by file in the order of the release."""
    rows = [
        {"file": master.name, **{key: row[key] for key in sorted(row.values) if key not in SAID_ELSEWHERE}}
        for row, master in pairs
    ]
    said: dict[str, Any] = json.loads(
        json.dumps({"form": FORM, "release": dict(release), "tracks": rows}, sort_keys=True)
    )
    return said


def last_said(folder: Path) -> dict[str, Any] | None:
    """What was imported last; None when nothing was, or when the file tells nothing any more."""
    try:
        said = json.loads((folder / NAME).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    whole = isinstance(said, dict) and said.get("form") == FORM
    return said if whole and isinstance(said.get("release"), dict) and isinstance(said.get("tracks"), list) else None


def remember(folder: Path, said: Mapping[str, Any]) -> None:
    """Keep it beside the release file, to move along with it.

    Raises
    ------
    Unfinished : it cannot be written
    """
    write_text(folder / NAME, json.dumps(said, ensure_ascii=False, indent=1, sort_keys=True) + "\n")


def changes(before: Mapping[str, Any], now: Mapping[str, Any]) -> list[str]:
    """One sentence for each thing that is different; empty when nothing is."""
    return [*_release(before["release"], now["release"]), *_tracks(before["tracks"], now["tracks"])]


def _release(before: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[str]:
    for key in sorted({*before, *now}):
        if before.get(key) != now.get(key):
            yield f"{_title(key)}: was {_said(before.get(key))}, now {_said(now.get(key))}."


def _tracks(before: Sequence[Mapping[str, Any]], now: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    old = {str(track.get("file")): track for track in before}
    new = {str(track.get("file")): track for track in now}
    for file in old:
        if file not in new:
            yield f"{_said(old[file].get('title'))} ({file}) is gone."
    for file, track in new.items():
        if file not in old:
            yield f"{_said(track.get('title'))} ({file}) is new."
    for file, track in new.items():
        for key in sorted({*old.get(file, track), *track} - {"file"}):
            was, here = old.get(file, track).get(key), track.get(key)
            if was != here:
                yield f"{_said(track.get('title'))}, {_title(key)}: was {_said(was)}, now {_said(here)}."
    kept_before, kept_now = ([file for file in one if file in old and file in new] for one in (old, new))
    if kept_before != kept_now:
        order = ", ".join(str(new[file].get("title")) for file in kept_now)
        yield f"The order is different: {order}."


def _title(key: str) -> str:
    return TITLES.get(key) or (COLUMNS[key].title if key in COLUMNS else key)


def _said(value: Any) -> str:
    if value is None:
        return "not supplied"
    if isinstance(value, list):
        return "; ".join(map(_said, value)) or "none"
    if isinstance(value, Mapping):
        return " ".join(_said(value[key]) for key in sorted(value, key=lambda key: (key != "name", key)))
    return repr(value) if isinstance(value, str) else str(value)
