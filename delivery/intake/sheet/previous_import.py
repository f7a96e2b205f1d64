"""Values of the previous import, stored beside the release file."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from delivery.intake.begin.masters import Master
from delivery.intake.sheet.row import Row
from delivery.intake.sheet.write import RELEASE_KEYS, track_keys
from delivery.intake.text_files import write_text

NAME = "release.label-copy.json"
FORM = 2
"""1 had the fields of the sheet, 2 has the keys of the release file."""


def as_stated(
    release: Mapping[str, Any], pairs: Sequence[tuple[Row, Master]], spare: Sequence[Master] = ()
) -> dict[str, Any]:
    """Plain data: keys of the release, and keys by file in the order of the sheet.

    Parameters
    ----------
    release : its keys, the artist among them
    spare : masters matched by no row
    """
    artist = str(release.get("artist", ""))
    rows = [{"file": master.name, **track_keys(row, artist)} for row, master in pairs]
    stated_keys: dict[str, Any] = json.loads(
        json.dumps(
            {"form": FORM, "release": dict(release), "tracks": rows, "spare": [master.name for master in spare]},
            sort_keys=True,
        )
    )
    return stated_keys


def last_stated(folder: Path) -> dict[str, Any] | None:
    """Values of the previous import; None if there was none, or if the file is unreadable."""
    try:
        stated_keys = json.loads((folder / NAME).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    whole = (
        isinstance(stated_keys, dict)
        and isinstance(stated_keys.get("release"), dict)
        and isinstance(stated_keys.get("tracks"), list)
    )
    if not whole or not all(
        isinstance(track, dict) and isinstance(track.get("file"), str) for track in stated_keys["tracks"]
    ):
        return None
    if stated_keys.get("form") == 1:
        return _of_form_1(stated_keys)
    return stated_keys if stated_keys.get("form") == FORM else None


def remember(folder: Path, stated_keys: Mapping[str, Any]) -> None:
    """Store it beside the release file, so that both move together.

    Raises
    ------
    Unfinished : it cannot be written
    """
    write_text(folder / NAME, json.dumps(stated_keys, ensure_ascii=False, indent=1, sort_keys=True) + "\n")


def _of_form_1(stated_keys: Mapping[str, Any]) -> dict[str, Any]:
    release = {RELEASE_KEYS[name]: data for name, data in stated_keys["release"].items() if name in RELEASE_KEYS}
    artist = str(release.get("artist", ""))
    tracks = [{"file": track["file"], **track_keys(Row(0, track), artist)} for track in stated_keys["tracks"]]
    return {"form": FORM, "release": release, "tracks": tracks}
