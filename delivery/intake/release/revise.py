"""Write new masters and the number of a revision into a release file; every other byte is unchanged."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from delivery.errors import Faulty, Unusable
from delivery.intake.release.file import release_of
from delivery.intake.text_files import write_text
from delivery.intake.yaml.change import added_key, pair_of, replaced, with_edits
from delivery.intake.yaml.nodes import composed_root
from delivery.intake.yaml.quoting import value
from delivery.intake.yaml.renamed_keys import current
from delivery.intake.yaml.text import document_of, text_of
from delivery.model.release import Release
from delivery.regular import read_regular

PLACE = ("client", "revision")
"""A revision that was not stated is inserted after the first of these."""


def revised_text(release_path: Path, files: Mapping[int, str], revision: int) -> tuple[str, Release]:
    """The text of *release_path* with these masters and that revision, and the release as it then reads.

    Nothing is written: `write_revised` does.

    Parameters
    ----------
    files : position -> path of the master as the file states it

    Raises
    ------
    Faulty : the release file has faults
    Unusable : its layout cannot be edited safely; the remedy has what to write
    """
    text = current(text_of(release_path)).text
    before = document_of(text, release_path.name)
    release_of(before, release_path)
    root = composed_root(text)
    tracks = pair_of(root, "tracks")[1].value
    edits = [
        edit
        for position, file in files.items()
        for edit in replaced(text, pair_of(tracks[position - 1], "file"), value(file))
    ]
    pair = pair_of(root, "revision")
    new = str(revision)
    edits += replaced(text, pair, new) if pair else added_key(text, root, [("revision", new)], PLACE)
    changed = with_edits(text, edits)
    try:
        after = document_of(changed, release_path.name)
    except Faulty:
        after = None
    if after is None or after.data != _wanted(before.data, files, revision):
        stated = "; ".join(f"file: {value(file)} (track {at})" for at, file in files.items())
        remedy = f"Write by hand: revision: {revision}; {stated}"
        raise Unusable(release_path.name, "a layout that cannot be edited safely", "keys in lines", remedy)
    return changed, release_of(after, release_path)


def stated_files(release_path: Path) -> tuple[str, ...]:
    """Path of each track's master as *release_path* states it. Raises as `revised_text`."""
    document = document_of(current(text_of(release_path)).text, release_path.name)
    return tuple(str(track["file"]) for track in document.data["tracks"])


def write_revised(release_path: Path, text: str) -> None:
    """Write what `revised_text` gave.

    Raises
    ------
    Unfinished : it cannot be written; nothing is changed
    """
    mark = "\ufeff" if read_regular(release_path, 3).startswith(b"\xef\xbb\xbf") else ""
    write_text(release_path, mark + text)


def _wanted(data: Mapping[str, Any], files: Mapping[int, str], revision: int) -> dict[str, Any]:
    tracks = [
        {**track, "file": files[position]} if position in files else track
        for position, track in enumerate(data["tracks"], start=1)
    ]
    return {**data, "tracks": tracks, "revision": revision}
