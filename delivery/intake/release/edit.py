"""Edit a release file in place: entries are added, every other byte is unchanged."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from delivery.errors import Faulty, Unusable
from delivery.intake.release.file import release_of
from delivery.intake.text_files import write_text
from delivery.intake.yaml.insert import content_end, inserted, inserted_lines, next_line
from delivery.intake.yaml.nodes import composed_root
from delivery.intake.yaml.quoting import as_json, block_item, flow, one_line
from delivery.intake.yaml.renamed_keys import current
from delivery.intake.yaml.text import Document, document_of, text_of
from delivery.model.release import Acceptance, Waiver
from delivery.regular import read_regular

Values = dict[str, str | int]


def add_waiver(release_path: Path, waiver: Waiver) -> None:
    """Add *waiver* at the end of the release file's waivers; all other bytes are unchanged.

    Raises
    ------
    Faulty : the release file, or the waiver in it (an unknown track, no reason), has faults; nothing is changed
    Unusable : the file's layout cannot be edited safely; the remedy has the text to add
    Unfinished : it cannot be written; nothing is changed
    """
    pairs = {key: getattr(waiver, key) for key in ("rule", "track", "spec", "revision", "by")}
    values: Values = {key: value for key, value in pairs.items() if value is not None}
    add_entry(release_path, "waivers", {**values, "why": one_line(waiver.why)})


def add_acceptance(release_path: Path, acceptance: Acceptance) -> None:
    """Add *acceptance* at the end of the release file's acceptances; all other bytes are unchanged.

    Raises
    ------
    Faulty, Unusable, Unfinished : as `add_waiver`
    """
    values: Values = {
        "rule": acceptance.rule,
        "track": acceptance.track,
        "audio_hash": acceptance.audio_hash,
        "by": acceptance.by,
    }
    add_entry(release_path, "accepted", {**values, "why": one_line(acceptance.why)})


def add_entry(release_path: Path, key: str, values: Values) -> None:
    """Add *values* at the end of the list under *key*. Raises as `add_waiver`."""
    text = current(text_of(release_path)).text
    before = document_of(text, release_path.name)
    release_of(before, release_path)
    changed = with_entry(text, key, values)
    after = _read_again(changed, release_path, before, key, values)
    release_of(after, release_path)
    mark = "\ufeff" if read_regular(release_path, 3).startswith(b"\xef\xbb\xbf") else ""
    write_text(release_path, mark + changed)


def _read_again(changed: str, path: Path, before: Document, key: str, values: Values) -> Document:
    """Check that the edited text reads as the old data plus one entry."""
    wanted = {**before.data, key: [*(before.data.get(key) or ()), values]}
    try:
        after = document_of(changed, path.name)
    except Faulty:
        after = None
    if after is None or after.data != wanted:
        raise Unusable(path.name, "a layout nothing can be added to", "keys in lines", f"Add by hand: {flow(values)}")
    return after


def with_entry(text: str, key: str, values: Values) -> str:
    """*text*, a YAML group of keys, with one more entry in the list under *key*."""
    root = composed_root(text)
    pair = next((pair for pair in root.value if pair[0].value == key), None)
    if root.flow_style:
        return _in_braces(text, root, key, pair, as_json(values))
    if pair is None:
        return _new_key(text, root, key, values)
    head, value = pair
    if value.start_mark.index < head.end_mark.index:
        return text  # an alias: its target is elsewhere and may be shared
    if isinstance(value.value, list) and value.value:
        return _one_more(text, value, values)
    return _first_one(text, head, value, values)


def _in_braces(text: str, root: Any, key: str, pair: Any, item: str) -> str:
    """A file in braces, such as JSON written by a program, stays in braces."""
    if pair is None:
        return inserted(text, content_end(root.value[-1][1]), f', "{key}": [{item}]')
    value = pair[1]
    if isinstance(value.value, list) and value.value:
        return inserted(text, content_end(value.value[-1]), f", {item}")
    return text[: value.start_mark.index] + f"[{item}]" + text[value.end_mark.index :]


def _new_key(text: str, root: Any, key: str, values: Values) -> str:
    column = root.start_mark.column
    lines = [" " * column + f"{key}:", *block_item(values, column + 2)]
    end = re.search(r"^\.\.\.[ \t\r]*$", text[root.start_mark.index :], re.MULTILINE)
    at = root.start_mark.index + end.start() if end else len(text)
    return inserted_lines(text, at, lines)


def _one_more(text: str, value: Any, values: Values) -> str:
    last = content_end(value.value[-1])
    if value.flow_style:
        return inserted(text, last, f", {flow(values)}")
    return inserted_lines(text, next_line(text, last), block_item(values, value.start_mark.column))


def _first_one(text: str, head: Any, value: Any, values: Values) -> str:
    """The key exists without a value: 'waivers:', 'waivers: []', 'waivers: ~'."""
    column = head.start_mark.column
    start, end = value.start_mark.index, value.end_mark.index
    empty = isinstance(value.value, str) and not value.value
    if not empty:
        text = text[:start].rstrip(" ") + text[end:]
    at = next_line(text, head.end_mark.index)
    return inserted_lines(text, at, block_item(values, column + 2))
