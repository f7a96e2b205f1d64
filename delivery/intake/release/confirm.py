"""Confirm values taken from folder and file names: remove them from `to_confirm`; every other byte is unchanged."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

from delivery.errors import Faulty, Unusable
from delivery.intake.release.file import release_of
from delivery.intake.text_files import write_text
from delivery.intake.yaml.change import pair_of, removed_key, replaced, with_edits
from delivery.intake.yaml.nodes import composed_root
from delivery.intake.yaml.quoting import value
from delivery.intake.yaml.renamed_keys import current
from delivery.intake.yaml.text import document_of, text_of
from delivery.regular import read_regular

KEY = "to_confirm"
HINT = "# from folder and file names: correct them, then delete this line, or run 'delivery confirm'"
"""Comment beside the release's own list, in a file written by 'delivery start'."""


def confirm_values(release_path: Path, confirmed: Collection[tuple[str, int | None]]) -> None:
    """Remove *confirmed* (key and track position; None for the release) from the lists of values to confirm.

    Raises
    ------
    Faulty : the release file has faults; nothing is changed
    Unusable : it is written in a way that cannot be edited safely
    Unfinished : it cannot be written; nothing is changed
    """
    text = current(text_of(release_path)).text
    before = document_of(text, release_path.name)
    release_of(before, release_path)
    changed = without(text, confirmed)
    _believe(changed, before.data, confirmed, release_path)
    mark = "\ufeff" if read_regular(release_path, 3).startswith(b"\xef\xbb\xbf") else ""
    write_text(release_path, mark + changed)


def without(text: str, confirmed: Collection[tuple[str, int | None]]) -> str:
    """*text*, a release file, without *confirmed* in its lists; an emptied list is removed with its line."""
    root = composed_root(text)
    tracks = pair_of(root, "tracks")
    groups = [(None, root), *enumerate(tracks[1].value if tracks else (), start=1)]
    edits = []
    for position, group in groups:
        pair = pair_of(group, KEY)
        if pair is None or not isinstance(pair[1].value, list):
            continue
        names = [node.value for node in pair[1].value]
        left = [name for name in names if (name, position) not in confirmed]
        if left and left != names:
            edits += replaced(text, pair, value(left) if group.flow_style else written(left))
        elif left != names:
            edits += removed_key(text, group, pair, HINT)
    return with_edits(text, edits)


def written(names: Collection[str]) -> str:
    """'[title, artist]': these names need no quotes."""
    return f"[{', '.join(names)}]"


def _believe(changed: str, before: Any, confirmed: Collection[tuple[str, int | None]], path: Path) -> None:
    try:
        after = document_of(changed, path.name).data
    except Faulty:
        after = None
    wanted = {**_left(before, None, confirmed), "tracks": [
        _left(track, position, confirmed) for position, track in enumerate(before["tracks"], start=1)
    ]}  # fmt: skip
    reads = after and {**_left(after, None, ()), "tracks": [_left(track, None, ()) for track in after["tracks"]]}
    if reads != wanted:
        raise Unusable(path.name, "a layout that cannot be edited safely", "keys in lines", f"Edit {KEY} by hand.")


def _left(group: Mapping[str, Any], position: int | None, confirmed: Collection[tuple[str, int | None]]) -> Any:
    names = [name for name in group.get(KEY) or () if (name, position) not in confirmed]
    others = {key: data for key, data in group.items() if key != KEY}
    return {**others, KEY: names} if names else others
