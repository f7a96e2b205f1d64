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


def as_said(
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
    said: dict[str, Any] = json.loads(
        json.dumps(
            {"form": FORM, "release": dict(release), "tracks": rows, "spare": [master.name for master in spare]},
            sort_keys=True,
        )
    )
    return said


def last_said(folder: Path) -> dict[str, Any] | None:
    """Values of the previous import; None if there was none, or if the file is unreadable."""
    try:
        said = json.loads((folder / NAME).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    whole = isinstance(said, dict) and isinstance(said.get("release"), dict) and isinstance(said.get("tracks"), list)
    if not whole or not all(isinstance(track, dict) and isinstance(track.get("file"), str) for track in said["tracks"]):
        return None
    return {FORM: said, 1: _of_form_1(said)}.get(said.get("form"))


def remember(folder: Path, said: Mapping[str, Any]) -> None:
    """Store it beside the release file, so that both move together.

    Raises
    ------
    Unfinished : it cannot be written
    """
    write_text(folder / NAME, json.dumps(said, ensure_ascii=False, indent=1, sort_keys=True) + "\n")


def _of_form_1(said: Mapping[str, Any]) -> dict[str, Any]:
    release = {RELEASE_KEYS[name]: data for name, data in said["release"].items() if name in RELEASE_KEYS}
    artist = str(release.get("artist", ""))
    tracks = [{"file": track["file"], **track_keys(Row(0, track), artist)} for track in said["tracks"]]
    return {"form": FORM, "release": release, "tracks": tracks}
